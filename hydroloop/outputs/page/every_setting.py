"""The runs that stand in the file: one for every setting of the dials, each made by the model."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import xarray as xr

from hydroloop.errors import InputError, Problem
from hydroloop.outputs.page.dials import Dial, Setting, dials_of, settings_of, taken
from hydroloop.outputs.page.frame import frame
from hydroloop.outputs.page.html import page_html
from hydroloop.outputs.page.numbers import in_steps
from hydroloop.outputs.page.payload import run_values, town_glasses
from hydroloop.processes import as_done, cores, worker_processes
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System
from hydroloop.waterworks import season_record

MOST_BYTES = 4_800_000
"""Most that the runs may take in the file, as text."""
_MOST_WORK = 25_000_000  # flows times steps times runs: more takes longer than a minute
_EVERY = (1, 2, 3, 5, 7, 10, 14, 21, 28)
_LEVEL = 7  # of packing, where the file is to be small

Told = Callable[[int, int], None]


@dataclass(frozen=True)
class Grid:
    """What stands in the file."""

    dials: tuple[Dial, ...]  # dials, with the positions that there is room for
    every: int  # every so manieth day is shown
    besides: tuple[int, ...] = ()  # steps that are shown too: each town's most-used day


def written_page(
    scenario: Scenario,
    system: System = "us",
    told: Told | None = None,
    *,
    dials: Sequence[Dial] | None = None,
) -> str:
    """The page as one file: every setting (by default of all dials that the scenario can have) is
    run; `told` is called with runs done and runs in all."""
    record = season_record(scenario)
    grid = _fitting(scenario, record, dials_of(scenario) if dials is None else dials)
    glass = town_glasses(scenario, record)
    grid = replace(grid, besides=tuple(one["most_used"] for one in glass.values()))
    settings = settings_of(grid.dials)
    runs = _run_all(scenario, grid, settings, told or (lambda done, total: None))
    around = frame(scenario, record, grid.dials, system) | _opened_at(glass)
    return page_html({**around, "runs": {"count": len(runs), "every": grid.every}}, runs=runs)


def opened_frame(
    scenario: Scenario, record: xr.Dataset, dials: Sequence[Dial], system: System = "us"
) -> dict[str, Any]:
    """What stands around the runs; the page opens with the town whose water was used most."""
    around = frame(scenario, record, dials, system)
    return around | _opened_at(town_glasses(scenario, record))


def _opened_at(glass: dict[str, dict[str, Any]]) -> dict[str, str]:
    used = {
        town: one["season_used"] for town, one in glass.items() if one["season_used"] is not None
    }
    return {"first_town": max(used, key=lambda town: used[town], default="")}


def packed(values: Any, level: int = _LEVEL) -> bytes:
    """A run as gzip, the same bytes for the same numbers."""
    text = json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return gzip.compress(text.encode(), level, mtime=0)


def _fitting(scenario: Scenario, record: xr.Dataset, dials: Sequence[Dial]) -> Grid:
    """The finest grid that fits: as many positions as can be, then as many days."""
    work = record.sizes["flow"] * record.sizes["time"]
    sizes: dict[int, float] = {}
    settings, ends = settings_of(dials), [(scenario, record)]
    if len(settings) > 1:
        last = taken(scenario, dials, settings[-1])
        ends.append((last, season_record(last)))
    while True:
        count = len(settings_of(dials))
        for every in _EVERY if count * work <= _MOST_WORK or count == 1 else ():
            if every not in sizes:
                # From the first setting to the last the runs need more room, about evenly.
                sizes[every] = (
                    sum(
                        len(packed(in_steps(run_values(one, every=every, record=ran))))
                        for one, ran in ends
                    )
                    / len(ends)
                    * 4
                    / 3
                )
            if count * sizes[every] <= MOST_BYTES:
                return Grid(tuple(dials), every)
        if count == 1:
            raise InputError(
                Problem(
                    "page",
                    "a single run of this scenario is too large for the page.",
                    "Run fewer years.",
                )
            )
        dials = _fewer(dials)


def _fewer(dials: Sequence[Dial]) -> list[Dial]:
    """The dials without the last position of that which has the most, the last of equals."""
    most = max(len(one.positions) for one in dials)
    at = max(k for k, one in enumerate(dials) if len(one.positions) == most)
    shorter = replace(dials[at], positions=dials[at].positions[:-1])
    return [one for one in (*dials[:at], shorter, *dials[at + 1 :]) if len(one.positions) > 1]


def _run_all(
    scenario: Scenario, grid: Grid, settings: Sequence[Setting], told: Told
) -> list[bytes]:
    with worker_processes(
        min(cores(), len(settings)), _begin, (scenario, grid), preload=(__name__,)
    ) as pool:
        running = [pool.submit(_one, setting) for setting in settings]
        for done, _ in enumerate(as_done(running), 1):
            told(done, len(running))
        return [one.result() for one in running]


_given: list[tuple[Scenario, Grid]] = []


def _begin(scenario: Scenario, grid: Grid) -> None:
    _given.append((scenario, grid))


def _one(setting: Setting) -> bytes:
    scenario, grid = _given[-1]
    changed = taken(scenario, grid.dials, setting)
    return packed(in_steps(run_values(changed, every=grid.every, besides=grid.besides)))
