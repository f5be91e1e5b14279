"""Progress: what takes longer than a second says so on stderr."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

_QUIET_FOR_S = 1.0


class Progress:
    """Status lines on stderr; when verbose all, with times, even where stderr is no terminal."""

    def __init__(self, verbose: bool = False):
        self.verbose = verbose
        self.shown = verbose or (sys.stderr is not None and sys.stderr.isatty())

    @contextmanager
    def step(self, words: str) -> Iterator[None]:
        """Do one step; it is announced once it has taken a second."""
        begun = time.perf_counter()
        later = threading.Timer(_QUIET_FOR_S, self.say, (f"{words} ...",))
        later.daemon = True
        if self.verbose:
            self.say(f"{words} ...")
        elif self.shown:
            later.start()
        try:
            yield
        finally:
            later.cancel()
        if self.verbose:
            self.say(f"{words}: {time.perf_counter() - begun:.2f} s")

    def say(self, words: str) -> None:
        """Say something at once, where progress is shown."""
        if self.shown:
            click.echo(words, err=True)


def announce_compiling() -> None:
    """Say on stderr that this start takes longer, if nothing has been compiled yet."""
    if not any(next(folder.glob("*.nbi"), None) for folder in _cache_folders()):
        click.echo(
            "Compiling for the first time on this machine: about 10 to 30 s. "
            "Later runs start at once.",
            err=True,
        )


def _cache_folders() -> list[Path]:
    """Folders where machine code of the water works is kept: the first of the chosen one, the one
    beside the package and the user's that can be written."""
    package = Path(__file__).resolve().parent.parent / "waterworks"
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen and _can_be_written(Path(chosen)):
        return list(Path(chosen).glob(f"{package.name}_*"))
    if _can_be_written(package / "__pycache__"):
        return [package / "__pycache__"]
    home = Path.home()
    users = [home / ".cache/numba", home / "Library/Caches/numba", home / "AppData/Local/numba"]
    return [found for folder in users for found in folder.rglob(f"{package.name}_*")]


def _can_be_written(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    return os.access(folder, os.W_OK)
