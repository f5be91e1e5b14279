"""Results of many runs on disk: a folder of chunks, each whole or not there.

Chunks are classic NetCDF, which is quick to write in small files. Each is written under another
name and renamed when it is complete, so that a run that is killed leaves nothing half written and
the next one goes on with the chunks that are missing.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import InputError, OutputError, Problem
from hydroloop.record.netcdf import write_through
from hydroloop.whatif.job import Job
from hydroloop.whatif.season_table import side_by_side

FORMAT = 3
"""Version of the layout of the folder."""

MANIFEST = "manifest.json"
# What reading a file raises that is no whole classic NetCDF.
_DAMAGED = (OSError, ValueError, LookupError, TypeError, ArithmeticError, AttributeError)
_WORDS = {
    "hydroloop": "another version of hydroloop",
    "rules": "a hydroloop with other rules",
    "scenario": "another scenario, or other data files",
    "members": "another number of members",
    "asked": "other changes, ranges, seeds or use classes",
    "chunk": "chunks of another size",
}


class Store:
    """A folder that keeps the results of a job.

    Parameters
    ----------
    path : path
        The folder; it is made if it is not there.
    job : Job
        What is kept in it.

    Raises
    ------
    OutputError
        The folder cannot be written, or holds something else.
    InputError
        The folder holds the results of another job.
    """

    def __init__(self, path: str | os.PathLike[str], job: Job):
        self.path = Path(path)
        self.identity = {"format": FORMAT, **job.identity()}
        self.members = job.members
        if (self.path / MANIFEST).is_file():
            _same(self.path, read_manifest(self.path), self.identity)
            return
        with _said(self.path, "Name another folder."):
            self.path.mkdir(parents=True, exist_ok=True)
            strange = next((file.name for file in self.path.iterdir() if file.name[0] != "."), "")
            if strange:
                raise OutputError(f"{self.path}: holds {strange}, which is no part of kept runs. "
                                  "Name an empty folder.")
            about = {**self.identity, "title": job.scenario.title, "keys": list(job.keys),
                     "values": job.values.tolist()}
            _write_whole(self.path / MANIFEST, json.dumps(about, indent=1).encode())

    def done(self) -> set[int]:
        """First member of every chunk that is there."""
        return set(_chunks(self.path))

    def keep(self, first: int, table: xr.Dataset) -> None:
        """Write a chunk, whole or not at all.

        Parameters
        ----------
        first : int
            First member of the chunk.
        table : xarray.Dataset
            Its measures.

        Raises
        ------
        OutputError
            It cannot be written.
        """
        cure = f"{self.kept_words()} Make room and run the same again: it goes on from there."
        with _said(self.path, cure):
            _write_whole(self.path / _name(first), table.to_netcdf(engine="scipy"))

    def read(self, first: int) -> xr.Dataset:
        """Measures of one chunk.

        Parameters
        ----------
        first : int
            First member of the chunk.

        Returns
        -------
        xarray.Dataset
            As they were kept.
        """
        return _read_chunk(self.path / _name(first))

    def kept_words(self) -> str:
        """How much is kept, in words."""
        kept = sum(min(self.identity["chunk"], self.members - first) for first in self.done())
        return f"{kept:,} of {self.members:,} members are kept in {self.path}."


def read_store(path: str | os.PathLike[str]) -> xr.Dataset:
    """Results of many runs, read from the folder that keeps them.

    Parameters
    ----------
    path : path
        The folder.

    Returns
    -------
    xarray.Dataset
        Season measures with the members as last dim, and `drawn` (key, member), the values that
        each member has of the keys told apart, in held units.

    Raises
    ------
    InputError
        There are no kept runs, a member is missing, or a file is damaged.

    Examples
    --------
    >>> import tempfile
    >>> import hydroloop as hl
    >>> from hydroloop.whatif import changed_job, run_job
    >>> job = changed_job(hl.read_scenario("first_town"), [{}, {"weather.seed": 8}])
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = run_job(job, store=folder + "/runs")
    ...     kept = read_store(folder + "/runs")
    >>> kept.sizes["member"]
    2
    """
    folder = Path(path)
    about = read_manifest(folder)
    if about.get("format") != FORMAT:
        what = f"was written with layout {about.get('format')}; this hydroloop reads {FORMAT}."
        raise InputError(Problem(str(path), what, "Run it again into another folder."))
    files = _chunks(folder)
    missing = [first for first in range(0, about["members"], about["chunk"]) if first not in files]
    if missing:
        what = f"{len(missing)} of {len(missing) + len(files)} chunks are missing."
        raise InputError(Problem(str(path), what, "Run the same again: it goes on from there."))
    whole = side_by_side([_read_chunk(files[first]) for first in sorted(files)])
    return with_values(whole, about["keys"], np.array(about["values"], dtype=float))


def with_values(table: xr.Dataset, keys: list[str], values: np.ndarray) -> xr.Dataset:
    """A table with the values that its members have of some keys.

    Parameters
    ----------
    table : xarray.Dataset
        Season measures.
    keys : list of str
        Dotted keys.
    values : ndarray of shape (key, member)
        In held units.

    Returns
    -------
    xarray.Dataset
        With `drawn` (key, member), where there are keys.
    """
    if not len(keys):
        return table
    attrs = {"units": "1", "long_name": "values of keys, each in its inner unit"}
    return table.assign_coords(key=list(keys)).assign(drawn=(("key", "member"), values, attrs))


def read_manifest(folder: Path) -> dict[str, Any]:
    """What the folder of kept runs says of itself.

    Parameters
    ----------
    folder : path
        The folder.

    Returns
    -------
    dict
        The manifest.

    Raises
    ------
    InputError
        There is none, or it is damaged.
    """
    try:
        found = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputError(Problem(str(folder), "holds no kept runs.",
                                 "Name their folder.")) from None
    except (OSError, ValueError):
        raise InputError(Problem(f"{folder / MANIFEST}", "cannot be read.",
                                 "Run again into another folder.")) from None
    if not isinstance(found, dict):
        raise InputError(Problem(f"{folder / MANIFEST}", "is not a manifest.",
                                 "Run again into another folder."))
    if found.get("format") == FORMAT and not _is_complete(found):
        raise InputError(Problem(f"{folder / MANIFEST}", "is damaged.",
                                 "Run again into another folder."))
    return found


def _is_complete(manifest: dict[str, Any]) -> bool:
    """Whether all is there by which kept runs are known and read."""
    numbers = (manifest.get(name) for name in ("members", "chunk"))
    return (all(isinstance(one, int) and one > 0 for one in numbers)
            and all(isinstance(manifest.get(name), list) for name in ("keys", "values"))
            and manifest.keys() >= _WORDS.keys())


def _same(path: Path, found: dict[str, Any], wanted: dict[str, Any]) -> None:
    if found.get("format") != wanted["format"]:
        what = f"was written with layout {found.get('format')}, not {FORMAT}."
        raise InputError(Problem(str(path), what, "Name another folder."))
    differs = [words for name, words in _WORDS.items() if found.get(name) != wanted[name]]
    if differs:
        what = f"holds runs of {', and of '.join(differs)}: nothing was changed there."
        cure = "Name another folder"
        if found.get("hydroloop") != wanted["hydroloop"]:
            cure += f", or go on with hydroloop {found.get('hydroloop')}"
        raise InputError(Problem(str(path), what, f"{cure}."))


def _name(first: int) -> str:
    return f"members_{first:07d}.nc"


def _chunks(folder: Path) -> dict[int, Path]:
    """Chunks by their first member; files of other names are somebody else's."""
    numbers = {file.stem.removeprefix("members_"): file for file in folder.glob("members_*.nc")}
    return {int(number): numbers[number] for number in sorted(numbers) if number.isdecimal()}


def _read_chunk(file: Path) -> xr.Dataset:
    try:
        with xr.open_dataset(file, engine="scipy") as opened:
            return _as_made(opened.load())
    except _DAMAGED as error:
        raise InputError(Problem(str(file), "is damaged.", "Delete it and run the same again: "
                                 "only its members are run anew.")) from error


def _as_made(table: xr.Dataset) -> xr.Dataset:
    """Coordinates of the types that they were made with: classic NetCDF has no long numbers."""
    return table.assign_coords({
        str(name): (axis.dims, axis.values.astype(np.int64 if axis.dtype.kind == "i" else str))
        for name, axis in table.coords.items()})


def _write_whole(target: Path, content: bytes | memoryview) -> None:
    work = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        write_through(work, content)
        os.replace(work, target)
    finally:
        with suppress(OSError):
            work.unlink(missing_ok=True)


class _said:  # noqa: N801
    """Turns what the system says into one line."""

    def __init__(self, path: Path, cure: str):
        self.path, self.cure = path, cure

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: Any, error: Any, trace: Any) -> None:
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            words = (error.strerror or str(error)).lower()
            raise OutputError(f"{self.path}: cannot be written ({words}). {self.cure}") from error


def unfinished(folder: Path) -> Iterator[Path]:
    """Files that a killed run may have left under another name.

    Parameters
    ----------
    folder : path
        The folder.

    Yields
    ------
    pathlib.Path
        Files to be removed.
    """
    yield from folder.glob(".members_*.part")
