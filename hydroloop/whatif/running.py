"""Many runs: here, in several processes, or on other machines; kept as they are finished."""

from __future__ import annotations

import logging
import os
import pickle
import signal
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from itertools import islice
from multiprocessing import get_context, parent_process
from os import PathLike
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import xarray as xr

from hydroloop.errors import InputError, Problem, WorkerError
from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.job import Job, run_chunk
from hydroloop.whatif.season_table import side_by_side
from hydroloop.whatif.store import Store, read_store, unfinished, with_values

Progress = Callable[[int, int, float], None]
"""Takes members done, members in all, and the time left [s]."""

_AHEAD = 2  # chunks handed to each worker beyond the one it is at


def run_job(
    job: Job,
    *,
    workers: int = 1,
    scheduler: str | None = None,
    store: str | PathLike[str] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Season measures of all members of a job.

    Runs chunk after chunk. With a store every chunk is on disk as soon as it is done, and what is
    there already is not run again; the result is the same to the bit.

    Parameters
    ----------
    job : Job
        What is run.
    workers : int
        Processes on this machine, this one included.
    scheduler : str, optional
        Address of a Dask scheduler, whose workers run the chunks instead.
    store : path, optional
        Folder that keeps the results.
    progress : callable, optional
        Called after every chunk with members done, members in all and time left [s].

    Returns
    -------
    xarray.Dataset
        Season measures with the members as last dim, and `drawn` (key, member).

    Raises
    ------
    InputError
        The store holds another job, or Dask is asked for and not there.
    OutputError
        A result cannot be kept.
    WorkerError
        A worker died.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.whatif import drawn_job
    >>> scenario = hl.read_scenario("first_town").changed(
    ...     {"town.larkmill.mains.real_losses": "8 % to 20 %"})
    >>> run_job(drawn_job(scenario, 3)).sizes["member"]
    3
    """
    if workers < 1:
        raise InputError(Problem("workers", f"{workers} is not a number of workers.",
                                 "Give a whole number from 1 up."))
    kept = None if store is None else Store(store, job)
    done = set() if kept is None else kept.done()
    todo = [first for first in job.chunks() if first not in done]
    clock = _Clock(job, todo, progress)
    found: dict[int, xr.Dataset] = {}
    try:
        for first, table in _results(job, todo, workers, scheduler):
            if kept is None:
                found[first] = table
            else:
                kept.keep(first, table)
            clock.tick(first)
    except (BrokenProcessPool, _WorkerLostError) as error:
        cure = ("Run the same again." if kept is None
                else f"{kept.kept_words()} Run the same again: it goes on from there.")
        raise WorkerError(f"A worker died ({_why(error)}); nothing is left half written. {cure}"
                          ) from error
    if kept is not None:
        for part in unfinished(kept.path):
            with suppress(OSError):
                part.unlink()
        return read_store(kept.path)
    return with_values(side_by_side([found[first] for first in sorted(found)]), list(job.keys),
                       job.values)


class _WorkerLostError(Exception):
    """A worker of a scheduler is gone."""


def _why(error: Exception) -> str:
    return "killed, or out of memory" if isinstance(error, BrokenProcessPool) else str(error)


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
    job: Job, todo: list[int], workers: int, scheduler: str | None
) -> Iterator[tuple[int, xr.Dataset]]:
    if scheduler is not None:
        yield from _on_scheduler(job, todo, scheduler)
    elif workers == 1 or len(todo) < 2:
        shared = SharedForcing()
        for first in todo:
            yield first, run_chunk(job, first, shared)
    else:
        yield from _in_processes(job, todo, min(workers, len(todo)))


_loaded: dict[str, Any] = {}


def _load(job: Job) -> None:
    """What each process does once: take the job over, so that chunks are only numbers."""
    _loaded.update(job=job, forcing=SharedForcing())


def _read(path: Path) -> None:
    # Ctrl-C goes to all processes of a terminal: the one that handed out the work sees to the rest.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    _load(pickle.loads(path.read_bytes()))


def _leave_with_parent() -> None:
    """End this process with the one that began it, which cannot say so where it was killed."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _loaded_chunk(first: int) -> tuple[int, xr.Dataset]:
    return first, run_chunk(_loaded["job"], first, _loaded["forcing"])


def _in_processes(job: Job, todo: list[int], workers: int) -> Iterator[tuple[int, xr.Dataset]]:
    with TemporaryDirectory() as folder:
        # By way of a file: a process that is started would keep us waiting until it had taken it.
        handed = Path(folder) / "job"
        handed.write_bytes(pickle.dumps(job))
        pool = ProcessPoolExecutor(workers - 1, get_context("spawn"), initializer=_read,
                                   initargs=(handed,))
        try:
            yield from _shared_out(pool, job, todo, workers - 1)
        finally:
            with _undisturbed():
                pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Hold Ctrl-C off: a second one would break the wait for the processes, and leave them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before or signal.default_int_handler)


def _shared_out(
    pool: ProcessPoolExecutor, job: Job, todo: list[int], others: int
) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks as they are done; some are handed out, and this process runs its share of them."""
    rest, shared = iter(todo), SharedForcing()
    running: dict[Future[tuple[int, xr.Dataset]], int] = {}
    while True:
        while len(running) < others * (1 + _AHEAD) and (first := next(rest, None)) is not None:
            running[pool.submit(_loaded_chunk, first)] = first
        finished = [future for future in running if future.done()]
        if not finished:
            own = next(rest, None)
            if own is None:  # take back what nobody has begun
                own = next((running.pop(future) for future in list(running) if future.cancel()),
                           None)
            if own is not None:
                yield own, run_chunk(job, own, shared)
                continue
            if not running:
                break
            finished = list(wait(running, return_when=FIRST_COMPLETED).done)
        for future in finished:
            del running[future]
            yield future.result()


def _sent_chunk(handed: tuple[Job, dict[str, Any]], first: int) -> tuple[int, xr.Dataset]:
    job, identity = handed
    if _loaded.get("job") is not job:
        if job.identity() != identity:
            raise InputError(Problem("scheduler", "a worker has another hydroloop, or not the "
                                     "scenario's data files.", "Put the same on all machines."))
        _load(job)
    return _loaded_chunk(first)


def _on_scheduler(job: Job, todo: list[int], address: str) -> Iterator[tuple[int, xr.Dataset]]:
    try:
        from distributed import Client, KilledWorker, as_completed
    except ImportError:
        raise InputError(Problem("scheduler", "needs Dask, which is not installed.",
                                 "Install it: pip install 'hydroloop[many]'.")) from None
    # What becomes of workers and scheduler is told by the errors below.
    logging.getLogger("distributed.client").setLevel(logging.CRITICAL)
    try:
        client = Client(address, timeout="20s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(Problem("scheduler", f"nobody answers at {address}.",
                                 "Start one, dask scheduler, and name its address.")) from error
    with client:
        hands = sum(client.nthreads().values())
        if not hands:
            raise InputError(Problem("scheduler", f"there are no workers at {address}.",
                                     f"Start some: dask worker {address}."))
        rest = iter(todo)
        handed = client.scatter((job, job.identity()), broadcast=True)
        some = [client.submit(_sent_chunk, handed, first, pure=False)
                for first in islice(rest, hands * (1 + _AHEAD))]
        running = as_completed(some, loop=client.loop)
        for future in running:
            try:
                done = future.result()
            except KilledWorker as error:
                raise _WorkerLostError("its scheduler gave it up") from error
            except ImportError as error:
                raise InputError(Problem("scheduler", f"a worker lacks a library ({error}).",
                                         "Put the same hydroloop on all machines.")) from error
            except CancelledError as error:
                raise _WorkerLostError("or its scheduler did, and nobody took over") from error
            future.release()
            if (first := next(rest, None)) is not None:
                running.add(client.submit(_sent_chunk, handed, first, pure=False))
            yield done
