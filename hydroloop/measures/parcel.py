"""Cycles of a parcel: what becomes of water released at an intake, by the season's end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from hydroloop.measures.towns import Town, find_towns
from hydroloop.record import BOUNDARIES
from hydroloop.tracing import Operator, fates, find_gate, follow, operator

# Where a parcel may be, in words; the first line that names its role or boundary counts.
_ENDS = {
    "evaporated": ("sky",),
    "left down the river": ("downstream",),
    "left with sludge": ("solids",),
    "in rivers": ("reach", "streams"),
    "in reservoirs": ("reservoir",),
    "in the ground": ("subsoil", "groundwater"),
    "in soil, yards and snow": ("soil", "yards", "snow", "pavement", "storm_drains"),
}
_ELSEWHERE = "in pipes and water works"
ENDS = (*_ENDS, _ELSEWHERE)
_END_OF = {role: end for end, found in _ENDS.items() for role in found}


def passed_on_entering(
    op: Operator, gate: np.ndarray, town: Town, step: int | None = None
) -> np.ndarray:
    """Share of what a town takes in that passes the gate as it comes into its first store, in a
    step or over all, shape (member) [-]: all of it where a table leads a river to homes."""
    # A town that has all its water straight from over a boundary takes none in.
    into = town.takes & (op.target == op.stores.index(town.first)) if town.first else town.takes
    steps = slice(step, None if step is None else step + 1)
    moved = op.water.rate[steps, into] * op.water.days[steps, None, None]
    whole, passed = (part.sum(axis=(0, 1)) for part in (moved, moved[:, gate[into]]))
    return np.divide(passed, whole, out=np.zeros_like(whole), where=whole > 0.0)


def parcel_fate(
    op: Operator,
    gate: np.ndarray,
    most: int,
    parcels: Sequence[tuple[int, int]],
    entered: Sequence[np.ndarray] | None = None,
) -> dict[str, np.ndarray]:
    """Cycles of parcels over the season.

    Passes that a parcel of water makes until the season's end, and where it is then. A short season
    or a large reservoir leaves much of it on its way.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    gate : numpy.ndarray of bool
        What counts as a use, shape (flow).
    most : int
        Highest use class of `parcel_pass_share`.
    parcels : sequence of tuple of int
        Store and step in which each parcel is released; a step of -1 where there is none.
    entered : sequence of numpy.ndarray, optional
        Share of each parcel that passed the gate as it came there, shape (member) [-].

    Returns
    -------
    dict of numpy.ndarray
        ``parcel_passes`` (parcel, member): mean passes, ``parcel_pass_share`` (parcel, use, member)
        and ``parcel_end_share`` (parcel, end, member) [-]. NaN for a parcel that there is none of.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import find_gate, operator
    >>> op = operator(hl.simulate(hl.read_scenario("first_town")))
    >>> begin = (op.stores.index("larkmill/rapid_mix"), 30)
    >>> fate = parcel_fate(op, find_gate(op, "home"), 5, [begin])
    >>> round(float(fate["parcel_end_share"].sum()), 9)
    1.0
    """
    known = [parcel for parcel in parcels if parcel[1] >= 0]
    ends = (
        np.array([_end(role) for role in op.roles], dtype=np.int64),
        np.array(
            [
                _end(name) if target < 0 else -1
                for name, target in zip(op.outside, op.target.tolist(), strict=True)
            ],
            dtype=np.int64,
        ),
    )
    made = {"parcel_passes": (), "parcel_pass_share": (most + 1,), "parcel_end_share": (len(ENDS),)}
    found = {
        name: np.full((len(parcels), *inner, op.shape[2]), np.nan) for name, inner in made.items()
    }
    if known:
        told = fates(op, gate, most, known, ends)
        rows = [step >= 0 for _, step in parcels]
        passed = np.zeros((len(known), op.shape[2]))
        if entered is not None:
            passed = np.array(entered)[rows]
        by_end = np.zeros((len(known), len(ENDS), op.shape[2]))
        by_end[:, : told.by_end.shape[1]] = told.by_end
        for name, values in zip(
            made,
            (told.mean + passed, _once_more(told.by_use, passed[:, None], 1), by_end),
            strict=True,
        ):
            found[name][rows] = values
    return found


def ends_by_use(record: xr.Dataset, table: xr.Dataset, town: str) -> xr.DataArray:
    """The parcel of one town by where it is in the end and how often it was used, shape (end, use),
    mean over members; NaN where none was followed."""
    op, date = operator(record), table["parcel_date"].sel(town=town).values.ravel()[0]
    own = next((one for one in find_towns(op) if one.name == town), None)
    if np.isnat(date) or own is None or not own.first:
        return xr.DataArray(np.full((len(ENDS), 2), np.nan), {"end": list(ENDS)}, ("end", "use"))
    share = follow(op, at=own.first, on=date)["share"].transpose("use", "place", ...).values
    step, gate = int(np.searchsorted(op.edge, date, side="right")) - 1, find_gate(op, None)
    share = _once_more(share, passed_on_entering(op, gate, own, step), 0)
    share = share.reshape(*share.shape[:2], -1).mean(axis=2)
    at = np.array([_end(role) for role in (*op.roles, *BOUNDARIES)])
    found = np.array([share[:, at == end].sum(axis=1) for end in range(len(ENDS))])
    return xr.DataArray(found, {"end": list(ENDS)}, ("end", "use"))


def _once_more(by_use: np.ndarray, passed: np.ndarray, axis: int) -> np.ndarray:
    """Shares by number of passes, when a part of the water had passed once before that."""
    last = by_use.shape[axis] - 1
    more = np.roll(by_use, 1, axis=axis)
    first, top = (tuple([slice(None)] * axis + [place]) for place in (0, last))
    more[top] += more[first]
    more[first] = 0.0
    return (1.0 - passed) * by_use + passed * more


def _end(role: str) -> int:
    return ENDS.index(_END_OF.get(role, _ELSEWHERE))
