"""What `hydroloop run` takes for many towns: seconds, and memory of all its processes.

    python benchmarks/large_basins.py [TOWNS ...]

A chain of towns (200 if none are asked for) is run as a user runs it, pictures and files included,
and the five towns beside it. Times depend on the machine; ratios are what to watch.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from main_job import text_of_chain
from many_runs import Memory


def told(scenario: str, folder: Path) -> None:
    """Run a scenario, and print what that took."""
    start = time.perf_counter()
    with Memory() as memory:
        subprocess.run(
            [
                sys.executable,
                "-m",
                "hydroloop",
                "run",
                scenario,
                "--out",
                str(folder / f"out_{Path(scenario).stem}"),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
        )
    taken = time.perf_counter() - start
    print(f"  {Path(scenario).stem:12s} {taken:8.1f} s {memory.most:8.0f} MiB")


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        told("five_towns", folder)
        told("five_towns", folder / "again")
        for count in map(int, sys.argv[1:] or ["200"]):
            file = folder / f"towns_{count}.toml"
            file.write_text(text_of_chain(count), encoding="utf-8")
            told(str(file), folder)
    print("  aims: the five towns again 2 s, 200 towns 60 s, 1,000 towns 360 s and 4,096 MiB")


if __name__ == "__main__":
    main()
