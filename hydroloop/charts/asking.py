"""Finding the town and the day that a picture is asked for, in a table of measures."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.gates import USUAL, Use, words_of
from hydroloop.record import nearest


def of_town(table: xr.Dataset, town: str) -> xr.Dataset:
    """The measures of one town; of an ensemble, the mean over its members."""
    towns = [str(name) for name in np.atleast_1d(table["town"].values)] if "town" in table else []
    if town not in towns:
        cure = nearest(town, towns) or f"Towns are {', '.join(towns) or 'none'}."
        raise AskError(Problem("town", f'there is no town "{town}".', cure))
    return mean_member(table).sel(town=town)


def mean_member(table: xr.Dataset) -> xr.Dataset:
    """Mean over the members: shares stay shares and accounts stay closed, which medians do not."""
    if "member" not in table.dims:
        return table
    numbers = {name for name, array in table.data_vars.items() if array.dtype.kind in "fiu"}
    means = table[sorted(map(str, numbers))].mean("member", keep_attrs=True)
    return means.merge(table.drop_vars(numbers).isel(member=0, drop=True, missing_dims="ignore"))


def step_of(table: xr.Dataset, date: Any) -> int:
    """Step of the table that contains a date."""
    time = table["time"].values.astype("datetime64[ns]")
    try:
        day = np.datetime64(str(date).replace(" ", "T")).astype("datetime64[ns]")
    except ValueError as error:
        what = f'"{date}" is no date.'
        raise AskError(Problem("date", what, "Write it as 2031-05-01.")) from error
    step = time[1] - time[0] if len(time) > 1 else np.timedelta64(1, "D")
    if not time[0] <= day < time[-1] + step:
        first, last = (np.datetime_as_string(time[k], "D") for k in (0, -1))
        what = f"{date} lies outside the season."
        raise AskError(Problem("date", what, f"Choose a date from {first} to {last}."))
    return int(np.searchsorted(time, day, side="right")) - 1


def use_classes(shares: xr.DataArray, most: int = 5) -> np.ndarray:
    """Shares by use class along the last axis, classes above `most` gathered in the last one."""
    values = shares.transpose(..., "use").values
    if values.shape[-1] <= most + 1:
        return values
    return np.concatenate(
        [values[..., :most], values[..., most:].sum(axis=-1, keepdims=True)], axis=-1
    )


def number(table: xr.Dataset, name: str) -> float:
    """A measure as a plain number; NaN where the table does not have it."""
    return float(table[name]) if name in table else float("nan")


def use_of(table: xr.Dataset) -> Use:
    """Words for what counts as a use in a table of measures."""
    return words_of(str(table.attrs.get("gate", USUAL)))
