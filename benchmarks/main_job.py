"""Speed of the main job, as ratios within one run.

    python benchmarks/main_job.py

Simulating and tracing the five-town year in a warm process, and how the cost of simulating grows
with the number of towns. Times depend on the machine; ratios and exponents are what to watch.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

import hydroloop as hl

_CHAIN = """
title = "A chain of {count} towns"
[season]
start = 2031-01-01
end = 2031-12-31
[river.wren]
length = "{length} km"
inflow = "{flow} m3/s"
"""
_TOWN = """
[town.town{i}]
people = 20000
intake = {{ river = "wren", at = "{intake} km" }}
outfall = {{ river = "wren", at = "{outfall} km" }}
"""


def chain_of_towns(count: int) -> hl.Scenario:
    """As many towns as asked for, one below the other."""
    from hydroloop.scenario import read_toml

    return read_toml(text_of_chain(count))


def text_of_chain(count: int) -> str:
    """The scenario file of as many towns, nine kilometres of river for each."""
    head = _CHAIN.format(count=count, length=9 * count + 10, flow=2 + count // 10)
    towns = [_TOWN.format(i=i, intake=9 * i + 4, outfall=9 * i + 7) for i in range(count)]
    return head + "".join(towns)


def least_time(act: Callable[[], object], times: int = 5) -> float:
    """Shortest of several runs [s]: the one that the rest of the machine disturbed least."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    """Print the figures."""
    scenario = hl.read_scenario("five_towns")
    record = hl.simulate(scenario)
    hl.count_uses(record, most=11, warm_up="none")
    simulating = least_time(lambda: hl.simulate(scenario), 20)
    at_once = scenario.changed({"season.run_up": "0 day"})
    season = least_time(lambda: hl.simulate(at_once), 20)
    tracing = least_time(lambda: hl.count_uses(record, most=11, warm_up="none"))
    settled = least_time(lambda: hl.count_uses(record, most=11))
    print(
        f"five towns: {record.sizes['store']} stores, {record.sizes['flow']} flows, "
        f"{record.sizes['time']} steps, 12 use classes"
    )
    print(f"  simulate                      {1000 * simulating:8.1f} ms")
    print(f"  its run-up over its season    {simulating / season - 1.0:8.2f}   (at most 1)")
    print(f"  trace                         {1000 * tracing:8.1f} ms")
    print(f"  trace with warm-up            {1000 * settled:8.1f} ms")
    print(f"  simulate over trace           {simulating / tracing:8.1f}   (at most 10)")
    print(f"  both                          {1000 * (simulating + tracing):8.1f} ms (aim 50)")
    counts = np.array([5, 20, 50, 100, 200])
    taken = []
    for count in counts:
        chain = chain_of_towns(int(count))
        taken.append(least_time(lambda chain=chain: hl.simulate(chain), 3))
        print(f"  simulate {count:4d} towns           {1000 * taken[-1]:8.1f} ms")
    exponent = np.polyfit(np.log(counts), np.log(taken), 1)[0]
    print(f"  exponent of cost over towns   {exponent:8.2f}   (at most 1.1)")


if __name__ == "__main__":
    main()
