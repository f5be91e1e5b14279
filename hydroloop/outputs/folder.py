"""A folder of results, written whole or not at all."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from hydroloop.errors import OutputError

LIST = "written_by_hydroloop.txt"
"""The file that lists all others; only a folder that has it, and nothing else, is ever replaced."""

_TRIES = 5

_HEAD = ("Written by hydroloop. With --force it may replace this folder as long as it holds only "
         "these files:")


def check_free(target: str | os.PathLike[str], *, force: bool = False) -> None:
    """Make sure that a folder of results may be written, before any work is done.

    Parameters
    ----------
    target : path
        The folder.
    force : bool
        Whether a folder that hydroloop wrote before may be replaced.

    Raises
    ------
    OutputError
        Something is there that may not be replaced.
    """
    path = Path(target)
    if not os.path.lexists(path):
        there = next(above for above in path.absolute().parents if os.path.lexists(above))
        if not there.is_dir():
            raise OutputError(f"{path}: cannot be written ({there.name} is a file). Name another "
                              "place with --out.")
        return
    if not path.is_dir():
        raise OutputError(f"{path}: is there already and is no folder. Name another with --out.")
    if not any(path.iterdir()):
        return
    if not force:
        raise OutputError(f"{path}: is there already. Add --force to replace it, or name another "
                          "folder with --out.")
    strange = _not_ours(path)
    if strange:
        raise OutputError(f"{path}: holds {strange}, which hydroloop did not write, so it is not "
                          "replaced. Name another folder with --out.")


def _not_ours(folder: Path) -> str:
    """A file in the folder that is not on its list; empty if there is none."""
    listing = folder / LIST
    if not listing.is_file():
        return _inside(folder, set())
    ours = {LIST, *listing.read_text(encoding="utf-8").splitlines()[1:]}
    return _inside(folder, ours)


def _inside(folder: Path, ours: set[str]) -> str:
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if name not in ours and not (path.is_dir() and not path.is_symlink()):
            return name
    return ""


@contextmanager
def whole_folder(target: str | os.PathLike[str], *, force: bool = False) -> Iterator[Path]:
    """Write a folder: into a temporary one beside it, which takes its name when all is done.

    Parameters
    ----------
    target : path
        The folder; folders above it are made.
    force : bool
        Replace a folder that hydroloop wrote before.

    Yields
    ------
    pathlib.Path
        Where to write. If anything fails it is removed, and what was there before stays.

    Raises
    ------
    OutputError
        Something is there that may not be replaced, or nothing can be written there.
    """
    check_free(target, force=force)
    path = Path(target).absolute()
    work = path.with_name(f".{path.name}-unfinished-{os.getpid()}")
    try:  # whatever happens from here on, an interrupt too, the unfinished folder goes
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            work.mkdir()
        except OSError as error:
            raise OutputError(f"{target}: cannot be written ({_words(error)}). Name another place "
                              "with --out.") from error
        yield work
        _list_files(work)
        _take_place(work, path)
    except OSError as error:
        if isinstance(error, OutputError) and str(work) not in str(error):
            raise
        # Readers know the folder that they asked for, not the one in which it is made.
        words = _words(error.__cause__ if isinstance(error.__cause__, OSError) else error)
        raise OutputError(f"{target}: cannot be written ({words}). Nothing was left there. Make "
                          "room, or name another place with --out.") from error
    finally:
        _remove(work)


def _remove(folder: Path) -> None:
    """Take a folder away, though a file that was just being closed may come up meanwhile."""
    for _ in range(_TRIES):
        shutil.rmtree(folder, ignore_errors=True)
        if not folder.exists():
            return
        time.sleep(0.05)


def _words(error: OSError) -> str:
    return (error.strerror or str(error)).lower()


def files_in(folder: Path) -> list[str]:
    """Names of all files in a folder and in the folders in it."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*")
                  if path.is_file())


def _list_files(folder: Path) -> None:
    text = "\n".join([_HEAD, *files_in(folder)]) + "\n"
    (folder / LIST).write_text(text, encoding="utf-8")


def _take_place(work: Path, path: Path) -> None:
    """Give the finished folder its name; the old one goes only when the new one stands."""
    if not path.exists():
        os.rename(work, path)
        return
    old = path.with_name(f".{path.name}-replaced-{os.getpid()}")
    os.rename(path, old)
    try:
        os.rename(work, path)
    except OSError:
        os.rename(old, path)
        raise
    shutil.rmtree(old, ignore_errors=True)


@contextmanager
def whole_file(target: str | os.PathLike[str], *, force: bool = False) -> Iterator[Path]:
    """Write one file: under another name in the same folder, which is changed when all is done.

    Parameters
    ----------
    target : path
        The file; its folder must be there.
    force : bool
        Replace a file that is there.

    Yields
    ------
    pathlib.Path
        Where to write; it has the same ending. If anything fails it is removed.

    Raises
    ------
    OutputError
        The file is there already, or cannot be written.
    """
    path = Path(target).absolute()
    check_free_file(target, force=force)
    work = path.with_name(f".{path.stem}-unfinished-{os.getpid()}{path.suffix}")
    try:
        yield work
        os.replace(work, path)
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(f"{target}: cannot be written ({_words(error)}). Name another file."
                          ) from error
    finally:
        with suppress(OSError):
            work.unlink(missing_ok=True)


def check_free_file(target: str | os.PathLike[str], *, force: bool = False) -> None:
    """Make sure that a file may be written, before any work is done.

    Parameters
    ----------
    target : path
        The file.
    force : bool
        Whether a file that is there may be replaced.

    Raises
    ------
    OutputError
        It is there and may not be replaced, is a folder, or its folder is not there.
    """
    path = Path(target)
    if path.is_dir():
        raise OutputError(f"{path}: is a folder. Name a file in it.")
    if os.path.lexists(path) and not force:
        raise OutputError(f"{path}: is there already. Add --force to replace it, or name another "
                          "file.")
    if not path.absolute().parent.is_dir():
        raise OutputError(f"{path}: there is no folder {path.parent}. Make it first.")
