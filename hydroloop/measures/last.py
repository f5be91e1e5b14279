"""Time since the last use of the water in a glass, and the glass itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, last_use

GLASS_ML = 250.0
_AVOGADRO = 6.02214076e23  # per mol, exact by the definition of the mole (SI Brochure 2019)
_GRAM_PER_MOL = 18.015  # of water (IUPAC atomic weights: 2 x 1.008 + 15.999)
_GRAM_PER_ML = 0.998  # of water at 20 degrees Celsius (from memory)
_WITHIN = (7, 30, 90)


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


def time_since_use(op: Operator, store: str, dates: Sequence[Any], gate: Any) -> xr.Dataset:
    """Time since the last use of the water in a glass.

    How long ago the used part of the glass last went through a home. Early in a record much of it
    is unknown, which is said.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    store : str
        Store that the glass is drawn from.
    dates : sequence of datetime
        Dates of the glasses.
    gate : str, sequence of str, or boolean mask
        What counts as a use.

    Returns
    -------
    xarray.Dataset
        `last_use_share` (on, days_ago), `last_use_never`, `last_use_before_record`,
        `last_use_unknown` (on) [-], `last_use_median` (on) [d] of the part with a known last use,
        nan where there is none, and `within_7`, `within_30`, `within_90` (on): shares of that part
        [-]; `homes_last_month` (on): molecules of the glass that were in a home within 30 days [-].
        Member last where the record has it.

    Raises
    ------
    AskError
        If there is no such store, date or gate, or the store is empty then.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> op = operator(hl.simulate(hl.read_scenario("first_town")))
    >>> glass = time_since_use(op, "penhollow/mains", ["2031-08-15"], "home_use")
    >>> bool(glass.last_use_median[0] > 0)
    True
    """
    ago = last_use(op, at=store, on=list(dates), gate=gate)
    share = ago["share"]
    known = share.sum("days_ago")
    gathered = share.cumsum("days_ago") / known.where(known > 0)
    found = {
        "last_use_share": share,
        "last_use_never": ago["never"],
        "last_use_before_record": ago["before_record"],
        "last_use_unknown": ago["unknown"],
        "last_use_median": _median(gathered, known),
    }
    for days in _WITHIN:
        within = gathered.sel(days_ago=gathered["days_ago"] < days)
        found[f"within_{days}"] = within.isel(days_ago=-1, drop=True)
    month = share.sel(days_ago=share["days_ago"] < 30).sum("days_ago")
    found["homes_last_month"] = month * molecules_in_a_glass()
    return xr.Dataset({name: values.assign_attrs(_about(name)) for name, values in found.items()})


def _median(gathered: xr.DataArray, known: xr.DataArray) -> xr.DataArray:
    """First day by which half of the known part had its last use."""
    reached = gathered >= 0.5
    days = gathered["days_ago"].isel(days_ago=reached.argmax("days_ago"))
    return days.drop_vars("days_ago").astype(float).where(known > 0, np.nan)


def _about(name: str) -> dict[str, str]:
    words = {
        "last_use_share": "share of the glass by days since its last use",
        "last_use_never": "share of the glass that entered the map and was never used since",
        "last_use_before_record": "share of the glass last used above the map",
        "last_use_unknown": "share of the glass that stood in the first volumes",
        "last_use_median": "median time since the last use, of the used part",
        "homes_last_month": "molecules of the glass that were in a home within 30 days",
    }
    units = "d" if name == "last_use_median" else "1"
    days = name.removeprefix("within_")
    said = f"share of the used part last used less than {days} days ago"
    return {"units": units, "long_name": words.get(name, said)}
