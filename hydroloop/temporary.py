"""Temporary files: all of a program in one folder, locked while it lives and gone when it ends.

Nobody tidies up after a program that is killed: its folder goes with the next one that needs such a
folder.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from multiprocessing.util import Finalize, get_temp_dir
from pathlib import Path

if sys.platform != "win32":
    import fcntl

_PREFIX = "hydroloop-"
_OURS = re.compile(r"(tmp|pymp-)[a-z0-9_]{8}")  # what stands in such a folder
_AFTER_ALL_ELSE = -1000
_LONGEST = 52  # bytes of a path below which a socket in two folders can still be named
_made: dict[tuple[int, str], Path] = {}  # by process: a copy of this one has folders of its own
_one_at_a_time = threading.RLock()


@contextmanager
def temporary_folder() -> Iterator[Path]:
    """A folder that is gone when the block is left; after a kill, when another needs one."""
    with tempfile.TemporaryDirectory(dir=_of_this_program(tempfile.gettempdir())) as folder:
        yield Path(folder)


def has_room_for_sockets() -> bool:
    """Let the places at which processes meet lie in a folder of this program too; False where
    every path to one is too long for the system."""
    short = [
        where
        for where in (tempfile.gettempdir(), "/tmp", "/var/tmp")
        if len(os.fsencode(where)) <= _LONGEST and os.access(where, os.W_OK | os.X_OK)
    ]
    if not short:
        return False
    with _one_at_a_time:
        before = tempfile.tempdir
        try:
            tempfile.tempdir = str(_of_this_program(short[0]))
            get_temp_dir()
        finally:
            tempfile.tempdir = before
    return True


def _of_this_program(where: str) -> Path:
    with _one_at_a_time:
        made = _made.get((os.getpid(), where))
        if made is None or not made.is_dir():
            _clear_dead(where)
            made = _made[os.getpid(), where] = _new(where)
        return made


def _new(where: str) -> Path:
    while True:
        made = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=where))
        try:
            handle = _locked(made)
        except (BlockingIOError, FileNotFoundError):
            continue  # it is being taken for a dead one
        except OSError:
            handle = None  # some disks know no locks, and nothing is cleared there
        if made.is_dir():
            Finalize(None, _remove, (made, handle), exitpriority=_AFTER_ALL_ELSE)
            return made


def _clear_dead(where: str) -> None:
    """Remove the folders of programs that do not live any more."""
    for one in Path(where).glob(f"{_PREFIX}????????"):
        with suppress(OSError):
            if all(_OURS.fullmatch(inner.name) for inner in one.iterdir()):
                handle = _locked(one)
                if handle is not None:
                    _remove(one, handle)


def _locked(folder: Path) -> int | None:
    """Lock a folder of ours for as long as this process lives; OSError where another has it."""
    if sys.platform == "win32":
        return None
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        found = os.fstat(handle)
        if found.st_uid != os.getuid() or found.st_mode & 0o077:  # ours are closed to others
            raise PermissionError
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        raise
    return handle


def _remove(folder: Path, handle: int | None) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    if handle is not None:
        with suppress(OSError):  # who makes a daemon of himself closes all
            os.close(handle)
