"""How fast tracing is, against one space-time system by SuperLU, and how its cost grows.

Run it from the top of the repository: ``python benchmarks/tracing.py``. Numbers are the best of
some warm runs in one process: on a machine that others use too, noise only ever adds.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from random_records import basin
from space_time import SpaceTime

from hydroloop.tracing import (
    ages,
    count_uses,
    drops,
    find_gate,
    follow,
    last_use,
    long_run,
    operator,
)
from hydroloop.tracing.passing import UNKNOWN, Uses, advance, passing

MOST = 11


def best_ms(run: Callable[[], object], times: int = 9) -> float:
    """Best of some warm runs [ms]."""
    run()
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        spent.append(time.perf_counter() - start)
    return min(spent) * 1e3


def kernel(op: object, most: int) -> Callable[[], None]:
    """The compiled part alone: classes 0 to `most`, the mean, all of them there from the start."""
    prepared = passing(op, find_gate(op, "home_use"), most)
    steps, stores, members = op.shape
    share = np.empty((most + 1, steps + 1, stores, members))
    place = np.argsort(op.program.order).astype(np.uint32)
    out = Uses(share, np.empty(share.shape[1:]), np.empty(share.shape[1:]), place)
    first = np.full((most + 3, stores), 1.0 / (most + 1))
    first[UNKNOWN] = 0.0

    def run() -> None:
        advance(op, prepared, first.copy(), (0, 1), steps=steps, out=out)

    return run


def against_super_lu() -> None:
    """Five towns, a year, twelve classes: SuperLU over tracing, and how well they agree."""
    record = basin(5)
    op = operator(record)
    gate = record["kind"].values == "home_use"
    traced = count_uses(op, most=MOST, warm_up="none")
    solved = SpaceTime.of(record).uses(gate, MOST)
    gap = np.abs(traced["share"].values[:, 1:] - solved[:-1]).max()
    mine = best_ms(kernel(op, MOST))
    public = best_ms(lambda: count_uses(record, most=MOST, warm_up="none"))
    theirs = best_ms(lambda: SpaceTime.of(record).uses(gate, MOST), times=3)
    sizes = f"{len(op.stores)} stores, {len(op.flows)} flows, {op.shape[0]} steps"
    print(f"{sizes}, {MOST + 1} classes")
    print(f"  largest difference         {gap:9.1e}")
    print(f"  compiled part              {mine:9.2f} ms")
    print(f"  count_uses                 {public:9.2f} ms")
    print(f"  one space-time system      {theirs:9.2f} ms")
    print(f"  ratio to compiled part     {theirs / mine:9.0f}")
    print(f"  ratio to count_uses        {theirs / public:9.0f}")


def public_functions() -> None:
    """Each public function on the basin of five towns."""
    record = basin(5)
    op = operator(record)
    ask = {"at": "town_4/mains", "on": "2031-12-01"}
    season = list(record["time"].values[30:])
    jobs = {
        "operator": lambda: operator(record),
        "count_uses, repeat": lambda: count_uses(op),
        "count_uses, steady": lambda: count_uses(op, warm_up="steady"),
        "ages": lambda: ages(op),
        "last_use": lambda: last_use(op, **ask),
        "last_use, 335 dates": lambda: last_use(op, at="town_4/mains", on=season),
        "follow": lambda: follow(op, at="town_0/rapid_mix", on="2031-02-01"),
        "drops, 1000": lambda: drops(op, n=1000, **ask, backward=True),
        "long_run": lambda: long_run(op),
    }
    for name, job in jobs.items():
        print(f"  {name:26s} {best_ms(job):9.2f} ms")


def exponent(sizes: Iterable[float], spent: Iterable[float]) -> float:
    """Slope of log cost over log size."""
    return float(np.polyfit(np.log(list(sizes)), np.log(list(spent)), 1)[0])


def growth(name: str, sizes: list[int], job: Callable[[int], Callable[[], object]]) -> None:
    """Cost at each size, and the exponent."""
    spent = [best_ms(job(size), times=7) for size in sizes]
    each = ", ".join(f"{size}: {ms:.2f}" for size, ms in zip(sizes, spent, strict=True))
    print(f"  {name:8s} exponent {exponent(sizes, spent):5.2f}   ({each} ms)")


def main() -> None:
    """Print all of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--towns", type=int, default=200, help="most towns in the growth fit")
    most_towns = parser.parse_args().towns
    against_super_lu()
    public_functions()
    five = operator(basin(5))
    growth("steps", [90, 180, 365, 730, 1460], lambda n: kernel(operator(basin(5, steps=n)), MOST))
    growth("classes", [6, 12, 24, 48, 96], lambda n: kernel(five, n))
    towns = [n for n in (5, 10, 20, 50, 100, 200, 500, 1000) if n <= most_towns]
    growth("towns", towns, lambda n: kernel(operator(basin(n)), MOST))


if __name__ == "__main__":
    main()
