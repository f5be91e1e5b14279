"""What is being written: beside its place, under a name that nobody can guess, locked while its
writer lives."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import secrets
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from hydroloop.errors import OutputError

if sys.platform != "win32":
    import fcntl

_TRIES = 5
_LONGEST = 100  # letters of a name before it is told by a check sum


def words_of(error: OSError) -> str:
    """What the system says, for the middle of a sentence."""
    return (error.strerror or str(error)).lower()


def resolved(target: str | os.PathLike[str]) -> Path:
    """The place that is meant, where links have been followed."""
    return Path(os.path.realpath(target))


def beside(path: Path, ending: str = "unfinished") -> Path:
    """A name for what is to stand at a path, in the same folder."""
    return path.parent / f"{_head(path)}{secrets.token_hex(8)}-{ending}"


def _head(path: Path) -> str:
    name = path.name
    if len(os.fsencode(name)) > _LONGEST:
        name = hashlib.sha256(os.fsencode(name)).hexdigest()
    return f".{name}-hydroloop-"


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Show that a file or folder has a living writer."""
    if sys.platform == "win32":
        yield
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        with suppress(OSError):  # some disks know no locks: there is nothing to show
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(handle)


def is_locked(path: Path) -> bool | None:
    """Whether a writer of a file or folder lives; None where that cannot be told."""
    if sys.platform == "win32":
        return None
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW)
    except OSError:
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return False
    except OSError as error:
        return True if error.errno == errno.EWOULDBLOCK else None
    finally:
        os.close(handle)


def clear_leftovers(path: Path, shown: str | os.PathLike[str], inside: bool = False) -> None:
    """Remove what dead runs left that were writing to a path, and put back what they took away;
    OutputError where a living run is writing there. `shown` is the path as the user wrote it."""
    left = re.compile(re.escape(_head(path)) + "[0-9a-f]{16}-(unfinished|replaced)")
    where = path if inside else path.parent
    if not where.is_dir():
        return
    for one in sorted(where.iterdir()):
        found = left.fullmatch(one.name)
        if not found or one.is_symlink() or not _is_own(one):
            continue
        alive = is_locked(one)
        if alive:
            raise OutputError(
                f"{shown}: another run is writing there. Wait until it is done, or "
                "name another place with --out."
            )
        if alive is None:
            continue
        if found[1] == "replaced" and not os.path.lexists(path):
            os.rename(one, path)  # a kill came between the old and the new
        else:
            remove(one)


def _is_own(path: Path) -> bool:
    return not hasattr(os, "getuid") or path.lstat().st_uid == os.getuid()


def remove(path: Path) -> None:
    """Take away what is ours, though a file that was just being closed may come up meanwhile."""
    for _ in range(_TRIES):
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            with suppress(OSError):
                path.unlink(missing_ok=True)
        if not path.exists():
            return
        time.sleep(0.05)
