"""Every command that writes, on a disk that is too small for what it writes; root may run it.

    python tests/full_disk.py
    python tests/full_disk.py report

Twice each: into nothing, and with --force over results of before. Prints what is not as it should
be: exit code not 0, one clear line, what was there still there, and nothing else left.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path

from killing import Begun

SHORT = ("first_town", "--set", "season.end=2031-05-20")
DRAWN = (*SHORT, "--set", "river.wren.inflow=12 cfs to 25 cfs", "--members", "40", "--workers", "2")
COMMANDS = {
    "new": ("new.toml", "--town", "Larkmill", "--people", "900"),
    "run": (*SHORT, "--out", "out"),
    "glass": (*SHORT, "--out", "a.png"),
    "drops": (*SHORT, "--out", "a.pdf"),
    "compare": (*SHORT, "first_town", "--out", "out"),
    "spread": (*DRAWN, "--keep", "kept", "--out", "out"),
    "sweep": (*SHORT, "--over", "weather.seed=1,2,3", "--keep", "kept", "--out", "out"),
    "capacity": ("first_town", "--out", "out"),
    "report": (*SHORT, "--out", "out"),
    "lesson": ("first_town", "--out", "out"),
    "challenge": ("dry_summer", "--out", "out"),
    "week": ("first_town", "--out", "out"),
    "round": ("first_town", "--out", "out"),
    "page": ("first_town", "--out", "page.html"),
}
_BLOCK, _PLENTY = 4096, 300_000_000


@contextmanager
def disk(size: int):
    """A disk of so many bytes, in memory."""
    with tempfile.TemporaryDirectory() as place:
        asked = "-t", "tmpfs", "-o", f"size={max(size // _BLOCK, 1) * _BLOCK}"
        subprocess.run(["mount", *asked, "tmpfs", place], check=True)
        try:
            yield Path(place)
        finally:
            subprocess.run(["umount", place], check=True)


def held(place: Path) -> dict[str, bytes]:
    """All files but those of kept runs, of which the whole ones may stay."""
    return {
        path.relative_to(place).as_posix(): path.read_bytes()
        for path in place.rglob("*")
        if path.is_file() and "kept" not in path.parts
    }


def wrong(name: str, place: Path, *more: str) -> list[str]:
    """What is not as it should be when a command has run on a full disk."""
    before = held(place)
    with Begun("-m", "hydroloop", name, *COMMANDS[name], *more, folder=place) as run:
        _, said = run.process.communicate()
        is_left = bool(run.living())
    lines = [line for line in said.splitlines() if "no space left on device" in line]
    found = {
        "exit code 0": run.process.returncode == 0,
        "processes are left": is_left,
        f"said: {said}": len(lines) != 1 or "Traceback" in said,
        "files are not as they were": held(place) != before,
        "hidden files are left": any(one.startswith(".") for one in os.listdir(place)),
    }
    return [words for words, is_so in found.items() if is_so]


def tried(name: str) -> list[str]:
    """One command, into nothing and over what is there."""
    with disk(_PLENTY) as whole:
        with Begun("-m", "hydroloop", name, *COMMANDS[name], folder=whole) as run:
            run.process.communicate()
            assert run.process.returncode == 0
        state = os.statvfs(whole)
        need = (state.f_blocks - state.f_bfree) * state.f_frsize
        shutil.rmtree(whole / "kept", ignore_errors=True)
        with disk(int(0.6 * need)) as place:
            if need <= _BLOCK:
                (place / "mine").write_bytes(b"0" * _BLOCK)
            found = wrong(name, place)
        with disk(int(1.45 * need) + _BLOCK) as place:
            shutil.copytree(whole, place, dirs_exist_ok=True)
            if need <= _BLOCK:
                (place / "mine").write_bytes(b"0" * _BLOCK)
            return found + wrong(name, place, "--force")


if __name__ == "__main__":
    for asked_for in sys.argv[1:] or COMMANDS:
        print(asked_for, *tried(asked_for) or ["held"], sep="; ", flush=True)
