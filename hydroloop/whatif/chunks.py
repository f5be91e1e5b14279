"""Chunks in several processes on this machine, this one included."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from queue import SimpleQueue

import xarray as xr

from hydroloop.errors import InputError, Problem
from hydroloop.processes import Workers, held_off, worker_processes
from hydroloop.temporary import temporary_folder
from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.job import Job, run_chunk
from hydroloop.whatif.worker import WorkerLostError, load, loaded_chunk

_UNGUARDED = "the script has no main guard, so every worker would run all of it anew."
_GUARD = 'Put what it does under the line: if __name__ == "__main__":'
_AHEAD = 1  # chunks handed to each process beyond the one it is at: it never waits for the next


def in_processes(job: Job, todo: list[int], workers: int) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks (first member, measures) as they are done, in as many processes, this one included."""
    with temporary_folder() as folder:
        # By way of a file: a process that is started would keep us waiting until it had taken it.
        handed = folder / "job"
        handed.write_bytes(pickle.dumps(job))
        try:
            with worker_processes(workers - 1, _read, (handed,)) as pool:
                yield from _shared_out(pool, job, todo, workers - 1)
        except BrokenProcessPool as error:
            if pool.is_unguarded:
                raise InputError(Problem("workers", _UNGUARDED, _GUARD)) from None
            raise WorkerLostError("killed, or out of memory") from error


def _shared_out(
    pool: Workers, job: Job, todo: list[int], others: int
) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks as they are done; some are handed out, and this process runs its share of them."""
    rest, shared = iter(todo), SharedForcing()
    running: dict[Future[tuple[int, xr.Dataset]], int] = {}
    done: SimpleQueue[Future[tuple[int, xr.Dataset]]] = SimpleQueue()  # see `as_done`
    while True:
        while len(running) < others * (1 + _AHEAD) and (first := next(rest, None)) is not None:
            with held_off():
                handed = pool.submit(loaded_chunk, first)
                handed.add_done_callback(done.put)
            running[handed] = first
        if done.empty():
            own = next(rest, None)
            if own is None:
                own = _taken_back(running)
            if own is not None:
                yield own, run_chunk(job, own, shared)
                continue
            if not running:
                break
        future = done.get()
        if running.pop(future, None) is not None:
            yield future.result()


def _taken_back(running: dict[Future[tuple[int, xr.Dataset]], int]) -> int | None:
    """A chunk that was handed out and that nobody has begun; None if there is none."""
    with held_off():
        return next((running.pop(future) for future in list(running) if future.cancel()), None)


def _read(path: Path) -> None:
    load(pickle.loads(path.read_bytes()))
