"""Speed and memory of many runs, as ratios within one run.

    python benchmarks/many_runs.py [MEMBERS] [DASK_MEMBERS]

Members of the five-town year with 12 use classes against single seasons through the public
functions, and against one sparse system over space and time: tracing alone, on two threads, and the
whole of a run in two processes: drawn, checked, simulated, warmed up, traced, measured and kept.
A single season is taken twice: with all that a member comes to (the same numbers, which is
checked), and simulated and traced only, which leaves out changing the scenario and measuring. How
two Dask workers do against one, where a number of members for them is given; and the memory that
all processes took. Times depend on the machine; ratios are what to watch.
"""

from __future__ import annotations

import sys
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import psutil
import xarray as xr

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from space_time import SpaceTime

import hydroloop as hl
from hydroloop.measures import run_of
from hydroloop.measures.gather.dataset import dataset_of
from hydroloop.measures.gather.totals import season_of
from hydroloop.tracing import Operator, uses_at
from hydroloop.waterworks.members import SharedForcing, run_members
from hydroloop.whatif import drawn_job, run_job
from hydroloop.whatif.job import Job, run_chunk
from hydroloop.whatif.season_table import operator_of

MOST = 11  # twelve classes
BLOCK = 16  # members that stand side by side in memory


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
    """One season simulated and traced."""
    hl.count_uses(hl.simulate(scenario), most=MOST)


def one_by_one(job: Job, member: int) -> xr.Dataset:
    """What a member comes to, through the functions for single runs."""
    scenario = job.scenario.changed(job.changes[member])
    run = run_of(hl.simulate(scenario), scenario.town)
    return dataset_of(season_of(run, MOST), None, {})


def check_same(job: Job, member: int, table: xr.Dataset) -> None:
    """Both ways must come to the same numbers, or comparing their times would mean nothing."""
    alone = one_by_one(job, member)
    many = table.isel(member=member)
    for name in many.data_vars:
        if name != "drawn":
            one = alone[name].transpose(*many[name].dims)
            assert np.allclose(many[name], one, rtol=1e-9, atol=1e-9, equal_nan=True), name


def with_dask(scenario: hl.Scenario, members: int, workers: int) -> float:
    """Time that a scheduler with some workers takes, once they are warm [s]."""
    from distributed import LocalCluster

    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:
        address = cluster.scheduler_address
        run_job(drawn_job(scenario, 128 * workers, most=MOST), scheduler=address)
        job = drawn_job(scenario, members, most=MOST)
        return seconds(lambda: run_job(job, scheduler=address))


class Memory:
    """The most memory that this process and all its children took together [MiB].

    What several share, such as the code of libraries, counts once.
    """

    def __init__(self) -> None:
        self.most, self._done = 0.0, threading.Event()
        self._watch = threading.Thread(target=self._look)

    def __enter__(self) -> Memory:
        self._watch.start()
        return self

    def __exit__(self, *error: object) -> None:
        self._done.set()
        self._watch.join()

    def _look(self) -> None:
        here = psutil.Process()
        while not self._done.wait(0.2):
            taken = 0
            for one in (here, *here.children(recursive=True)):
                try:
                    taken += one.memory_full_info().pss
                except psutil.Error:  # it has ended meanwhile
                    continue
            self.most = max(self.most, taken / 2**20)


def traced(scenario: hl.Scenario, threads: int, blocks: int = 8) -> float:
    """Time that tracing a member takes, many side by side on some threads, without warm-up [s]."""
    job = drawn_job(scenario, BLOCK, most=MOST)
    members = next(run_members([scenario.changed(change) for change in job.changes]))
    op = operator_of(members)
    taps = np.flatnonzero([store.endswith("/mains") for store in op.stores])

    def work(op: Operator) -> None:
        uses_at(op, taps, "home_use", MOST, warm_up="none")

    work(op)
    with ThreadPoolExecutor(threads) as pool:
        return min(seconds(lambda: list(pool.map(work, [op] * blocks))) for _ in range(5)) / (
            blocks * BLOCK
        )


def tracing(scenario: hl.Scenario) -> None:
    """Print how fast many members are traced."""
    record = hl.simulate(scenario)
    gate = record["kind"].values == "home_use"
    alone = min(
        seconds(lambda: hl.count_uses(record, most=MOST, warm_up="none")) for _ in range(10)
    )
    system = min(seconds(lambda: SpaceTime.of(record).uses(gate, MOST)) for _ in range(2))
    many = traced(scenario, threads=2)
    print(f"tracing alone: count_uses, one season  {1000 * alone:8.2f} ms")
    print(f"  one sparse system over space and time {1000 * system:7.2f} ms")
    print(
        f"  a member of many, two threads       {1000 * many:8.2f} ms   {alone / many:5.1f} times"
        " (aim 20),"
    )
    print(
        f"    {system / many:,.0f} times the sparse system (aim 300), {1.0 / many:,.0f} a second "
        "(aim 2,500)"
    )


def main() -> None:
    """Print the figures."""
    members = int(sys.argv[1]) if len(sys.argv) > 1 else 1024
    dask_members = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    scenario = scenario_with_ranges()
    tracing(scenario)
    single(scenario)
    alone = min(seconds(lambda: single(scenario)) for _ in range(10))
    job, shared = drawn_job(scenario, 512, most=MOST), SharedForcing()
    check_same(job, 3, run_chunk(job, 0, shared))
    by_hand = min(seconds(lambda: one_by_one(job, 3)) for _ in range(5))
    # Each chunk only once: of one that was run before, what it holds on the first day is known.
    new = list(job.chunks())[1:11]
    one = min(seconds(lambda k=k: run_chunk(job, k, shared)) for k in new) / job.size(0)
    job = drawn_job(scenario, members, most=MOST)
    with tempfile.TemporaryDirectory() as folder, Memory() as memory:
        kept = Path(folder) / "runs"
        two = seconds(lambda: run_job(job, workers=2, store=kept)) / members
    print(f"all of it, {members:,} members")
    print(f"  a season by itself, the same numbers {1000 * by_hand:8.1f} ms")
    print(f"  a season by itself, traced only      {1000 * alone:8.1f} ms")
    for words, time_each in (("one process", one), ("two processes, kept", two)):
        print(
            f"  a member, {words:<20}       {1000 * time_each:8.1f} ms   "
            f"{by_hand / time_each:5.1f} times the same numbers (aim 20), "
            f"{alone / time_each:.1f} times traced only"
        )
    print(f"memory of all processes, most          {memory.most:8.0f} MiB  (at most 1,024)")
    if dask_members:
        gain = with_dask(scenario, dask_members, 1) / with_dask(scenario, dask_members, 2)
        print(f"two Dask workers over one              {gain:8.2f}      (at least 1.7)")


if __name__ == "__main__":
    main()
