"""How much of a wrong rule the tests would see: change one operator or number, run the tests.

    python benchmarks/mutation/mutants.py map                   which test reaches which line
    python benchmarks/mutation/mutants.py run waterworks 60     sixty changes of a package, by lot
    python benchmarks/mutation/mutants.py again waterworks      what survived, against slower tests
    python benchmarks/mutation/mutants.py report                shares killed, and what survived

Needs ``pip install cosmic-ray``, which lists the changes and makes them. Its own runner starts a
command for each; here each is a fork that has the heavy libraries loaded already and runs the tests
that reach the changed line, quickest first. All of it works on a copy of the tree; what it finds
is kept in ``benchmarks/mutation/found`` (`HYDROLOOP_MUTANTS` names another folder).
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
FOUND = Path(os.environ.get("HYDROLOOP_MUTANTS", HERE / "found"))
CHOSEN = tomllib.loads((HERE / "chosen.toml").read_text(encoding="utf-8"))
HEAVY = ("numba", "xarray", "pandas", "scipy.stats", "scipy.optimize", "scipy.sparse.linalg",
         "matplotlib.figure", "pydantic", "pint", "h5netcdf", "hypothesis", "networkx", "pytest",
         "jinja2", "tomlkit", "click", "graphlib", "scipy.special", "scipy.interpolate")


def copy_of_tree() -> Path:
    """The parts that tests need, in a folder of their own."""
    copy = Path(tempfile.mkdtemp(prefix="mutants-"))
    for name in ("hydroloop", "tests", "scenarios", "docs", "benchmarks"):
        shutil.copytree(ROOT / name, copy / name,
                        ignore=shutil.ignore_patterns("*.nb[ic]", "found"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, copy / name)
    return copy


def make_map() -> None:
    """Run the chosen tests once, as they are, and keep their times and the lines they reach."""
    copy = copy_of_tree()
    FOUND.mkdir(exist_ok=True)
    room = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": "benchmarks/mutation",
            "MUTANTS_TIMES": str(FOUND / "times.json"), "COVERAGE_FILE": str(FOUND / "coverage")}
    subprocess.run([sys.executable, "-m", "pytest", "-q", "-p", "interpreted", "-p",
                    "no:cacheprovider", "--cov=hydroloop", "--cov-context=test", "--cov-report=",
                    *CHOSEN["tests"]], cwd=copy, env=room, check=False)  # fmt: skip
    from coverage import CoverageData

    reached = CoverageData(str(FOUND / "coverage"))
    reached.read()
    lines = {str(Path(path).relative_to(copy)): {
        line: sorted({name.partition("|")[0] for name in names} - {""})
        for line, names in reached.contexts_by_lineno(path).items()}
        for path in reached.measured_files()}
    (FOUND / "lines.json").write_text(json.dumps(lines))
    shutil.rmtree(copy)


def sampled(package: str, count: int, seed: int = 1) -> list:
    """So many changes of a package, by lot, each with the lines that it stands in."""
    from annotations import changed_by_nobody
    from cosmic_ray.commands.init import _all_work_items

    paths = sorted(path for part in CHOSEN["packages"][package]
                   for path in ROOT.glob(part)
                   if str(path.relative_to(ROOT)) not in CHOSEN["left_out"])
    operators = tuple(CHOSEN["operators"])
    every = [item.mutations[0] for item in _all_work_items(paths, {})
             if item.mutations[0].operator_name.endswith(operators)]
    idle = {path: changed_by_nobody(path) for path in map(str, paths)}
    kept = [one for one in every
            if not any(a <= one.start_pos < b for a, b in idle[str(one.module_path)])]
    return random.Random(seed).sample(kept, min(count, len(kept)))


def run(package: str, count: int) -> None:
    """Make each change in the copy, run the tests that reach it, and keep what came of it."""
    for name in HEAVY:
        __import__(name)
    from cosmic_ray.mutating import use_mutation
    from cosmic_ray.plugins import get_operator

    lines = json.loads((FOUND / "lines.json").read_text())
    times = json.loads((FOUND / "times.json").read_text())
    copy = copy_of_tree()
    there = _collected(copy)
    times = {name: seconds for name, seconds in times.items() if name in there}
    kept = FOUND / f"{package}.jsonl"
    done = {(one["module"], one["operator"], one["occurrence"]) for one in _read(kept)}
    for one in sampled(package, count):
        module = str(Path(one.module_path).relative_to(ROOT))
        if (module, one.operator_name, one.occurrence) in done:
            continue
        tests = tests_of(lines.get(module, {}), times, one.start_pos[0], one.end_pos[0])
        path = copy / module
        before = time.perf_counter()
        with use_mutation(path, get_operator(one.operator_name)(), one.occurrence) as (old, new):
            outcome = "not reached" if not tests else outcome_of(copy, tests, times)
            where = next((k for k, (a, b) in enumerate(zip(
                old.splitlines(), new.splitlines(), strict=False)) if a != b), 0)
            found = {"module": module, "operator": one.operator_name, "line": where + 1,
                     "occurrence": one.occurrence, "outcome": outcome, "tests": len(tests),
                     "was": old.splitlines()[where].strip(),
                     "is": new.splitlines()[where].strip(),
                     "seconds": round(time.perf_counter() - before, 1)}
        with kept.open("a", encoding="utf-8") as file:
            file.write(json.dumps(found) + "\n")
    shutil.rmtree(copy)


def again(package: str) -> None:
    """Try what survived against more tests, whole files, which the map leaves out as too slow, or
    which read a table of a module without calling anything in it."""
    for name in HEAVY:
        __import__(name)
    from cosmic_ray.mutating import use_mutation
    from cosmic_ray.plugins import get_operator

    copy = copy_of_tree()
    kept = FOUND / f"{package}.jsonl"
    rows = _read(kept)
    for one in rows:
        if one["outcome"] == "killed" or "again" in one:
            continue
        path = copy / one["module"]
        if not path.exists():
            one["outcome"] = "source changed"
            continue
        with use_mutation(path, get_operator(one["operator"])(), one["occurrence"]) as (old, new):
            was, now = (_line(text, one["line"]) for text in (old, new))
            if (was, now) != (one["was"], one["is"]):
                one["outcome"] = "source changed"
            else:
                one["again"] = outcome_of(copy, CHOSEN["again"][package], {}, most=240.0)
                one["outcome"] = "killed" if one["again"] == "killed" else "survived"
        kept.write_text("".join(json.dumps(row) + "\n" for row in rows), encoding="utf-8")
    shutil.rmtree(copy)


def tests_of(reached: dict, times: dict, first: int, last: int) -> list[str]:
    """Tests that reach a line, or its module, quickest first; then others of their files, which may
    share a run that the first of them made. As many as take `seconds` of the configuration."""
    names = {name for line in range(first, last + 1) for name in reached.get(str(line), ())}
    if not names:  # a line that runs when its module is loaded
        names = {name for found in reached.values() for name in found}
    files = {name.partition("::")[0] for name in names}
    beside = {name for name in times if name.partition("::")[0] in files} - names
    order = [*sorted(names & times.keys(), key=times.__getitem__),
             *sorted(beside, key=times.__getitem__)]
    taken, spent = [], 0.0
    for name in order:
        spent += times[name]
        if taken and spent > CHOSEN["seconds"]:
            break
        taken.append(name)
    return taken


def outcome_of(copy: Path, tests: list[str], times: dict, most: float = 0.0) -> str:
    """Whether some test fails, in a process of its own; one that takes far longer than the tests do
    is killed, one that takes longer than `most` is not known to be."""
    child = os.fork()
    if child == 0:
        _run_tests(copy, tests)
    limit = time.monotonic() + (most or 60 + 10 * sum(times[name] for name in tests))
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return "survived" if os.waitstatus_to_exitcode(status) == 0 else "killed"
        if time.monotonic() > limit:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "too slow to say" if most else "killed"
        time.sleep(0.05)


def _run_tests(copy: Path, tests: list[str]) -> None:
    """Runs in the fork, and does not come back."""
    status = 1
    try:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.chdir(copy)
        sys.dont_write_bytecode = True
        sys.path[:0] = [str(copy), str(copy / "benchmarks" / "mutation")]
        import pytest

        status = int(pytest.main(["-x", "-q", "-p", "interpreted", "-p", "no:cacheprovider",
                                  "-p", "no:cov", *tests]))
    finally:
        os._exit(status)


def _collected(copy: Path) -> set[str]:
    """Tests that there are now; one that has gone since the map was made would look like a kill."""
    said = subprocess.run([sys.executable, "-m", "pytest", "--collect-only", "-p", "no:cov",
                           "tests"], cwd=copy, capture_output=True, text=True, check=False).stdout
    return {line for line in said.splitlines() if "::" in line}


def _line(text: str | None, number: int) -> str:
    lines = (text or "").splitlines()
    return lines[number - 1].strip() if number <= len(lines) else ""


def _read(path: Path) -> list[dict]:
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def report() -> None:
    """Share killed by package, then each survivor."""
    for package in CHOSEN["packages"]:
        found = [one for one in _read(FOUND / f"{package}.jsonl")
                 if one["outcome"] != "source changed"]
        killed = sum(one["outcome"] == "killed" for one in found)
        if found:
            print(f"{package}: {killed} of {len(found)} killed, {killed / len(found):.0%}")
        for one in found:
            if one["outcome"] != "killed":
                print(f"  {one['module']}:{one['line']}  {one['outcome']}")
                print(f"    - {one['was']}\n    + {one['is']}")


if __name__ == "__main__":
    os.environ["NUMBA_DISABLE_JIT"] = "1"
    what, *rest = sys.argv[1:] or ["report"]
    if what == "run":
        run(rest[0], int(rest[1]))
    elif what == "again":
        again(rest[0])
    else:
        {"map": make_map, "report": report}[what]()
