"""Chunks in several processes on this machine, this one included."""

from __future__ import annotations

import os
import pickle
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from pathlib import Path
from tempfile import TemporaryDirectory

import xarray as xr

from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.job import Job, run_chunk
from hydroloop.whatif.worker import WorkerLostError, load, loaded_chunk

_AHEAD = 1  # chunks handed to each process beyond the one it is at: it never waits for the next


def in_processes(job: Job, todo: list[int], workers: int) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks as they are done, in as many processes.

    Parameters
    ----------
    job : Job
        What is run.
    todo : list of int
        First member of each chunk.
    workers : int
        Processes, this one included.

    Yields
    ------
    tuple of int and xarray.Dataset
        First member of a chunk, and its measures.

    Raises
    ------
    WorkerLostError
        A process was killed.
    """
    with TemporaryDirectory() as folder:
        # By way of a file: a process that is started would keep us waiting until it had taken it.
        handed = Path(folder) / "job"
        handed.write_bytes(pickle.dumps(job))
        pool = ProcessPoolExecutor(workers - 1, get_context("spawn"), initializer=_read,
                                   initargs=(handed,))
        try:
            yield from _shared_out(pool, job, todo, workers - 1)
        except BrokenProcessPool as error:
            raise WorkerLostError("killed, or out of memory") from error
        finally:
            with _undisturbed():
                pool.shutdown(wait=True, cancel_futures=True)


def _shared_out(
    pool: ProcessPoolExecutor, job: Job, todo: list[int], others: int
) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks as they are done; some are handed out, and this process runs its share of them."""
    rest, shared = iter(todo), SharedForcing()
    running: dict[Future[tuple[int, xr.Dataset]], int] = {}
    while True:
        while len(running) < others * (1 + _AHEAD) and (first := next(rest, None)) is not None:
            running[pool.submit(loaded_chunk, first)] = first
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


def _read(path: Path) -> None:
    # Ctrl-C goes to all processes of a terminal: the one that handed out the work sees to the rest.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    load(pickle.loads(path.read_bytes()))


def _leave_with_parent() -> None:
    """End this process with the one that began it, which cannot say so where it was killed."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
