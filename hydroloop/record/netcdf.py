"""Keep a water record in a NetCDF file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import Problem, RecordError, TableError
from hydroloop.files.file import check_free_file, write_file
from hydroloop.record.check import check_record

_CLOCK: dict[str, Any] = {
    "units": "microseconds since 1970-01-01",
    "calendar": "proleptic_gregorian",
    "dtype": "int64",
}


def save_netcdf(
    table: xr.Dataset,
    path: str | os.PathLike[str],
    *,
    encoding: dict[str, dict[str, Any]] | None = None,
    force: bool = False,
) -> Path:
    """Write a table to a NetCDF file by way of memory.

    On a disk that is full the NetCDF library can neither write nor close its file, and brings the
    whole program down. Bytes that do not fit are an error like any other.

    Parameters
    ----------
    table : xarray.Dataset
        Any table.
    path : path
        File to write.
    encoding : dict of dict, optional
        How each variable is written, as xarray takes it.
    force : bool
        Replace a file that hydroloop wrote there and nobody changed.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        The file is there already, or cannot be written.
    """
    check_free_file(path, force=force)
    return write_file(path, table.to_netcdf(engine="h5netcdf", encoding=encoding), force=force)


def write_record(record: xr.Dataset, path: str | os.PathLike[str], *, force: bool = False) -> Path:
    """Write a water record to a NetCDF file, whole or not at all.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    path : path
        File to write.
    force : bool
        Replace a file that hydroloop wrote there and nobody changed.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    OutputError
        The file is there already, or cannot be written.
    RecordError
        The record breaks its own rules.

    Examples
    --------
    >>> import tempfile
    >>> from hydroloop.record import Network, build_record, read_record
    >>> lake = Network(["lake"], ["rain"], ["lake"], ["rain"])
    >>> record = build_record(lake, ["2031-01-01", "2031-01-02"], [[0.0], [5.0]], [[5.0]])
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = write_record(record, f"{folder}/lake.nc")
    ...     read_record(file).identical(record)
    True
    """
    check_record(record)
    # Attributes of the time axes belong to the encoding while the file is written.
    encoding: dict[str, dict[str, Any]] = {name: dict(_CLOCK) for name in ("time", "edge")}
    encoding |= {
        str(name): {"zlib": True, "complevel": 1}
        for name, data in record.data_vars.items()
        if data.dtype.kind in "fi" and data.ndim
    }
    return save_netcdf(record, path, encoding=encoding, force=force)


def read_record(path: str | os.PathLike[str]) -> xr.Dataset:
    """Read a water record from a NetCDF file.

    Parameters
    ----------
    path : path
        File that `write_record` wrote.

    Returns
    -------
    xarray.Dataset
        The record, equal to what was written.

    Raises
    ------
    TableError
        There is no such file, or it holds no water record.

    Examples
    --------
    >>> read_record("no_such_lake.nc")
    Traceback (most recent call last):
    ...
    hydroloop.errors.TableError: no_such_lake.nc: there is no such file. Check the path.
    """
    source = Path(path)
    if not source.is_file():
        raise TableError(Problem(str(source), "there is no such file.", "Check the path."))
    try:
        with xr.open_dataset(source, engine="h5netcdf") as opened:
            record = opened.load()
        record = _as_written(record)
        check_record(record)
    except (OSError, ValueError, KeyError) as error:
        what = str(error) if isinstance(error, RecordError) else "holds no water record."
        cure = "Write it with hydroloop.write_record."
        raise TableError(Problem(str(source), what, cure)) from error
    return record


def _as_written(record: xr.Dataset) -> xr.Dataset:
    """Texts as arrays of str and instants in nanoseconds, as a new record has them."""
    changed = {}
    for name, data in record.variables.items():
        if data.dtype.kind in "OUT":
            changed[name] = (data.dims, data.values.astype(str), data.attrs)
        elif data.dtype.kind == "M":
            changed[name] = (data.dims, data.values.astype("datetime64[ns]"), data.attrs)
    record = record.assign({k: v for k, v in changed.items() if k in record.data_vars})
    record = record.assign_coords({k: v for k, v in changed.items() if k in record.coords})
    for variable in record.variables.values():
        variable.encoding.clear()
    record.encoding.clear()
    # A NetCDF file hands whole numbers back as numpy scalars.
    plain = ((k, v.item() if isinstance(v, np.generic) else v) for k, v in record.attrs.items())
    record.attrs = dict(plain)
    return record
