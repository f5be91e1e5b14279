"""Checks that every test which makes a record or a trace calls: nothing is lost, nothing is made.

Written from the definition of the water record alone, with plain numpy, and not from the code that
is tested.
"""

from __future__ import annotations

import numpy as np
import xarray as xr


def assert_closes(record: xr.Dataset, tolerance: float = 1e-9) -> None:
    """Every store closes in every step, and so does the whole."""
    volume, rate, days = record["volume"].values, record["rate"].values, _days(record)
    assert np.isfinite(volume).all()
    assert np.isfinite(rate).all()
    assert (volume >= 0).all()
    assert (rate >= 0).all()
    names = record["store"].values
    leaves = record["source"].values[None, :] == names[:, None]
    enters = record["target"].values[None, :] == names[:, None]
    moved = rate * _fit(days, rate)
    into, out = (np.einsum("sf,tf...->ts...", side, moved) for side in (enters, leaves))
    change = np.diff(volume, axis=0)
    scale = np.maximum(volume[:-1] + into, volume[1:] + out)
    scale = np.maximum(scale, 1e-5 * scale.max(axis=0))
    gap = np.abs(change - into + out) / np.maximum(scale, 1e-200)  # less is no water
    assert (gap <= tolerance).all(), f"gap of {gap.max():.3g}"
    inner = leaves.any(axis=0) & enters.any(axis=0)
    over = np.where(inner, 0.0, enters.any(axis=0) * 1.0 - leaves.any(axis=0) * 1.0)
    whole = np.abs(change.sum(axis=1) - np.einsum("f,tf...->t...", over, moved))
    assert (whole <= tolerance * (scale.sum(axis=1) + 1e-300)).all()


def assert_conserves(
    record: xr.Dataset, uses: xr.Dataset, gate: object, tolerance: float = 1e-12
) -> None:
    """Shares lie between 0 and 1, sum to one where there is water, and each class is accounted for.

    `gate` is a kind of flow, or a mask over flows.
    """
    share, unknown = uses["share"].values, uses["unknown"].values
    has_water = uses["has_water"].values
    total = share.sum(axis=0) + unknown
    assert (share >= 0).all()
    assert (share <= 1 + tolerance).all()
    assert (unknown >= 0).all()
    long = max(1.0, len(record["store"]) / 1000)  # along a chain the roundings add up
    assert np.abs(total - has_water).max() <= tolerance * long
    assert (total[~has_water] == 0).all()
    mean = uses["mean_uses"].values  # nan where it cannot be told
    assert not (mean < has_water - share[0] - unknown - tolerance).any()
    _assert_budget(record, uses, _mask(record, gate), tolerance)


def _assert_budget(
    record: xr.Dataset, uses: xr.Dataset, gate: np.ndarray, tolerance: float
) -> None:
    """What each store holds of a class changes by what enters and leaves, pass by pass."""
    share, unknown = uses["share"].values, uses["unknown"].values
    volume, rate, days = record["volume"].values, record["rate"].values, _days(record)
    moved = rate * _fit(days, rate)
    where = {name: k for k, name in enumerate(record["store"].values)}
    classes = np.concatenate([share, unknown[None]])
    last = len(share) - 1
    budget = classes[:, 1:] * volume[1:] - classes[:, :-1] * volume[:-1]
    scale = volume[:-1].copy()
    for flow, (a, b) in enumerate(
        zip(record["source"].values, record["target"].values, strict=True)
    ):
        amount = moved[:, flow]
        if a in where:
            carried = classes[:, 1:, where[a]] * amount
            budget[:, :, where[a]] += carried
        else:
            carried = _entering(record, flow, last, amount)
        if b in where:
            if gate[flow]:
                carried = _raised(carried, last)
            budget[:, :, where[b]] -= carried
            scale[:, where[b]] += amount
    # Water of less than 1e-180 m3 is none, and carries nothing on.
    assert (np.abs(budget) <= 10 * tolerance * scale + 1e-180).all()


def _entering(record: xr.Dataset, flow: int, last: int, amount: np.ndarray) -> np.ndarray:
    shares = np.zeros(last + 2)
    shares[0] = 1.0
    if "used_before" in record:
        for earlier, share in zip(
            record["earlier_use"].values, record["used_before"].values[flow], strict=True
        ):
            shares[min(int(earlier), last)] += share
            shares[0] -= share
    return np.multiply.outer(shares, amount)


def _raised(carried: np.ndarray, last: int) -> np.ndarray:
    raised = np.zeros_like(carried)
    raised[1 : last + 1] = carried[:last]
    raised[last] += carried[last]
    raised[1] += carried[-1]
    return raised


def assert_whole(*parts: object, whole: float = 1.0, tolerance: float = 1e-12) -> None:
    """The parts are not negative and sum to the whole; each may be an array without members."""
    values = [np.asarray(part, dtype=float) for part in parts]
    assert all((value >= 0).all() for value in values)
    total = sum(float(value.sum()) for value in values)
    assert abs(total - whole) <= tolerance, f"parts sum to {total!r}"


def _days(record: xr.Dataset) -> np.ndarray:
    return np.diff(record["edge"].values) / np.timedelta64(1, "D")


def _fit(days: np.ndarray, rate: np.ndarray) -> np.ndarray:
    return days.reshape(-1, *[1] * (rate.ndim - 1))


def _mask(record: xr.Dataset, gate: object) -> np.ndarray:
    return record["kind"].values == gate if isinstance(gate, str) else np.asarray(gate)
