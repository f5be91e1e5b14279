"""Programs in tests that are begun, killed, and looked for afterwards."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import IO

_IN_TERMINAL = """
import fcntl, os, signal, sys, termios
for one in (signal.SIGINT, signal.SIGHUP):  # whoever begins us in the background ignores them
    signal.signal(one, signal.SIG_DFL)
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
os.execv(sys.executable, [sys.executable, *sys.argv[1:]])
"""


class Begun:
    """A program with all the processes that it begins, in a terminal of their own.

    Parameters
    ----------
    *words : str
        What stands behind `python`.
    folder : Path, optional
        Where it runs.
    said : file, optional
        What is to hold all that it prints; without one, pipes that somebody must read.
    """

    def __init__(
        self, *words: str, folder: Path | None = None, said: IO[str] | int = subprocess.PIPE
    ):
        self._terminal: int | None
        self._terminal, own = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", _IN_TERMINAL, *words],
            cwd=folder,
            start_new_session=True,
            text=True,
            stdin=own,
            stdout=said,
            stderr=said,
        )
        os.close(own)

    def __enter__(self) -> Begun:
        return self

    def __exit__(self, *error: object) -> None:
        with suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.communicate()
        self.close_terminal()

    def close_terminal(self) -> None:
        """Close the terminal: the system tells all that run in it."""
        if self._terminal is not None:  # its number may be another file's by now
            os.close(self._terminal)
        self._terminal = None

    def kill(self, name: str, *, all_of_it: bool = False) -> None:
        """Send a signal, to the program alone or as a terminal does to all of its processes."""
        with suppress(ProcessLookupError):
            (os.killpg if all_of_it else os.kill)(self.process.pid, getattr(signal, name))

    def is_gone(self, seconds: float = 30.0) -> bool:
        """Whether it ends in time, and nothing that it has begun is left."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.process.poll()
            try:
                os.killpg(self.process.pid, 0)
            except ProcessLookupError:
                return True
            time.sleep(0.05)
        return not self.living()

    def living(self) -> list[str]:
        """Its processes that run or wait, in words; not those that have ended, of which the system
        has not taken note yet."""
        told = subprocess.run(
            ["ps", "-A", "-o", "pgid=,stat=,args="], capture_output=True, text=True, check=True
        ).stdout.splitlines()
        ours = [
            line.split(maxsplit=1)[1]
            for line in told
            if line.split(maxsplit=1)[0] == str(self.process.pid)
        ]
        return [line for line in ours if not line.startswith("Z")]
