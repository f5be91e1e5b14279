"""Foreign records: a file that hydroloop did not write, or that was changed since, is tried apart.

Damaged metadata can hang the HDF5 library or end the program that reads it. A process of its own is
let go at the file first; only what that has read in time is read here.
"""

from __future__ import annotations

import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

MOST_SECONDS = 60  # by the clock: much else may run meanwhile
_MOST_WORK_S = 10  # of the processor, and more for a large file
_BYTES_A_SECOND = 50e6
LARGEST_BYTES = 8 * 10**9


def try_apart(path: str) -> str:
    """Why a file cannot be read, found out in another process; empty where it can."""
    words = [sys.executable, "-I", "-m", "hydroloop.record.foreign", path]
    try:
        done = subprocess.run(
            words,
            capture_output=True,
            text=True,
            check=False,
            timeout=MOST_SECONDS,
            stdin=subprocess.DEVNULL,
        )
    except subprocess.TimeoutExpired:
        return f"cannot be read within {MOST_SECONDS} s: it is damaged."
    if done.returncode == 0:
        return ""
    return done.stdout.strip() or "is damaged: the library that reads it breaks down."


def check_contents(file: Any) -> None:
    """Refuse what no record has: links to other files, groups, more than can be held."""
    import h5py

    total = 0
    for name in file:
        if not isinstance(file.get(name, getlink=True), h5py.HardLink):
            raise ValueError(f'has a link to elsewhere under "{name}", which is not followed.')
        item = file[name]
        if not isinstance(item, h5py.Dataset):
            raise ValueError(f'holds a group "{name}", and a record has none.')
        if item.external or item.is_virtual:
            raise ValueError(f'keeps "{name}" in another file, which is not read.')
        total += item.nbytes
    if total > LARGEST_BYTES:
        raise ValueError(
            f"would take {total / 1e9:,.0f} GB of memory, at most {LARGEST_BYTES / 1e9:g} are read."
        )


def _try(path: str) -> None:
    from hydroloop.errors import HydroloopError
    from hydroloop.record.netcdf import content_of, record_in

    _work_at_most(_MOST_WORK_S + Path(path).stat().st_size / _BYTES_A_SECOND)
    try:
        record_in(content_of(path)[0])
    except HydroloopError as error:
        print(str(error).removeprefix(f"{path}: "))
        sys.exit(1)


def _work_at_most(seconds: float) -> None:
    """Let the system end this process after so much work, where it can."""
    with suppress(ImportError, ValueError, OSError):
        import resource  # not on every system

        resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds)))


if __name__ == "__main__":
    _try(sys.argv[1])
