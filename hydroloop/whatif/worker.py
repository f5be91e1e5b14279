"""What a process does that runs chunks for another."""

from __future__ import annotations

from typing import Any

import xarray as xr

from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.job import Job, run_chunk


class WorkerLostError(Exception):
    """A worker is gone; says why in a few words."""


_loaded: dict[str, Any] = {}


def load(job: Job) -> None:
    """What each process does once: take the job over, so that chunks are only numbers."""
    _loaded.update(job=job, forcing=SharedForcing())


def loaded() -> Job | None:
    """The job that has been taken over."""
    return _loaded.get("job")


def loaded_chunk(first: int) -> tuple[int, xr.Dataset]:
    """Run a chunk of the job that has been taken over, and say which it is."""
    return first, run_chunk(_loaded["job"], first, _loaded["forcing"])
