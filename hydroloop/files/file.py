"""A single file, written whole or not at all."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from hydroloop.errors import OutputError
from hydroloop.files.seal import is_sealed, sealed
from hydroloop.files.unfinished import (
    beside,
    clear_leftovers,
    locked,
    remove,
    resolved,
    words_of,
)


def check_free_file(target: str | os.PathLike[str], *, force: bool = False) -> None:
    """Make sure, before any work is done, that a file may be written: with `force` over one that
    hydroloop wrote and nobody changed; else OutputError."""
    path = resolved(target)
    if path.is_dir():
        raise OutputError(f"{target}: is a folder. Name a file in it.")
    if os.path.lexists(path) and not force:
        raise OutputError(
            f"{target}: is there already. Add --force (in Python force=True) to replace "
            "it, or name another file."
        )
    if not path.parent.is_dir():
        raise OutputError(f"{target}: there is no folder {Path(target).parent}. Make it first.")
    if os.path.lexists(path) and not is_sealed(path):
        raise OutputError(
            f"{target}: was not written by hydroloop, or was changed since, so it is "
            "not replaced. Name another file."
        )
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise OutputError(
            f"{target}: cannot be written (its folder is read-only). Name a file in another."
        )


def write_file(
    target: str | os.PathLike[str], content: bytes | memoryview, *, force: bool = False
) -> Path:
    """Write one file with its seal: under another name first, which is changed when all is done. A
    link is followed; with `force` a file that hydroloop wrote and nobody changed is replaced."""
    check_free_file(target, force=force)
    path = resolved(target)
    clear_leftovers(path, target)
    work = beside(path)
    try:
        with open(work, "xb") as file, locked(work):
            _through(file, sealed(bytes(content), path.suffix))
            check_free_file(target, force=force)
            if not force and _linked(work, path):
                return Path(target)
            os.replace(work, path)
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(
            f"{target}: cannot be written ({words_of(error)}). Name another file."
        ) from error
    finally:
        remove(work)
    return Path(target)


def replace_file(path: Path, content: bytes) -> None:
    """Write a file of a folder that is all ours, whole or not at all."""
    work = beside(path)
    try:
        with open(work, "xb") as file, locked(work):
            _through(file, content)
            os.replace(work, path)
    finally:
        with suppress(OSError):
            work.unlink(missing_ok=True)


def _through(file: BinaryIO, content: bytes) -> None:
    """Write, and come back when the disk has it."""
    file.write(content)
    file.flush()
    os.fsync(file.fileno())


def _linked(work: Path, path: Path) -> bool:
    """Give a file its name unless that is taken; False where the disk knows no second names."""
    try:
        os.link(work, path)
    except FileExistsError:
        raise OutputError(
            f"{path}: was made by somebody else meanwhile, and is left as it is. Name another file."
        ) from None
    except OSError:
        return False
    return True
