"""Records in NetCDF files that were damaged, or that another program wrote in another way.

Each is refused in words within ten seconds, or read as it was. What is read of a file without a
seal must close, for there nothing else can tell a changed value. The long form, which counts:

    PYTHONPATH=tests python tests/damaged_records.py 500
"""

from __future__ import annotations

import os
import random
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import xarray as xr
from conserves import assert_closes
from random_records import random_record

from hydroloop.errors import RecordError
from hydroloop.record import netcdf, read_record, write_record

MOST_SECONDS = 10.0


def damaged(content: bytes, chance: random.Random) -> tuple[str, bytes]:
    """A name for the damage, and a file's bytes with it."""
    data, size = bytearray(content), len(content)
    place, other = chance.randrange(size), chance.randrange(size)
    kind = chance.choice(["bits", "zeros", "cut", "exchanged", "more", "head", "tail", "twice"])
    if kind == "bits":
        for _ in range(chance.randint(1, 20)):
            data[chance.randrange(size)] ^= 1 << chance.randrange(8)
    elif kind == "zeros":
        data[place : place + 64] = bytes(len(data[place : place + 64]))
    elif kind == "cut":
        del data[place:]
    elif kind == "exchanged":
        data[place : place + 32], data[other : other + 32] = (
            data[other : other + 32],
            data[place : place + 32],
        )
    elif kind == "more":
        data[place:place] = chance.randbytes(16)
    elif kind == "head":  # where the library keeps what it needs to know of the file
        for _ in range(4):
            data[chance.randrange(2048)] = chance.randrange(256)
    elif kind == "tail":
        data += chance.randbytes(chance.randint(1, 200))
    else:
        data += bytes(data)
    return kind, bytes(data)


def _odd_dims(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    name = chance.choice(["volume", "rate", "source", "kind", "place"])
    data = record[name]
    other = chance.choice(
        [
            data.T,
            data.isel({data.dims[0]: 0}, drop=True),
            data.rename({data.dims[0]: "row"}).drop_vars("row", errors="ignore"),
            data.expand_dims(member=2),
            data.isel({data.dims[0]: slice(0)}),
        ]
    )
    return record.drop_vars(name).assign({name: (other.dims, other.values)})


def _odd_dtype(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    name = chance.choice(["volume", "rate", "time", "edge", "store", "source", "target", "kind"])
    data = record[name]
    values = np.zeros(data.shape, chance.choice(["f4", "f8", "i1", "u8", "?", "S3", "U3"]))
    return (
        record.assign({name: (data.dims, values)})
        if name in record.data_vars
        else (record.assign_coords({name: (data.dims, values)}))
    )


def _odd_values(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    name = chance.choice(["volume", "rate"])
    values = record[name].values.copy()
    values.flat[chance.randrange(values.size)] = chance.choice(
        [np.nan, np.inf, -1.0, 1e300, 1e-300, 7.0]
    )
    return record.assign({name: (record[name].dims, values, record[name].attrs)})


def _odd_names(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    name = chance.choice(["store", "flow", "source", "target", "kind", "place", "role"])
    values = record[name].values.astype(object)
    values[chance.randrange(len(values))] = chance.choice(
        ["", "x" * 9000, values[0], "downstream", "\x1b[31m", "nowhere", "lake\nlake"]
    )
    held = (record[name].dims, values.astype(str))
    return (
        record.assign_coords({name: held})
        if name in record.coords
        else (record.assign({name: held}))
    )


def _odd_attributes(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    name = chance.choice(
        [
            "scale_factor",
            "add_offset",
            "_FillValue",
            "units",
            "calendar",
            "coordinates",
            "missing_value",
            "dtype",
            "warm_up",
        ]
    )
    value = chance.choice([0, -1.0, 3.0, "x", "days since 2031-01-01", "volume rate", np.zeros(3)])
    where = chance.choice(["volume", "rate", "time", ""])
    record = record.copy()
    (record[where] if where else record).attrs[name] = value
    return record


def _odd_times(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    name = chance.choice(["time", "edge"])
    values = record[name].values.copy()
    chance.choice(
        [
            lambda: values.__setitem__(0, np.datetime64("NaT")),
            lambda: values.__setitem__(slice(None), values[::-1].copy()),
            lambda: values.__setitem__(slice(None), values[0]),
            lambda: values.__setitem__(-1, np.datetime64("2262-01-01", "ns")),
        ]
    )()
    return record.assign_coords({name: (record[name].dims, values)})


def _without(record: xr.Dataset, chance: random.Random) -> xr.Dataset:
    return record.drop_vars(chance.choice(sorted(map(str, record.variables))))


ODD: dict[str, Callable[[xr.Dataset, random.Random], xr.Dataset]] = {
    "dims": _odd_dims,
    "dtype": _odd_dtype,
    "values": _odd_values,
    "names": _odd_names,
    "attributes": _odd_attributes,
    "times": _odd_times,
    "without": _without,
}


def write_odd(path: Path, record: xr.Dataset, chance: random.Random) -> tuple[str, bool]:
    """A name for how it is odd, and whether it must be refused or be the record as it was."""
    kind = chance.choice(["own", "other", *ODD, "links", "shape"])
    if kind in ("own", "other"):
        path.unlink(missing_ok=True)
        write_record(record, path) if kind == "own" else record.to_netcdf(path, engine="h5netcdf")
        how, content = damaged(path.read_bytes(), chance)
        path.write_bytes(content)
        return f"{kind}, {how}", kind == "own"
    if kind in ("links", "shape"):
        record.to_netcdf(path, engine="h5netcdf")
        (_link if kind == "links" else _huge)(path, chance)
        return kind, kind == "links"
    while True:
        try:
            ODD[kind](record, chance).to_netcdf(path, engine="h5netcdf")
        except Exception:  # what cannot be made or written is no case
            kind = chance.choice(list(ODD))
            continue
        return kind, False


def _link(path: Path, chance: random.Random) -> None:
    """A part of the file that lies elsewhere, or nowhere."""
    import h5py

    elsewhere = path.with_name("elsewhere.nc")
    with h5py.File(elsewhere, "w") as file:
        file["volume"] = np.zeros((9, 6))
    with h5py.File(path, "a") as file:
        name = chance.choice(["volume", "rate", "kind", "more"])
        if name in file:
            del file[name]
        file[name] = chance.choice(
            [
                h5py.ExternalLink(str(elsewhere), "/volume"),
                h5py.SoftLink("/volume"),
                h5py.ExternalLink("/dev/zero", "/"),
                h5py.SoftLink("/nowhere"),
                h5py.ExternalLink(str(path), f"/{name}"),
                h5py.SoftLink(f"/{name}"),
            ]
        )


def _huge(path: Path, chance: random.Random) -> None:
    """A variable that declares far more than the file holds."""
    import h5py

    with h5py.File(path, "a") as file:
        name = chance.choice(["volume", "rate", "more"])
        if name in file:
            del file[name]
        rows = 10 ** chance.randint(5, 17)
        file.create_dataset(name, (rows, 6), chance.choice(["f8", "i1", "S200"]), chunks=(1000, 1))


def fault_of(path: Path, record: xr.Dataset, must_be_same: bool) -> tuple[str, str]:
    """What came of reading a file, and what is wrong with that; empty where nothing is."""
    begun = time.process_time()
    try:
        again = read_record(path)
        assert_closes(again, 1e-9)
    except RecordError as error:
        told = str(error)
        fault = "" if told.isprintable() and len(told) < 1500 else f"told badly: {told[:300]!r}"
        came = "refused"
    except Exception as error:  # whatever it is, it is counted
        came, fault = "raised", f"{type(error).__name__}: {str(error)[:200]}"
    else:
        same = all(
            np.array_equal(again[name].values, record[name].values)
            for name in ("volume", "rate", "source", "target", "kind")
        )
        came = "as it was" if same else "other values"
        fault = "changed, and taken" if must_be_same and not same else ""
    seconds = time.process_time() - begun
    return came, fault or (f"took {seconds:.0f} s" if seconds > MOST_SECONDS else "")


def fault_in_a_copy(path: Path, record: xr.Dataset, must_be_same: bool) -> tuple[str, str]:
    """The same, read in a copy of this process, which may hang or break down.

    `read_record` begins a process for each file without a seal, which takes a second or two. Here
    the copy is that process; where it ends badly, the file is given to `read_record` itself.
    """
    with Path(path.with_suffix(".told")).open("w+") as told:
        if (copy := os.fork()) == 0:
            resource.setrlimit(resource.RLIMIT_CPU, (int(MOST_SECONDS),) * 2)
            netcdf.try_apart = lambda _: ""
            print(*fault_of(path, record, must_be_same), sep="|", end="", file=told, flush=True)
            os._exit(0)
        _, ended = os.waitpid(copy, 0)
        told.seek(0)
        came, _, fault = told.read().partition("|")
    return fault_of(path, record, must_be_same) if ended or not came else (came, fault)


def faults(count: int, seed: int, folder: Path, look: Callable[..., tuple[str, str]]) -> list[str]:
    """What was answered wrongly of so many odd files; in the end, how many came to what."""
    chance, found, wrong = random.Random(seed), Counter(), []
    record = random_record(4)
    for number in range(count):
        kind, must_be_same = write_odd(folder / "odd.nc", record, chance)
        came, fault = look(folder / "odd.nc", record, must_be_same)
        found[came] += 1
        if fault:
            wrong.append(f"{number} ({kind}): {fault}")
            print(wrong[-1], flush=True)
        if number % 50 == 49:
            print(f"-- {number + 1} tried: {dict(found)}", flush=True)
    print(f"{count} tried: {dict(found)}; {len(wrong)} answered wrongly")
    return wrong


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        sys.exit(bool(faults(int(sys.argv[1]), 1, Path(place), fault_in_a_copy)))
