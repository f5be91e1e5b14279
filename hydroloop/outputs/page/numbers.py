"""Numbers as the page reads them: as few digits as it can show, and null where nothing is known."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

SHARES = 10_000
"""Shares are whole numbers: parts of so many."""


def sized(value: float) -> float | int | None:
    """A number in as many digits as the page can show; None where it is not known."""
    if not math.isfinite(value):
        return None
    short = float(f"{value:.4g}")
    return int(short) if short == int(short) else short


def shortened(values: np.ndarray, figures: int = 4) -> list[Any]:
    """Many numbers at once, each in so many figures; None where they are not known."""
    with np.errstate(divide="ignore", invalid="ignore"):
        places = figures - 1 - np.floor(np.log10(np.abs(values)))
        places = np.where(np.isfinite(places), places, 0.0)
        # Ten to a whole power is exact, so a quotient of whole numbers is the nearest to its
        # digits, and is written with them alone.
        up, down = 10.0 ** np.maximum(places, 0.0), 10.0 ** np.maximum(-places, 0.0)
        short = np.rint(values * up / down) / up * down
    found = short.astype(object)
    is_whole, is_known = short == np.rint(short), np.isfinite(short)
    found[is_whole] = short[is_whole].astype(np.int64)
    found[~is_known] = None
    return list(found.tolist())


def shares(values: np.ndarray) -> list[Any]:
    """Shares as whole numbers; None where they are not known."""
    whole = np.rint(SHARES * values)
    is_known = ~np.isnan(whole)
    if is_known.all():
        return list(whole.astype(np.int64).tolist())
    found = np.where(is_known, whole, 0.0).astype(np.int64).astype(object)
    found[~is_known] = None
    return list(found.tolist())


def in_steps(values: Any) -> Any:
    """The same values with long tables of whole numbers column by column, each number as its
    difference from the one before: they pack smaller, and the page adds them up again."""
    if isinstance(values, dict):
        return {name: in_steps(one) for name, one in values.items()}
    if not isinstance(values, list):
        return values
    if _are_whole(values):
        return {"+": _differences(values)}
    width = len(values[0]) if values and isinstance(values[0], list) else 0
    if width and all(
        isinstance(row, list) and len(row) == width and _are_whole(row, least=1) for row in values
    ):
        return {"+": [_differences(list(column)) for column in zip(*values, strict=True)]}
    return [in_steps(one) for one in values]


def _are_whole(values: list[Any], least: int = 4) -> bool:
    return len(values) >= least and all(one is None or type(one) is int for one in values)


def _differences(values: list[Any]) -> list[Any]:
    found, last = [], 0
    for one in values:
        found.append(None if one is None else one - last)
        last = last if one is None else one
    return found
