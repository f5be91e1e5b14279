"""Many runs: here, in several processes, or on other machines; kept as they are finished."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from os import PathLike

import xarray as xr

from hydroloop.errors import InputError, Problem, WorkerError
from hydroloop.processes import cores, leave_if_unguarded
from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.chunks import in_processes
from hydroloop.whatif.job import Job, run_chunk
from hydroloop.whatif.scheduler import on_scheduler
from hydroloop.whatif.season_table import side_by_side
from hydroloop.whatif.store import Store, read_store, with_values
from hydroloop.whatif.worker import WorkerLostError

_WORTH_STARTING_S = 3.0
Progress = Callable[[int, int, float], None]
"""Takes members done, members in all, and the time left [s]."""


def run_job(
    job: Job,
    *,
    workers: int | None = 1,
    scheduler: str | None = None,
    store: str | PathLike[str] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Season measures of all members of a job as last dim, and `drawn` (key, member). With a store
    every chunk is on disk as soon as it is done, and what is there is not run again; the result is
    the same to the bit. Without a number of workers all cores work, where that ends sooner.
    `progress` is told members done, members in all and time left [s]."""
    if workers is not None and (
        isinstance(workers, bool) or not isinstance(workers, int) or workers < 1
    ):
        raise InputError(
            Problem(
                "workers",
                f"{workers!r} is not a number of workers.",
                "Give a whole number from 1 up.",
            )
        )
    leave_if_unguarded()
    if store is not None:
        kept = Store(store, job)
        with kept.held():
            done = kept.done()
            for first, table in _told(job, done, (workers, scheduler), progress, kept.kept_words):
                kept.keep(first, table)
        return read_store(kept.path)
    found = dict(_told(job, set(), (workers, scheduler), progress))
    return with_values(
        side_by_side([found[first] for first in sorted(found)]), list(job.keys), job.values
    )


def _told(
    job: Job,
    done: set[int],
    where: tuple[int | None, str | None],
    progress: Progress | None,
    kept: Callable[[], str] | None = None,
) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks that are not done yet, each told of when it has been taken."""
    todo = [first for first in job.chunks() if first not in done]
    clock = _Clock(job, todo, progress)
    try:
        for first, table in _results(job, todo, *where):
            yield first, table
            clock.tick(first)
    except WorkerLostError as error:
        cure = (
            "Run the same again."
            if kept is None
            else f"{kept()} Run the same again: it goes on from there."
        )
        raise WorkerError(
            f"A worker died ({error}); nothing is left half written. {cure}"
        ) from error


class _Clock:
    """Tells how much is done and how long the rest will take."""

    def __init__(self, job: Job, todo: list[int], progress: Progress | None):
        self.job, self.progress = job, progress
        self.todo = sum(job.size(first) for first in todo)
        self.ran, self.begun = 0, time.monotonic()

    def tick(self, first: int) -> None:
        self.ran += self.job.size(first)
        if self.progress is not None:
            left = (time.monotonic() - self.begun) / self.ran * (self.todo - self.ran)
            done = self.job.members - self.todo + self.ran
            self.progress(done, self.job.members, left)


def _results(
    job: Job, todo: list[int], workers: int | None, scheduler: str | None
) -> Iterator[tuple[int, xr.Dataset]]:
    if scheduler is not None:
        yield from on_scheduler(job, todo, scheduler)
    elif workers is None or workers == 1 or len(todo) < 2:
        yield from _here(job, todo, cores() if workers is None else 1)
    else:
        yield from in_processes(job, todo, min(workers, len(todo)))


def _here(job: Job, todo: list[int], most: int) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks run here; in at most so many processes from the second on, where what is left takes
    longer than it takes to start them."""
    shared = SharedForcing()
    for number, first in enumerate(todo):
        begun = time.monotonic()
        table = run_chunk(job, first, shared)
        took = time.monotonic() - begun
        yield first, table
        left = todo[number + 1 :]
        # The first loads machine code too, and tells nothing of the others.
        if number == 1 and most > 1 and took * len(left) > _WORTH_STARTING_S:
            yield from in_processes(job, left, min(most, len(left)))
            break
