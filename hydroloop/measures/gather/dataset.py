"""One labelled table from arrays by name: dims, units and words are those of the glossary."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.glossary import term

_COORDS = {
    "time": "start of the step",
    "days_ago": "days since the last use",
    "days_before": "days since the last use",
    "days_between": "days under way",
    "glass": "start of the step in which the glass is drawn",
}


class Found:
    """Measures as plain arrays by name, the member last, and the coordinates of their dims."""

    def __init__(
        self,
        values: Mapping[str, np.ndarray] | None = None,
        coords: Mapping[str, Any] | None = None,
        attrs: Mapping[str, Any] | None = None,
    ):
        self.values, self.coords = dict(values or {}), dict(coords or {})
        self.attrs = dict(attrs or {})

    def __or__(self, other: Found) -> Found:
        return Found(
            self.values | other.values, self.coords | other.coords, self.attrs | other.attrs
        )

    def __getitem__(self, name: str) -> np.ndarray:
        return self.values[name]

    def __contains__(self, name: str) -> bool:
        return name in self.values


def dataset_of(found: Found, members: xr.DataArray | None, attrs: Mapping[str, Any]) -> xr.Dataset:
    """Label measures.

    Parameters
    ----------
    found : Found
        Arrays, by names that the glossary has.
    members : xarray.DataArray or None
        Coordinate of the members; without it the member falls away.
    attrs : mapping
        Attributes of the table.

    Returns
    -------
    xarray.Dataset
        Each variable with the dims, unit and meaning of its row in the glossary.

    Raises
    ------
    KeyError
        The glossary has no row for a measure.
    """
    variables = {
        name: _variable(name, values, members is not None) for name, values in found.values.items()
    }
    coords: dict[str, Any] = {}
    for name, values in found.coords.items():
        dim = name if not isinstance(values, tuple) else values[0]
        plain = values if not isinstance(values, tuple) else values[1]
        said = {"units": "d"} if name.startswith("days_") else {}
        said |= {"long_name": _COORDS[name]} if name in _COORDS else {}
        coords[name] = (dim, plain, said)
    if members is not None:
        coords["member"] = members
    return xr.Dataset(variables, coords, dict(attrs))


def _variable(name: str, values: np.ndarray, has_members: bool) -> xr.Variable:
    row = term(name)
    dims = tuple((row.dims or "").split())
    said = {"units": row.units, "long_name": row.meaning}
    if values.dtype.kind == "M":
        del said["units"]
    if values.ndim > len(dims):
        dims, values = ((*dims, "member"), values) if has_members else (dims, values[..., 0])
    return xr.Variable(dims, np.asarray(values, order="C"), said, fastpath=True)
