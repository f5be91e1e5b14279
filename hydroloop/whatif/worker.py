"""What a process does that runs chunks for another."""

from __future__ import annotations

import ctypes
import gc
from contextlib import suppress
from typing import Any

import xarray as xr

from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.job import Job, run_chunk


class WorkerLostError(Exception):
    """A worker is gone; says why in a few words."""


_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3  # numbers that the C library gives its settings
_MOST_KEPT = 2**25  # bytes of an array; the library refuses more
_loaded: dict[str, Any] = {}


def load(job: Job) -> None:
    """What each process does once: take the job over, so that chunks are only numbers."""
    _keep_memory()
    _loaded.update(job=job, forcing=SharedForcing())


def loaded() -> Job | None:
    """The job that has been taken over."""
    return _loaded.get("job")


def loaded_chunk(first: int) -> tuple[int, xr.Dataset]:
    """Run a chunk of the job that has been taken over, and say which it is."""
    return first, run_chunk(_loaded["job"], first, _loaded["forcing"])


def _keep_memory() -> None:
    """Keep memory that is freed: the next block of members takes as much, and to be given it anew,
    page by page, takes time. Nor is what is loaded looked through again for what nobody uses."""
    gc.freeze()
    with suppress(AttributeError, OSError, TypeError):  # a C library that cannot be told so
        settings = ctypes.CDLL(None)
        settings.mallopt(_TRIM_THRESHOLD, 2**31 - 1)
        settings.mallopt(_MMAP_THRESHOLD, _MOST_KEPT)
