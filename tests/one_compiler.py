"""Workers of the suite compile one after the other: a loop that one has made the others read."""

from __future__ import annotations

import os
from contextlib import suppress
from threading import Lock

from numba.core import event

with suppress(ImportError):
    import fcntl


class OneAtATime(event.Listener):
    """Holds this file while its process looks for machine code, makes it and keeps it."""

    def __init__(self):
        self._file = os.open(__file__, os.O_RDONLY)
        self._depth, self._own = 0, Lock()

    def on_start(self, event):
        with self._own, suppress(OSError):  # some file systems know no locks
            self._depth += 1
            if self._depth == 1:
                fcntl.flock(self._file, fcntl.LOCK_EX)

    def on_end(self, event):
        with self._own, suppress(OSError):
            self._depth -= 1
            if self._depth == 0:
                fcntl.flock(self._file, fcntl.LOCK_UN)


def compile_one_at_a_time() -> None:
    """From now on this process compiles only while no other does that has called this too."""
    if "fcntl" in globals():
        event.register("numba:compiler_lock", OneAtATime())
