"""A copy of the tree, and tests run on it in a fork that has the heavy libraries loaded already."""

from __future__ import annotations

import contextlib
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from numba.core import caching

ROOT = Path(__file__).resolve().parents[2]
HEAVY = (
    "numba",
    "xarray",
    "pandas",
    "scipy.stats",
    "scipy.optimize",
    "scipy.sparse.linalg",
    "matplotlib.figure",
    "pydantic",
    "pint",
    "h5netcdf",
    "hypothesis",
    "networkx",
    "pytest",
    "jinja2",
    "tomlkit",
    "click",
    "graphlib",
    "scipy.special",
    "scipy.interpolate",
    "coverage",
    "hypothesis.extra.numpy",
)
MOST_BYTES = 8 * 2**30  # a changed size may ask for any amount
PLAIN = ["-x", "-q", "-p", "observed", "-p", "no:cacheprovider", "-p", "no:faulthandler"]


class Outcome(NamedTuple):
    """What came of a run of tests."""

    said: str  # "passed", "failed" or "timed out"
    failed: str  # the first test that failed
    seconds: float  # of processor time
    passed: dict[str, float]  # seconds of each test


@contextlib.contextmanager
def copy_of_tree() -> Iterator[Path]:
    """The parts that tests need, in a folder of their own."""
    copy = Path(tempfile.mkdtemp(prefix="mutants-"))
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # it is cleared away also then
    for name in ("hydroloop", "tests", "scenarios", "docs", "benchmarks"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("found", "_build"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, copy / name)
    try:
        yield copy
    finally:
        shutil.rmtree(copy)


def load_heavy() -> None:
    """Load once what every fork needs."""
    for name in HEAVY:
        __import__(name)


def outcome_of(
    copy: Path,
    batches: Iterable[list[str]],
    limit: float,
    *,
    interpreted: str,
    changed: bool = True,
) -> Outcome:
    """Run batches of tests up to the first failure, in a process of its own that may use so many
    seconds of the processor; other work on the machine does not count."""
    told = copy / "told.jsonl"
    told.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit) + 1, int(limit) + 4))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        if changed:  # machine code made from a changed rule must not outlive it
            caching.Cache.save_overload = lambda *_: None
        run_tests(copy, batches, told, interpreted=interpreted)
    asleep_after = time.monotonic() + 120 + 100 * limit
    while True:
        ended, status, used = os.wait4(child, os.WNOHANG)
        if ended:
            break
        if time.monotonic() > asleep_after:
            os.kill(child, signal.SIGKILL)
        time.sleep(0.05)
    rows = (
        [json.loads(line) for line in told.read_text(encoding="utf-8").splitlines()]
        if told.exists()
        else []
    )
    failed = next((name for name, said, _ in rows if said == "failed"), "")
    passed = {name: seconds for name, said, seconds in rows if said == "passed"}
    said = "failed" if status else "passed"
    if os.WIFSIGNALED(status) and os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL):
        said = "failed" if failed else "timed out"
    return Outcome(said, failed, used.ru_utime + used.ru_stime, passed)


def control(copy: Path, tests: list[str], *, interpreted: str) -> dict[str, float]:
    """Seconds of the tests that pass on what nobody changed; the others are not used."""
    batch = ["--maxfail=1000000", *tests]
    if not tests:
        return {}
    return outcome_of(copy, [batch], 600.0, interpreted=interpreted, changed=False).passed


def run_tests(copy: Path, batches: Iterable[list[str]], told: Path, *, interpreted: str) -> None:
    """Runs in the fork, and does not come back."""
    status = 1
    try:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.chdir(copy)
        os.environ |= {"MUTANTS_TOLD": str(told), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
        os.environ["MUTANTS_INTERPRETED"] = interpreted
        sys.path[:0] = [str(copy), str(copy / "benchmarks" / "mutation")]
        import pytest

        for batch in batches:
            status = int(pytest.main([*PLAIN, *batch]))
            if status:
                break
    finally:
        os._exit(status)
