"""Chunks on the workers of a Dask scheduler."""

from __future__ import annotations

import logging
import socket
from collections.abc import Iterator
from concurrent.futures import CancelledError
from itertools import islice
from typing import Any

import xarray as xr

from hydroloop.errors import InputError, Problem
from hydroloop.whatif.job import Job
from hydroloop.whatif.worker import WorkerLostError, load, loaded, loaded_chunk

_GREETING_S = 10.0
_AHEAD = 2  # chunks handed out for each worker beyond the one it is at


def on_scheduler(job: Job, todo: list[int], address: str) -> Iterator[tuple[int, xr.Dataset]]:
    """Chunks (first member, measures) as they are done, on the workers of a Dask scheduler."""
    try:
        from distributed import Client, KilledWorker, as_completed
    except ImportError:
        raise InputError(
            Problem(
                "scheduler",
                "needs Dask, which is not installed.",
                "Install it: pip install 'hydroloop[many]'.",
            )
        ) from None
    # What becomes of workers and scheduler is told by the errors below.
    logging.getLogger("distributed.client").setLevel(logging.CRITICAL)
    nobody = InputError(
        Problem(
            "scheduler",
            f"no Dask scheduler answers at {address}.",
            "Start one, dask scheduler, and name its address.",
        )
    )
    if not _speaks_first(address):
        raise nobody
    try:
        client = Client(address, timeout="20s", set_as_default=False)
    except (OSError, ValueError, TypeError, MemoryError) as error:
        raise nobody from error
    with client:
        hands = sum(client.nthreads().values())
        if not hands:
            raise InputError(
                Problem(
                    "scheduler",
                    f"there are no workers at {address}.",
                    f"Start some: dask worker {address}.",
                )
            )
        rest = iter(todo)
        handed = client.scatter((job, job.identity()), broadcast=True)
        some = [
            client.submit(_sent_chunk, handed, first, pure=False)
            for first in islice(rest, hands * (1 + _AHEAD))
        ]
        running = as_completed(some, loop=client.loop)
        for future in running:
            try:
                done = future.result()
            except KilledWorker as error:
                raise WorkerLostError("its scheduler gave it up") from error
            except ImportError as error:
                raise InputError(
                    Problem(
                        "scheduler",
                        f"a worker lacks a library ({error}).",
                        "Put the same hydroloop on all machines.",
                    )
                ) from error
            except CancelledError as error:
                raise WorkerLostError("or its scheduler did, and nobody took over") from error
            future.release()
            if (first := next(rest, None)) is not None:
                running.add(client.submit(_sent_chunk, handed, first, pure=False))
            yield done


def _speaks_first(address: str) -> bool:
    """Whether something greets whoever connects, as a scheduler does; a silent socket would keep
    the client waiting for minutes. Of other protocols than TCP the client must find out."""
    from distributed.comm import get_address_host_port

    if "://" in address and not address.startswith("tcp://"):
        return True
    try:
        place = get_address_host_port(address, strict=True)
        with socket.create_connection(place, timeout=_GREETING_S) as line:
            return bool(line.recv(1))
    except (OSError, ValueError):
        return False


def _sent_chunk(handed: tuple[Job, dict[str, Any]], first: int) -> tuple[int, xr.Dataset]:
    job, identity = handed
    if loaded() is not job:
        if job.identity() != identity:
            raise InputError(
                Problem(
                    "scheduler",
                    "a worker has another hydroloop, or not the scenario's data files.",
                    "Put the same on all machines.",
                )
            )
        load(job)
    return loaded_chunk(first)
