"""Keep a water record in a NetCDF file."""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import InputError, RecordError
from hydroloop.files.file import check_free_file, write_file
from hydroloop.files.seal import has_seal, unsealed
from hydroloop.opening import file_bytes
from hydroloop.record.check import check_record
from hydroloop.record.foreign import LARGEST_BYTES, check_contents, try_apart
from hydroloop.units import one_line

_SIGNATURE = b"\x89HDF\r\n\x1a\n"
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
    whole program down. Bytes that do not fit are an error like any other."""
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

    A file that was changed since `write_record` wrote it is refused: it ends in a seal, a digest of
    itself. In a file of another program a wrong value is found only where it breaks the account.
    Links to other files are not followed.

    Parameters
    ----------
    path : path
        File that `write_record` wrote, or another that holds the same variables.

    Returns
    -------
    xarray.Dataset
        The record, equal to what was written.

    Raises
    ------
    RecordError
        There is no such file, it holds no water record, or it was changed.

    Examples
    --------
    >>> read_record("no_such_lake.nc")
    Traceback (most recent call last):
    ...
    hydroloop.errors.RecordError: no_such_lake.nc: there is no such file. Check the path.
    """
    content, is_ours = content_of(path)
    if not is_ours and (why := try_apart(str(Path(path).absolute()))):
        raise RecordError(f"{one_line(str(path), 200)}: {one_line(why, 1000)}")
    try:
        return record_in(content)
    except RecordError as error:
        why = one_line(str(error), 1000)
        raise RecordError(
            f"{one_line(str(path), 200)}: {why}", store=error.store, date=error.date, gap=error.gap
        ) from error


def content_of(path: str | os.PathLike[str]) -> tuple[bytes, bool]:
    """Bytes of a record's file without their seal, and whether there is one, which fits."""
    try:
        content = file_bytes(path, LARGEST_BYTES, "a record")
    except InputError as error:
        raise RecordError(str(error)) from None
    name = one_line(str(path), 200)
    if not content.startswith(_SIGNATURE):
        raise RecordError(f"{name}: holds no water record. Write it with hydroloop.write_record.")
    if not has_seal(content):
        return content, False
    if (body := unsealed(content, ".nc")) is None:
        raise RecordError(
            f"{name}: was changed or damaged after it was written. Run the scenario "
            "again, or take another copy."
        )
    return body, True


def record_in(content: bytes) -> xr.Dataset:
    """The record that a file's bytes hold; RecordError where they hold none."""
    import h5py

    cure = "Write it with hydroloop.write_record."
    try:
        with h5py.File(io.BytesIO(content), "r") as file:
            check_contents(file)
    except Exception as error:
        what = str(error) if isinstance(error, ValueError) else "holds no water record."
        raise RecordError(f"{one_line(what, 300)} {cure}") from error
    try:
        with xr.open_dataset(io.BytesIO(content), engine="h5netcdf") as opened:
            record = opened.load()
        record = _as_written(record)
        check_record(record)
    except RecordError:
        raise
    except Exception as error:  # the library has many names for a file that is not well
        raise RecordError(f"holds no water record. {cure}") from error
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
