"""A folder of results, written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from hydroloop.errors import OutputError
from hydroloop.files.exchange import exchange
from hydroloop.files.listing import LIST, list_both, not_ours, remove_listed, write_list
from hydroloop.files.unfinished import (
    beside,
    clear_leftovers,
    locked,
    remove,
    resolved,
    words_of,
)
from hydroloop.processes import held_off

_WRITABLE = os.W_OK | os.X_OK


def check_free(target: str | os.PathLike[str], *, force: bool = False) -> bytes:
    """Make sure that a folder of results may be written, before any work is done.
    What was there comes back, for `whole_folder` to find it the same when all is done."""
    path = resolved(target)
    _check_writable(path, target)
    clear_leftovers(path, target)
    if path.is_dir():
        clear_leftovers(path, target, inside=True)
        _check_replaceable(path, target, force=force)
    return _told(path)


def _check_writable(path: Path, target: str | os.PathLike[str]) -> None:
    if os.path.lexists(path) and not path.is_dir():
        raise OutputError(f"{target}: is there already and is no folder. Name another with --out.")
    there = next(above for above in (path, *path.parents) if os.path.lexists(above))
    if not there.is_dir():
        raise OutputError(
            f"{target}: cannot be written ({there.name} is a file). Name another place with --out."
        )
    if there == path and not _stays(path):
        there = path.parent
    if not os.access(there, _WRITABLE):
        raise OutputError(
            f"{target}: cannot be written ({there} is read-only). Name another place with --out."
        )


def _check_replaceable(
    path: Path, target: str | os.PathLike[str], *, force: bool, ignored: str = ""
) -> None:
    try:
        if not force and any(one.name != ignored for one in path.iterdir()):
            raise OutputError(
                f"{target}: is there already. Add --force (in Python force=True) to replace "
                "it, or name another folder with --out."
            )
        strange = not_ours(path, ignored)
    except PermissionError as error:
        raise OutputError(
            f"{target}: cannot be read ({words_of(error)}), so it is not replaced. "
            "Name another folder with --out."
        ) from error
    if strange:
        raise OutputError(
            f"{target}: holds {strange}, so it is not replaced. Name another folder with --out."
        )


def _stays(path: Path) -> bool:
    """Whether a folder must be filled in its place: we stand in it, or it cannot be renamed."""
    here = resolved(".")
    return (
        path in (here, *here.parents)
        or os.path.ismount(path)
        or not os.access(path.parent, _WRITABLE)
    )


def _told(path: Path) -> bytes:
    """What tells the results in a folder from others."""
    try:
        return (path / LIST).read_bytes()
    except OSError:
        return b""


@contextmanager
def whole_folder(
    target: str | os.PathLike[str], *, force: bool = False, before: bytes | None = None
) -> Iterator[Path]:
    """Write a folder: into a hidden one first, the one given here, which takes its place when all
    is done. What stands there (`before`, from `check_free`) is looked at again at the end: where it
    is not what it was, or anything fails, it stays."""
    found = check_free(target, force=force)
    path = resolved(target)
    inside = path.is_dir() and _stays(path)
    work = beside(path / path.name if inside else path)
    try:  # whatever happens from here on, an interrupt too, the unfinished folder goes
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            work.mkdir()
        except OSError as error:
            raise OutputError(
                f"{target}: cannot be written ({words_of(error)}). Name another place with --out."
            ) from error
        with locked(work):
            yield work
            write_list(work)
            if _told(path) != (found if before is None else before):
                raise OutputError(
                    f"{target}: another run has written there meanwhile; its results "
                    "were left, and these are not kept. Name another folder with "
                    "--out."
                )
            with held_off():
                (_fill if inside else _take_place)(work, path, target, force)
    except OSError as error:
        if isinstance(error, OutputError) and str(work) not in str(error):
            raise
        # Readers know the folder that they asked for, not the one in which it is made.
        words = words_of(error.__cause__ if isinstance(error.__cause__, OSError) else error)
        raise OutputError(
            f"{target}: cannot be written ({words}). Nothing was left there. Make "
            "room, or name another place with --out."
        ) from error
    finally:
        with held_off():
            remove(work)


def _take_place(work: Path, path: Path, target: str | os.PathLike[str], force: bool) -> None:
    """Let the finished folder and the old one change places; the old one goes if it is all ours."""
    if not path.is_dir():
        _check_writable(path, target)
        os.rename(work, path)
        return
    _check_replaceable(path, target, force=force)
    exchange(work, path)
    try:  # somebody may have written to it until this very moment
        _check_replaceable(work, target, force=force)
    except OutputError:
        _give_back(work, path)
        raise
    try:
        remove_listed(work)
    except OSError as error:
        kept = _set_aside(work, path)
        raise OutputError(
            f"{target}: the new results stand there, but the old ones cannot be "
            f"removed ({words_of(error)}): they are in {kept}."
        ) from error


def _give_back(work: Path, path: Path) -> None:
    try:
        exchange(work, path)
    except OSError:
        _set_aside(work, path)  # work is about to be removed
        raise


def _set_aside(old: Path, path: Path) -> Path:
    kept = beside(path, "kept")
    os.rename(old, kept)
    return kept


def _fill(work: Path, path: Path, target: str | os.PathLike[str], force: bool) -> None:
    """Move what is finished into a folder that stays where it is; until the end its list has the
    old results and the new, so that a kill leaves nothing that force would not replace."""
    _check_replaceable(path, target, force=force, ignored=work.name)
    finished = [one.name for one in work.iterdir() if one.name != LIST]
    list_both(path, work)
    remove_listed(path, work)
    for name in finished:
        os.rename(work / name, path / name)
    os.replace(work / LIST, path / LIST)
