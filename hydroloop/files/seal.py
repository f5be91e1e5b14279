"""Seals: by which a single file shows that hydroloop wrote it and nobody has changed it since."""

from __future__ import annotations

import hashlib
import zlib
from pathlib import Path

_WORDS = b"as hydroloop wrote it: "
_DIGITS = 16
_END_OF_PNG = 12  # bytes of the last piece of a PNG, before which others may stand
_TAIL = 100  # bytes in which a seal stands
_COMMENTS = {
    ".svg": (b"<!-- ", b" -->\n"),
    ".html": (b"<!-- ", b" -->\n"),
    ".toml": (b"# ", b"\n"),
    ".pdf": (b"\n% ", b"\n"),
}


def sealed(content: bytes, suffix: str, about: str = "") -> bytes:
    """A file's content with a seal, where readers of its format (by suffix) skip it; `about` is
    what else the seal stands for."""
    digest = hashlib.sha256(about.encode() + b"\0" + content).hexdigest()[:_DIGITS].encode()
    if suffix == ".png":
        piece = b"tEXtComment\0" + _WORDS + digest
        framed = (len(piece) - 4).to_bytes(4) + piece + zlib.crc32(piece).to_bytes(4)
        return content[:-_END_OF_PNG] + framed + content[-_END_OF_PNG:]
    before, after = _COMMENTS.get(suffix, (b"\n", b"\n"))
    return content + before + _WORDS + digest + after


def unsealed(file: bytes, suffix: str, about: str = "") -> bytes | None:
    """The content of a file without its seal; None where it has none or was changed."""
    length = len(sealed(b"\0" * _END_OF_PNG, suffix)) - _END_OF_PNG
    end = len(file) - (_END_OF_PNG if suffix == ".png" else 0)
    content = file[: max(end - length, 0)] + file[end:]
    return content if sealed(content, suffix, about) == file else None


def has_seal(file: bytes) -> bool:
    """Whether a file has a seal, right or wrong."""
    return _WORDS in file[-_TAIL:]


def is_sealed(path: Path) -> bool:
    """Whether hydroloop wrote a file, and nobody has changed it since."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - _TAIL))
        if _WORDS not in file.read():  # most are told apart without reading all of them
            return False
    return unsealed(path.read_bytes(), path.suffix) is not None
