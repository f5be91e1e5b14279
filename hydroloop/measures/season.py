"""Season values: means over the season, weighted by the water they stand for."""

from __future__ import annotations

import xarray as xr


def season_mean(daily: xr.DataArray, weight: xr.DataArray) -> xr.DataArray:
    """Mean over the season, weighted by volume.

    A litre counts the same on every day, so a dry week with little use weighs less. Where no water
    ran at all there is no mean, and the answer is nan.

    Parameters
    ----------
    daily : xarray.DataArray
        Values with the dim time.
    weight : xarray.DataArray
        Flow that each value stands for, (time) [m3/d].

    Returns
    -------
    xarray.DataArray
        The same without time, in the unit of `daily`.

    Notes
    -----
    sum(weight x value) / sum(weight), for steps of one length.

    Examples
    --------
    >>> import xarray as xr
    >>> share, flow = xr.DataArray([0.0, 1.0], dims="time"), xr.DataArray([3.0, 1.0], dims="time")
    >>> float(season_mean(share, flow))
    0.25
    """
    total = weight.sum("time")
    runs = weight > 0
    mean = (daily.where(runs, 0.0) * weight).sum("time") / total.where(total > 0)
    said = str(daily.attrs.get("long_name", ""))
    return mean.assign_attrs(units=daily.attrs.get("units", "1"), long_name=f"{said}, season")
