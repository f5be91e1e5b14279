"""Sweep: a grid over any keys, to measures with those keys as dims."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from os import PathLike
from typing import Any

import numpy as np
import xarray as xr

from hydroloop import units
from hydroloop.arguments import check_scenario
from hydroloop.errors import InputError, Problem, ScenarioError
from hydroloop.placenames import with_names
from hydroloop.scenario import Scenario
from hydroloop.scenario.changing import scaled_values
from hydroloop.scenario.tree import find
from hydroloop.whatif.job import changed_job
from hydroloop.whatif.running import Progress, run_job

MOST_POINTS = 200_000
"""Points of a grid."""


def sweep(
    scenario: Scenario,
    values: Mapping[str, Sequence[Any]],
    *,
    factors: Mapping[str, Sequence[float]] | None = None,
    most: int = 5,
    workers: int | None = 1,
    scheduler: str | None = None,
    store: str | PathLike[str] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Season measures over a grid of keys.

    Runs every combination of the values given. The rest stays as the scenario has it, so a sweep
    shows what a key does here, not what it does everywhere.

    Parameters
    ----------
    scenario : Scenario
        What is varied.
    values : mapping
        Values of each key, as they would stand in the file or in its held unit; None takes the key
        out.
    factors : mapping, optional
        Factors of each key that is scaled instead [-].
    most : int
        Highest use class.
    workers, scheduler, store, progress
        As in `run_job`.

    Returns
    -------
    xarray.Dataset
        Season measures with the keys as first dims, in their held units; a key that is scaled has
        its factors there.

    Raises
    ------
    InputError
        There is nothing to vary, or too much.
    ScenarioError
        With every key and value that is not allowed; or what is given is no scenario.

    Examples
    --------
    >>> import hydroloop as hl
    >>> grid = sweep(hl.read_scenario("first_town"), {"town.larkmill.people": [20000, 30000]})
    >>> grid.season_used_share.dims
    ('town.larkmill.people', 'town')
    """
    check_scenario("sweep", scenario)
    axes = _axes(values, factors or {})
    changes = _all_changes(scenario, axes)
    job = changed_job(scenario, changes, most=most)
    table = run_job(job, workers=workers, scheduler=scheduler, store=store, progress=progress)
    return _as_grid(table, scenario, axes)


class _Axis:
    """A key, its values, and whether they are factors."""

    def __init__(self, key: str, given: Sequence[Any], *, scales: bool):
        self.key, self.given, self.scales = key.strip(), list(given), scales

    @property
    def repeated(self) -> Any:
        """A value that is given more than once; None if there is none."""
        seen = set()
        for value in map(str, self.given):
            if value in seen:
                return value
            seen.add(value)
        return None

    def change(self, scenario: Scenario, value: Any) -> dict[str, Any]:
        """What one value changes."""
        if not self.scales:
            return {self.key: value}
        changes, findings = scaled_values(scenario, {self.key: value})
        if findings:
            raise ScenarioError([finding.problem("change") for finding in findings])
        return changes


def _axes(values: Mapping[str, Sequence[Any]], factors: Mapping[str, Any]) -> list[_Axis]:
    single = [
        key
        for key, given in [*values.items(), *factors.items()]
        if isinstance(given, str) or not isinstance(given, Iterable)
    ]
    if single:
        raise InputError(
            [
                Problem(
                    "sweep",
                    "stands for one value, where several are wanted.",
                    "Write them in a list, [0.8, 1.0].",
                    key,
                )
                for key in single
            ]
        )
    axes = [_Axis(key, given, scales=False) for key, given in values.items()]
    axes += [_Axis(key, given, scales=True) for key, given in factors.items()]
    problems = [
        Problem("sweep", "has no values.", "Give at least one.", axis.key)
        for axis in axes
        if not axis.given
    ]
    keys = [axis.key for axis in axes]
    problems += [
        Problem("sweep", "is given twice.", "Give it once, as values or as factors.", key)
        for key in dict.fromkeys(keys)
        if keys.count(key) > 1
    ]
    if not axes:
        problems.append(Problem("sweep", "there is no key to vary.", "Name one with its values."))
    problems += [
        Problem("sweep", f"holds {axis.repeated} twice.", "Give each value once.", axis.key)
        for axis in axes
        if axis.repeated is not None
    ]
    points = int(np.prod([float(len(axis.given)) for axis in axes]))
    if points > MOST_POINTS:
        problems.append(
            Problem(
                "sweep", f"{points:,} points are more than {MOST_POINTS:,}.", "Give fewer values."
            )
        )
    if problems:
        raise InputError(problems)
    return axes


def _all_changes(scenario: Scenario, axes: list[_Axis]) -> list[dict[str, Any]]:
    """Changes of every point; each value is tried alone first, so that all mistakes are told."""
    made, problems = [], list[Problem]()
    for axis in axes:
        row = []
        for value in axis.given:
            try:
                row.append(axis.change(scenario, value))
                scenario.changed(row[-1])
            except InputError as error:
                problems += [one for one in error.problems if one not in problems]
            if not axis.scales and _is_range(axis.key, value):
                problems.append(
                    Problem(
                        "sweep",
                        f'"{value}" is a range; a point of a grid has one value.',
                        "Give its ends and what lies between, or draw from it with spread.",
                        axis.key,
                    )
                )
        made.append(row)
    if problems:
        raise ScenarioError(problems)
    return [
        {key: value for change in point for key, value in change.items()}
        for point in itertools.product(*made)
    ]


def _is_range(key: str, value: Any) -> bool:
    here = find(key.replace("*", "any").split("."))
    if here is None or not here.dimension or not isinstance(value, str):
        return False
    try:
        read = units.parse(value, here.dimension)
    except InputError:
        return False
    return read.low != read.high


def _as_grid(table: xr.Dataset, scenario: Scenario, axes: list[_Axis]) -> xr.Dataset:
    keys, shape = [axis.key for axis in axes], tuple(len(axis.given) for axis in axes)
    data = {}
    for name, one in table.data_vars.items():
        rest = tuple(dim for dim in one.dims if dim != "member")
        values = one.transpose("member", *rest).values
        data[name] = ((*keys, *rest), values.reshape(*shape, *values.shape[1:]), one.attrs)
    coords: dict[Any, Any] = {
        name: coord for name, coord in table.coords.items() if name != "member"
    }
    grid = xr.Dataset(
        data, coords | {axis.key: _coordinate(axis) for axis in axes}, {"title": scenario.title}
    )
    return with_names(grid, scenario.names)


def _coordinate(axis: _Axis) -> tuple[str, np.ndarray, dict[str, str]]:
    """Values of an axis in the held unit, where they are quantities."""
    if axis.scales:
        return (
            axis.key,
            np.array(axis.given, dtype=float),
            {"units": "1", "long_name": f"factor of {axis.key}"},
        )
    here = find(axis.key.replace("*", "any").split("."))
    dimension = here.dimension if here else ""
    try:
        held = [
            units.parse(one, dimension).value if isinstance(one, str) else float(one)
            for one in axis.given
        ]
    except (InputError, TypeError, ValueError, KeyError):
        words = ["default" if one is None else str(one) for one in axis.given]
        return axis.key, np.array(words), {"long_name": axis.key}
    unit = units.DIMENSIONS[dimension].held if dimension else "1"
    return axis.key, np.array(held), {"units": unit or "1", "long_name": axis.key}
