"""Time since the last use of the water in a glass, and the glass itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, last_use, operator

GLASS_ML = 250.0
WITHIN = (7, 30, 90)
_AVOGADRO = 6.02214076e23  # per mol, exact by the definition of the mole (SI Brochure 2019)
_GRAM_PER_MOL = 18.015  # of water (IUPAC atomic weights: 2 x 1.008 + 15.999)
_GRAM_PER_ML = 0.998  # of water at 20 degrees Celsius (from memory)


def molecules_in_a_glass() -> float:
    """Molecules of water in a glass.

    A quarter of a litre. Molecules trade hydrogen with their neighbours all the time, so no single
    one can be followed; the model follows the water.

    Returns
    -------
    float
        Number of molecules in 250 mL [-].

    Notes
    -----
    volume x density / molar mass x Avogadro's number.

    Examples
    --------
    >>> f"{molecules_in_a_glass():.1e}"
    '8.3e+24'
    """
    return GLASS_ML * _GRAM_PER_ML / _GRAM_PER_MOL * _AVOGADRO


def time_since_use(op: xr.Dataset | Operator, store: str, dates: Sequence[Any],
                   gate: Any) -> xr.Dataset:
    """Time since the last use of the water in a glass.

    How long ago the used part of the glass last went through a home. Early in a record much of it
    is unknown, which is said.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    store : str
        Store that the glass is drawn from.
    dates : sequence of datetime
        Dates of the glasses.
    gate : str, sequence of str, or boolean mask
        What counts as a use.

    Returns
    -------
    xarray.Dataset
        ``last_use_share`` (on, days_ago), ``last_use_never``, ``last_use_before_record``,
        ``last_use_unknown`` (on) [-], which sum to one; of the used part ``last_use_median`` (on)
        [d], NaN where there is none or half of it was used before the record, and ``within_7``,
        ``within_30``, ``within_90`` (on): shares of the used part [-]; ``homes_last_month`` (on):
        molecules of the glass that were in a home within 30 days [-]. Member last where the record
        has it.

    Raises
    ------
    AskError
        If there is no such store, date or gate, or the store is empty then.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    The used part is what passed the gate in the record or, time unknown, before. The median is the
    first number of days within which half of the used part had its last use.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> op = operator(hl.simulate(hl.read_scenario("first_town")))
    >>> glass = time_since_use(op, "penhollow/mains", ["2031-08-15"], "home_use")
    >>> bool(glass.last_use_median[0] > 0)
    True
    """
    op = operator(op)
    ago = last_use(op, at=store, on=list(dates), gate=gate)
    share = ago["share"]
    used = share.sum("days_ago") + ago["before_record"]
    gathered = share.cumsum("days_ago") / used.where(used > 0)
    found = {
        "last_use_share": share,
        "last_use_never": ago["never"],
        "last_use_before_record": ago["before_record"],
        "last_use_unknown": ago["unknown"],
        "last_use_median": _median(gathered),
    }
    for days in WITHIN:
        found[f"within_{days}"] = _within(share, days) / used.where(used > 0)
    found["homes_last_month"] = _within(share, 30) * molecules_in_a_glass()
    return xr.Dataset({name: values.assign_attrs(_about(name)) for name, values in found.items()})


def _within(share: xr.DataArray, days: int) -> xr.DataArray:
    return share.isel(days_ago=np.flatnonzero(share["days_ago"].values <= days)).sum("days_ago")


def _median(gathered: xr.DataArray) -> xr.DataArray:
    """First day by which half of the used part had its last use."""
    reached = gathered >= 0.5 - 1e-12
    days = gathered["days_ago"].isel(days_ago=reached.argmax("days_ago"))
    return days.drop_vars("days_ago").astype(float).where(reached.any("days_ago"), np.nan)


def _about(name: str) -> dict[str, str]:
    words = {
        "last_use_share": "share of the glass by days since its last use",
        "last_use_never": "share of the glass that came into the record and was never used",
        "last_use_before_record": "share of the glass last used before it came into the record",
        "last_use_unknown": "share of the glass that stood in the record's first volumes",
        "last_use_median": "median time since the last use, of the used part",
        "homes_last_month": "molecules of the glass that were in a home within 30 days",
    }
    units = "d" if name == "last_use_median" else "1"
    said = f"share of the used part last used within {name.removeprefix('within_')} days"
    return {"units": units, "long_name": words.get(name, said)}
