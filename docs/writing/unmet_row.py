"""One row of the printed numbers that ours do not meet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Unmet:
    """A printed number, ours, and why they differ by more than `near`."""

    source: str
    quantity: str
    printed: float
    near: float
    ours: Callable[[], float]
    units: str
    why: str
