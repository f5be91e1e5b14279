"""How much of a wrong rule the tests would see: change one operator or number, run the tests.

    python benchmarks/mutation/mutants.py run weather 60 1     sixty changes of a package, by lot 1
    python benchmarks/mutation/mutants.py again weather 60 1   what was not killed of them, again
    python benchmarks/mutation/mutants.py report               shares killed, and what survived

Needs ``pip install cosmic-ray``, which lists the changes and makes them. Its own runner starts a
command for each; here each is a fork that has the heavy libraries loaded already and runs the tests
that reach the changed line, quickest first, out of the files that name what its module has, or the
modules that take from it. Where a module has compiled loops, all loops run as
plain Python. Tests first run on the tree as it is: those that fail then are not used, and the time
of the others sets how long a change may take. All of it works on a copy of the tree; what
it finds is kept in ``benchmarks/mutation/found`` (`HYDROLOOP_MUTANTS` names another folder).
"""

from __future__ import annotations

import importlib
import json
import math
import os
import random
import re
import sys
import tomllib
from functools import cache
from pathlib import Path

from annotations import changed_by_nobody
from naming import naming
from reaching import Reach, map_file
from trial import ROOT, control, copy_of_tree, load_heavy, outcome_of

HERE = Path(__file__).resolve().parent
FOUND = Path(os.environ.get("HYDROLOOP_MUTANTS", HERE / "found"))
CHOSEN = tomllib.loads((HERE / "chosen.toml").read_text(encoding="utf-8"))
NEAR = 6  # files of tests that are near to a module, where others come before them
ORDER = ("not reached", "survived", "timed out", "killed")
CONTROLLED: dict[str, dict[str, float | None]] = {}  # seconds of tests, none of those that fail
FIRST = 1.0  # seconds of tests that run before the others: most changes fall to them


def changes_of(package: str) -> list:
    """Every change of a package that the chosen operators can make, in order of place."""
    from cosmic_ray.commands.init import _all_work_items

    paths = sorted(
        path
        for part in CHOSEN["packages"][package]["modules"]
        for path in ROOT.glob(part)
        if str(path.relative_to(ROOT)) not in CHOSEN["left_out"]
    )
    operators = tuple(CHOSEN["operators"])
    every = [
        item.mutations[0]
        for item in _all_work_items(paths, {})
        if item.mutations[0].operator_name.endswith(operators)
    ]
    idle = {path: changed_by_nobody(path) for path in map(str, paths)}
    return [
        one
        for one in every
        if not any(a <= one.start_pos < b for a, b in idle[str(one.module_path)])
    ]


def run(package: str, count: int, seed: int, *, again: bool = False) -> None:
    """Make so many changes in the copy, by lot, run the tests that reach each, and keep what came
    of it; those that were tried before are not tried again, unless they were not killed."""
    load_heavy()
    every = changes_of(package)
    kept = FOUND / f"{package}-{seed}.jsonl"
    done = {_key(row): row for row in _read(kept)}
    if again:
        done = {key: row for key, row in done.items() if row["outcome"] == "killed"}
    lot = random.Random(seed).sample(every, min(count, len(every)))
    lot = [one for one in lot if _key(_row(one)) not in done]
    with copy_of_tree() as copy:
        if not any(copy.glob("hydroloop/**/*.nbi")):  # machine code
            outcome_of(copy, [CHOSEN["first"]], 600.0, interpreted="", changed=False)
        sys.path.insert(0, str(copy))
        for name in CHOSEN["packages"][package].get("loaded", ()):
            importlib.import_module(name)
        for one in lot:  # as drawn, so that what is done at any time is a lot by itself
            done[_key(_row(one))] = _one(copy, one, package) | {"of": len(every)}
            kept.write_text(
                "".join(json.dumps(row) + "\n" for row in done.values()), encoding="utf-8"
            )


@cache
def _with_loops(path: Path) -> str:
    """The package of a module that compiles something, which then must be interpreted."""
    loops = re.search(r"^@(compiled|njit)|= njit\(", path.read_text("utf-8"), re.MULTILINE)
    return path.relative_to(ROOT).parts[1] if loops else ""


def _one(copy: Path, one, package: str) -> dict:
    """What came of a change: by the tests that are run on every change of the package, and where
    those do not kill it by those of the files near to its module."""
    module = str(one.module_path.relative_to(ROOT))
    rows: list[dict] = []
    for files in filter(None, _files_near(copy, module, CHOSEN["packages"][package])):
        loops = _with_loops(ROOT / module)
        names = _reach(copy, tuple(files), loops).tests_of(
            module, one.start_pos[0], CHOSEN["seconds"]
        )
        rows.append(_tried(copy, module, one, _seconds(copy, names, loops)))
        if rows[-1]["outcome"] == "killed":
            break
    worst = max(rows, key=lambda row: ORDER.index(row["outcome"]))
    sums = {name: round(sum(row[name] for row in rows), 1) for name in ("tests", "seconds")}
    return _row(one) | worst | sums


@cache
def _reach(copy: Path, files: tuple[str, ...], loops: str) -> Reach:
    return Reach(copy, [_mapped(copy, name, loops) for name in files])


@cache
def _mapped(copy: Path, tests: str, loops: str) -> dict:
    kept = FOUND / (loops or "compiled") / (tests.replace("/", "-") + ".json")
    return map_file(copy, tests, kept, interpreted=loops)


def _seconds(copy: Path, names: list[str], loops: str) -> dict[str, float]:
    """Seconds of those tests that pass on what nobody changed."""
    known = CONTROLLED.setdefault(loops, {})
    if new := sorted(set(names) - known.keys()):
        known |= dict.fromkeys(new) | control(copy, new, interpreted=loops)
    return {name: seconds for name in names if (seconds := known[name]) is not None}


def _tried(copy: Path, module: str, one, passing: dict[str, float]) -> dict:
    from cosmic_ray.mutating import use_mutation
    from cosmic_ray.plugins import get_operator

    loops = _with_loops(ROOT / module)
    with use_mutation(copy / module, get_operator(one.operator_name)(), one.occurrence) as texts:
        old, new = (text.splitlines() for text in texts)
        at = next(k for k, (a, b) in enumerate(zip(old, new, strict=False)) if a != b)
        changed = {
            "line": at + 1,
            "was": old[at].strip(),
            "is": new[at].strip(),
            "tests": len(passing),
        }
        if not passing:
            return changed | {"outcome": "not reached", "seconds": 0.0}
        limit = 20.0 + 5.0 * sum(passing.values())
        said = outcome_of(copy, _batches(list(passing), passing), limit, interpreted=loops)
    word = {"passed": "survived", "failed": "killed"}.get(said.said, said.said)
    return changed | {"outcome": word, "by": said.failed, "seconds": round(said.seconds, 1)}


def _batches(names: list[str], seconds: dict[str, float]) -> list[list[str]]:
    """The quickest, and the others."""
    spent, first = 0.0, 0
    while first < len(names) and spent < FIRST:
        spent += seconds[names[first]]
        first += 1
    return [part for part in (names[:first], names[first:]) if part]


def _files_near(copy: Path, module: str, package: dict) -> tuple[list[str], list[str]]:
    """Files of tests that are run against every change of the package, and against those of a
    module."""
    files = {str(path.relative_to(copy)) for part in package["tests"] for path in copy.glob(part)}
    near, first = naming(copy, module, sorted(files)), package.get("first", [])
    if first:  # and then few, the shortest
        near = sorted({*near} - {*first}, key=lambda name: (copy / name).stat().st_size)[:NEAR]
    return first, sorted({*near, *CHOSEN["always"].get(module, ())} - {*first})


def _row(one) -> dict:
    return {
        "module": str(one.module_path.relative_to(ROOT)),
        "operator": one.operator_name,
        "occurrence": one.occurrence,
    }


def _key(row: dict) -> tuple:
    return row["module"], row["operator"], row["occurrence"]


def _read(path: Path) -> list[dict]:
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def report() -> None:
    """Share killed of each lot, with its standard error, then what was not killed."""
    for path in sorted(FOUND.glob("*.jsonl")):
        rows = _read(path)
        of = {
            word: sum(row["outcome"] == word for row in rows)
            for word in ("killed", "timed out", "survived", "not reached")
        }
        share = of["killed"] / len(rows)
        error = math.sqrt(share * (1 - share) / len(rows))
        print(
            f"{path.stem}: {len(rows)} of {rows[0]['of']} changes tried; "
            + ", ".join(f"{count} {word}" for word, count in of.items())
            + f"; killed {share:.0%} +- {error:.0%}"
        )
        for row in rows:
            if row["outcome"] != "killed":
                print(f"  {row['module']}:{row['line']}  {row['outcome']}")
                print(f"    - {row['was']}\n    + {row['is']}")


if __name__ == "__main__":
    what, *rest = sys.argv[1:] or ["report"]
    if what == "report":
        report()
    else:
        run(rest[0], *map(int, rest[1:]), again=what == "again")
