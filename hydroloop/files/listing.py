"""The list of what hydroloop wrote into a folder, with check sums: the folder is known by it."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

from hydroloop.files.file import replace_file

LIST = "written_by_hydroloop.txt"
"""The file that lists all others, with the SHA-256 of each; its last line is that of its text."""

_HEAD = (
    "Written by hydroloop. With --force it may replace this folder as long as it holds only "
    "these files, unchanged:"
)


def write_list(folder: Path) -> None:
    """List all files of a folder in it."""
    _write(folder, [f"{_digest_of(folder / name)}  {name}" for name in files_in(folder)])


def list_both(folder: Path, other: Path) -> None:
    """List in a folder what it holds and what another does that is to be moved into it."""
    _write(
        folder,
        [
            f"{digest}  {name}"
            for one in (folder, other)
            for name, digests in _listed(one).items()
            for digest in digests
        ],
    )


def _write(folder: Path, lines: list[str]) -> None:
    text = "\n".join([_HEAD, *lines]) + "\n"
    replace_file(folder / LIST, (text + _digest(text.encode()) + "\n").encode())


def files_in(folder: Path) -> list[str]:
    """Names of all files in a folder and in the folders in it."""
    return sorted(
        path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()
    )


def not_ours(folder: Path, ignored: str = "") -> str:
    """What forbids to replace a folder: the first thing in it (but for `ignored`) that is not as it
    was listed, for the middle of a sentence; empty if nothing forbids it."""
    listed = _listed(folder)
    if not listed and (folder / LIST).exists():
        return f"{LIST}, which was changed since hydroloop wrote it"
    for path in _walked(folder, ignored):
        name = path.relative_to(folder).as_posix()
        if path.is_dir() and not path.is_symlink():
            if not any(one.startswith(f"{name}/") for one in listed):
                return f"{name}, which hydroloop did not write"
            if not os.access(path, os.W_OK | os.X_OK):
                return f"{name}, which is read-only"
        elif name not in {*listed, LIST} or path.is_symlink() or not path.is_file():
            return f"{name}, which hydroloop did not write"
        elif _digest_of(path) not in listed.get(name, {_digest_of(path)}):
            return f"{name}, which was changed since hydroloop wrote it"
    return ""


def remove_listed(folder: Path, apart_from: Path | None = None) -> None:
    """Remove a folder of which `not_ours` had nothing to say; what came since stays, and with
    `apart_from` the folder and its list do."""
    names = [*_listed(folder), *([] if apart_from else [LIST])]
    for name in names:
        (folder / name).unlink(missing_ok=True)
    above = {folder / parent for name in names for parent in Path(name).parents}
    for path in sorted(above - ({folder} if apart_from else set()), reverse=True):
        if path.is_dir():
            path.rmdir()


def _walked(folder: Path, ignored: str = "") -> Iterator[Path]:
    """All that is in a folder; a folder before what is in it."""
    for path in sorted(one for one in folder.iterdir() if one.name != ignored):
        yield path
        if path.is_dir() and not path.is_symlink():
            yield from _walked(path)


def _listed(folder: Path) -> dict[str, set[str]]:
    """Check sums by name, from the list; nothing where there is no list, or a changed one."""
    try:
        text = (folder / LIST).read_bytes()
        *lines, last = text.decode().splitlines() or [""]
    except (OSError, ValueError):
        return {}
    if _digest("".join(f"{line}\n" for line in lines).encode()) != last:
        return {}
    listed: dict[str, set[str]] = {}
    for line in lines[1:]:
        digest, _, name = line.partition("  ")
        listed.setdefault(name, set()).add(digest)
    return listed


def _digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
