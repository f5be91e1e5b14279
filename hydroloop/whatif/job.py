"""A job: one scenario, and what each of its members changes in it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

import hydroloop
from hydroloop import __version__
from hydroloop.compiling import stamp
from hydroloop.scenario import Scenario
from hydroloop.scenario.sampling import changes_for, sampled
from hydroloop.waterworks.members import SharedForcing
from hydroloop.waterworks.simulate import weather_seeds
from hydroloop.whatif.block import block_size
from hydroloop.whatif.season_table import season_table, side_by_side

_CHUNKS = 32  # that a job is at least cut into: for all processes to end together, and little to
# repeat after a stop
_MOST = 128  # members of a chunk, which is a file


@dataclass(frozen=True, eq=False)
class Job:
    """Members to be run."""

    scenario: Scenario  # what all of them start from
    changes: tuple[dict[str, Any], ...]  # what each member changes, by dotted key
    seeds: tuple[int, ...] | None = None  # seed of each member's weather; None: the scenario's own
    most: int = 5  # highest use class
    keys: tuple[str, ...] = ()  # keys whose values are told apart below
    # value of each key for each member, in the held unit, shape (key, member)
    values: np.ndarray = field(default_factory=lambda: np.zeros((0, 0)))
    chunk: int = 64  # members that are run, kept and resumed together

    @property
    def members(self) -> int:
        """Number of members."""
        return len(self.changes)

    def chunks(self) -> Iterator[int]:
        """First member of each chunk."""
        yield from range(0, self.members, self.chunk)

    def size(self, first: int) -> int:
        """Number of members in the chunk that begins with a member."""
        return min(self.chunk, self.members - first)

    def identity(self) -> dict[str, Any]:
        """What must be the same for kept results to be these results."""
        asked = json.dumps([list(self.changes), self.seeds, self.most], default=str)
        return {
            "hydroloop": __version__,
            "rules": stamp(Path(hydroloop.__file__).parent.rglob("*.py")),
            "scenario": _digest(self.scenario.text.encode(), *_files(self)),
            "members": self.members,
            "asked": _digest(asked.encode()),
            "chunk": self.chunk,
        }


def drawn_job(
    scenario: Scenario,
    members: int,
    *,
    seed: int = 1,
    method: str = "latin_hypercube",
    most: int = 5,
) -> Job:
    """Members that draw from a scenario's ranges, and make their own weather where none is
    given."""
    drawn = sampled(scenario.ranges, members, seed=seed, method=method)
    keys = tuple(scenario.ranges)
    changes = tuple(changes_for(scenario, keys, row) for row in drawn)
    seeds = weather_seeds(scenario, members, seed)
    return Job(
        scenario,
        changes,
        None if seeds is None else tuple(seeds),
        most,
        keys,
        drawn.T,
        _chunk(scenario, members),
    )


def changed_job(scenario: Scenario, changes: Sequence[Mapping[str, Any]], *, most: int = 5) -> Job:
    """Members that make given changes, under the same weather."""
    return Job(
        scenario,
        tuple(dict(change) for change in changes),
        most=most,
        chunk=_chunk(scenario, len(changes)),
    )


def _chunk(scenario: Scenario, members: int) -> int:
    """Size of a job's chunks, in whole blocks."""
    block = block_size(scenario)
    return min(_MOST, max(1, -(-members // (_CHUNKS * block))) * block)


def run_chunk(job: Job, first: int, forcing: SharedForcing | None = None) -> xr.Dataset:
    """Season measures, as `season_table` gives them, of the members of one chunk; `forcing` keeps
    weather and inflow between chunks."""
    last = first + job.size(first)
    shared = forcing or SharedForcing()
    parts, block = [], block_size(job.scenario)
    for begin in range(first, last, block):
        end = min(begin + block, last)
        scenarios = [
            job.scenario.changed(change) if change else job.scenario
            for change in job.changes[begin:end]
        ]
        seeds = None if job.seeds is None else job.seeds[begin:end]
        parts.append(season_table(scenarios, seeds=seeds, most=job.most, forcing=shared))
    return side_by_side(parts).assign_coords(member=np.arange(first, last))


def _digest(*parts: bytes) -> str:
    found = hashlib.sha256()
    for part in parts:
        found.update(len(part).to_bytes(8, "little"))
        found.update(part)
    return found.hexdigest()


def _files(job: Job) -> Iterator[bytes]:
    """Contents of the data files that a job's scenario, or one of its changes, names."""
    names = dict.fromkeys(
        name for tables in (job.scenario.data, *job.changes) for name in _named(tables)
    )
    for name in names:
        path = Path(job.scenario.folder) / name
        if path.is_file():
            yield path.read_bytes()


def _named(tables: Mapping[str, Any]) -> Iterator[str]:
    """Values of all keys called file, dotted or not."""
    for key in sorted(tables):
        value = tables[key]
        if isinstance(value, Mapping):
            yield from _named(value)
        elif isinstance(value, str) and key.rpartition(".")[2] == "file":
            yield value
