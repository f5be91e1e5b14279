"""Speed and memory of many runs, as ratios within one run.

    python benchmarks/many_runs.py [MEMBERS] [DASK_MEMBERS]

Members of the five-town year with 12 use classes against single seasons through the public
functions; how two Dask workers do against one, where a number of members for them is given; and the
memory that all processes took. Times depend on the machine; ratios are what to watch.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import hydroloop as hl
from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif import drawn_job, run_job
from hydroloop.whatif.job import run_chunk

MOST = 11  # twelve classes


def scenario_with_ranges() -> hl.Scenario:
    """The five towns, not knowing how much their homes use and how much leaks."""
    return hl.read_scenario("five_towns").changed(
        {
            "town.*.homes.use_per_person": "45 gal/person/day to 70 gal/person/day",
            "town.*.mains.real_losses": "8 % to 20 %",
        }
    )


def seconds(act: Callable[[], object]) -> float:
    """How long something takes [s]."""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def single(scenario: hl.Scenario) -> None:
    """One season as a user runs it."""
    hl.count_uses(hl.simulate(scenario), most=MOST)


def with_dask(scenario: hl.Scenario, members: int, workers: int) -> float:
    """Time that a scheduler with some workers takes, once they are warm [s]."""
    from distributed import LocalCluster

    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:
        address = cluster.scheduler_address
        run_job(drawn_job(scenario, 128 * workers, most=MOST), scheduler=address)
        job = drawn_job(scenario, members, most=MOST)
        return seconds(lambda: run_job(job, scheduler=address))


def memory_mib() -> float:
    """Most memory of this process and of the largest of its children [MiB]."""
    who = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(resource.getrusage(one).ru_maxrss for one in who) / 1024


def main() -> None:
    """Print the figures."""
    members = int(sys.argv[1]) if len(sys.argv) > 1 else 256
    dask_members = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    scenario = scenario_with_ranges()
    single(scenario)
    alone = min(seconds(lambda: single(scenario)) for _ in range(10))
    chunk, shared = drawn_job(scenario, 64, most=MOST), SharedForcing()
    run_chunk(chunk, 0, shared)
    one = min(seconds(lambda: run_chunk(chunk, 0, shared)) for _ in range(2)) / 64
    job = drawn_job(scenario, members, most=MOST)
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "runs"
        two = seconds(lambda: run_job(job, workers=2, store=kept)) / members
    print(f"a single season, public functions      {1000 * alone:8.1f} ms")
    print(f"a member, one process                  {1000 * one:8.1f} ms   {alone / one:5.1f} times")
    print(f"a member, two processes, kept          {1000 * two:8.1f} ms   {alone / two:5.1f} times"
          f"   (aim 20; {members:,} members with the start of the processes)")
    print(f"memory, this process and a worker      {memory_mib():8.0f} MiB  (at most 1,024)")
    if dask_members:
        gain = with_dask(scenario, dask_members, 1) / with_dask(scenario, dask_members, 2)
        print(f"two Dask workers over one              {gain:8.2f}      (at least 1.7)")


if __name__ == "__main__":
    main()
