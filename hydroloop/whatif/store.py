"""Results of many runs on disk: a folder of chunks, each whole or not there.

Chunks are classic NetCDF, which is quick to write in small files. Each is written under another
name and renamed when it is complete, so that a run that is killed leaves nothing half written and
the next one goes on with the chunks that are missing. Each ends in a seal, which is that of its
members in its job: one that was damaged, or put in the place of another, is run again.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import HydroloopWarning, InputError, OutputError, Problem
from hydroloop.files.file import replace_file
from hydroloop.files.seal import sealed, unsealed
from hydroloop.files.unfinished import is_locked, locked, remove, words_of
from hydroloop.whatif.job import Job
from hydroloop.whatif.season_table import side_by_side

FORMAT = 4
"""Version of the layout of the folder."""

MANIFEST = "manifest.json"
_HALF = re.compile(r"\.(manifest\.json|members_\d+\.nc)-hydroloop-[0-9a-f]{16}-unfinished")
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
    """A folder that keeps the results of one job, and refuses those of another."""

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
                raise OutputError(
                    f"{self.path}: holds {strange}, which is no part of kept runs. "
                    "Name an empty folder."
                )
            about = {
                **self.identity,
                "title": job.scenario.title,
                "keys": list(job.keys),
                "values": job.values.tolist(),
            }
            text = json.dumps({**about, "digest": _digest(about)}, indent=1)
            replace_file(self.path / MANIFEST, text.encode())

    @contextmanager
    def held(self) -> Iterator[None]:
        """Keep others from writing there; what a killed run left half written goes."""
        if is_locked(self.path):
            raise OutputError(
                f"{self.path}: another run is writing there. Wait until it is done, "
                "or name another folder."
            )
        with locked(self.path):
            for file in self.path.iterdir():
                if _HALF.fullmatch(file.name):
                    remove(file)
            yield

    def done(self) -> set[int]:
        """First member of every chunk that is there and whole; one that is not is said."""
        found = set()
        for first, file in _chunks(self.path).items():
            try:
                _content(file, first, self.identity)
                found.add(first)
            except InputError:
                warnings.warn(
                    f"{file}: is damaged, or belongs to another run: its members are run again.",
                    HydroloopWarning,
                    stacklevel=3,
                )
        return found

    def keep(self, first: int, table: xr.Dataset) -> None:
        """Write a chunk, by its first member, whole or not at all."""
        cure = f"{self.kept_words()} Make room and run the same again: it goes on from there."
        with _said(self.path, cure):
            content = bytes(table.to_netcdf(engine="scipy"))
            replace_file(
                self.path / _name(first), sealed(content, ".nc", _about(first, self.identity))
            )

    def read(self, first: int) -> xr.Dataset:
        """Measures of one chunk."""
        return _read_chunk(self.path / _name(first), first, self.identity)

    def kept_words(self) -> str:
        """How much is kept, in words."""
        kept = sum(
            min(self.identity["chunk"], self.members - first)
            for first in _chunks(self.path)
            if first < self.members
        )
        return f"{kept:,} of {self.members:,} members are kept in {self.path}."


def read_store(path: str | os.PathLike[str]) -> xr.Dataset:
    """Results of many runs from the folder that keeps them: season measures with the members as
    last dim, and `drawn` (key, member), the values of the keys told apart in held units."""
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
    whole = side_by_side(
        [
            _read_chunk(files[first], first, about)
            for first in range(0, about["members"], about["chunk"])
        ]
    )
    return with_values(whole, about["keys"], np.array(about["values"], dtype=float))


def with_values(table: xr.Dataset, keys: list[str], values: np.ndarray) -> xr.Dataset:
    """A table with `drawn` (key, member), where there are keys, in held units."""
    if not len(keys):
        return table
    attrs = {"units": "1", "long_name": "values of keys, each in its inner unit"}
    return table.assign_coords(key=list(keys)).assign(drawn=(("key", "member"), values, attrs))


def read_manifest(folder: Path) -> dict[str, Any]:
    """What the folder of kept runs says of itself."""
    try:
        found = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputError(
            Problem(str(folder), "holds no kept runs.", "Name their folder.")
        ) from None
    except (OSError, ValueError, RecursionError):
        raise InputError(
            Problem(f"{folder / MANIFEST}", "cannot be read.", "Run again into another folder.")
        ) from None
    if not isinstance(found, dict):
        raise InputError(
            Problem(f"{folder / MANIFEST}", "is not a manifest.", "Run again into another folder.")
        )
    if found.get("format") == FORMAT and not _is_complete(found):
        raise InputError(
            Problem(f"{folder / MANIFEST}", "is damaged.", "Run again into another folder.")
        )
    return found


def _is_complete(manifest: dict[str, Any]) -> bool:
    """Whether all is there by which kept runs are known and read."""
    numbers = (manifest.get(name) for name in ("members", "chunk"))
    return (
        manifest.get("digest")
        == _digest({name: value for name, value in manifest.items() if name != "digest"})
        and all(isinstance(one, int) and one > 0 for one in numbers)
        and all(isinstance(manifest.get(name), list) for name in ("keys", "values"))
        and manifest.keys() >= _WORDS.keys()
    )


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


def _digest(about: Mapping[str, Any]) -> str:
    """By which a manifest shows that it is as it was written."""
    return hashlib.sha256(json.dumps(about, sort_keys=True).encode()).hexdigest()


def _about(first: int, identity: Mapping[str, Any]) -> str:
    """What a chunk's seal stands for: its place among the members of this job, and of no other."""
    return json.dumps([first, *(identity[name] for name in sorted(_WORDS))])


def _content(file: Path, first: int, identity: Mapping[str, Any]) -> bytes:
    whole = file.read_bytes() if file.is_file() else b""
    found = unsealed(whole, ".nc", _about(first, identity))
    if found is None:
        raise InputError(
            Problem(
                str(file),
                "is damaged, or belongs to another run.",
                "Run the same again: only its members are run anew.",
            )
        )
    return found


def _read_chunk(file: Path, first: int, identity: Mapping[str, Any]) -> xr.Dataset:
    content = _content(file, first, identity)
    try:
        with xr.open_dataset(io.BytesIO(content), engine="scipy") as opened:
            return _as_made(opened.load())
    except _DAMAGED as error:
        raise InputError(
            Problem(
                str(file),
                "cannot be read.",
                "Delete it and run the same again: only its members are run anew.",
            )
        ) from error


def _as_made(table: xr.Dataset) -> xr.Dataset:
    """Coordinates of the types that they were made with: classic NetCDF has no long numbers."""
    return table.assign_coords(
        {
            str(name): (axis.dims, axis.values.astype(np.int64 if axis.dtype.kind == "i" else str))
            for name, axis in table.coords.items()
        }
    )


class _said:  # noqa: N801
    """Turns what the system says into one line."""

    def __init__(self, path: Path, cure: str):
        self.path, self.cure = path, cure

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: Any, error: Any, trace: Any) -> None:
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            raise OutputError(
                f"{self.path}: cannot be written ({words_of(error)}). {self.cure}"
            ) from error
