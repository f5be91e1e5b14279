"""Season values: means over the season, weighted by the water they stand for."""

from __future__ import annotations

import xarray as xr


def season_mean(daily: xr.DataArray, volume: xr.DataArray) -> xr.DataArray:
    """Mean over the season, weighted by volume.

    A litre counts the same on every day, so a dry week with little use weighs less. Where no water
    ran at all there is no mean, and the answer is NaN.

    Parameters
    ----------
    daily : xarray.DataArray
        Values with the dim time.
    volume : xarray.DataArray
        Water that each value stands for, (time) [m3].

    Returns
    -------
    xarray.DataArray
        The same without time, in the unit of `daily`.

    Notes
    -----
    sum(volume x value) / sum(volume), over the steps in which the value is known.

    Examples
    --------
    >>> import xarray as xr
    >>> share, water = xr.DataArray([0.0, 1.0], dims="time"), xr.DataArray([3.0, 1.0], dims="time")
    >>> float(season_mean(share, water))
    0.25
    """
    counts = volume.where((volume > 0) & daily.notnull(), 0.0)
    total = counts.sum("time")
    mean = (daily.fillna(0.0) * counts).sum("time") / total.where(total > 0)
    said = str(daily.attrs.get("long_name", ""))
    return mean.assign_attrs(units=daily.attrs.get("units", "1"), long_name=f"{said}, season")
