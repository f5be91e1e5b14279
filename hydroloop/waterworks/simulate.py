"""A scenario run through its season: the water record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.arguments import check_scenario
from hydroloop.errors import InputError, Problem
from hydroloop.placenames import with_names
from hydroloop.record import build_record
from hydroloop.scenario import Scenario
from hydroloop.scenario.sampling import changes_for, sampled
from hydroloop.waterworks.forcing import season_forcing
from hydroloop.waterworks.members import Members, run_members
from hydroloop.waterworks.one_season import SeasonRun, run_scenario

_PURPOSES = ("homes", "workplaces", "yards")
_WEATHER = {
    "rain_mm": ("mm", "rain and snow in the step"),
    "tmean_c": ("degC", "mean air temperature"),
    "et0_mm": ("mm", "reference evaporation in the step"),
}


def simulate(
    scenario: Scenario, *, members: int | None = None, seed: int | None = None
) -> xr.Dataset:
    """Water record of a scenario's season.

    Runs the water works day by day, upstream before downstream, and keeps every volume and every
    flow. Nothing is clipped afterwards, so the account closes; but the rules are those of a
    teaching model, and a real plant's are its operators'.

    Parameters
    ----------
    scenario : Scenario
        As `read_scenario` returns it.
    members : int, optional
        Run so many members: each draws its own values from the scenario's ranges, and its own
        weather where that is generated. Without it a range stands at its middle.
    seed : int, optional
        Seed of the weather generator, in place of the scenario's own; with members also of the
        values drawn, and each member's weather takes the next seed.

    Returns
    -------
    Dataset
        Water record: `volume` (edge, store) [m3], `rate` (time, flow) [m3/d], and with them
        `demand` (time, town, purpose) [m3/d] and the weather (time); with members also `drawn`
        (key, member), the values of the ranges, each in its key's inner unit. Member last.

    Raises
    ------
    ScenarioError
        If it is no scenario, but the name of one.
    TableError
        If a CSV file of weather or river flow is wrong or does not reach over the season.
    InputError
        If the files hold too few years for the dry season, or for a minimum flow; or if members
        have not the same stores and flows.
    RecordError
        If the account does not close, which would be a fault of hydroloop.

    Notes
    -----
    The order within a step is told in the documentation, *How a day is worked out*.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> record["volume"].attrs["units"]
    'm3'
    """
    check_scenario("simulate", scenario)
    if members is not None:
        return _simulate_members(scenario, members, seed)
    record = season_record(scenario, seed)
    record.attrs["scenario"] = scenario.text
    return record


def season_record(scenario: Scenario, seed: int | None = None) -> xr.Dataset:
    """The record of a single run without the scenario's text, which takes half as long to write as
    the season takes to run: for records that nobody keeps."""
    run = run_scenario(scenario, season_forcing(scenario, seed))
    record = build_record(
        run.network(),
        run.edges,
        run.volume,
        run.rate,
        title=scenario.title,
        used_before=run.used_before(),
    )
    asked = (run.demand, run.cut, run.stage_days, run.minimum_flow)
    weather = {name: run.forcing.weather.columns[name] for name in _WEATHER}
    return _with_forcing(record, run, asked, weather)


def _simulate_members(scenario: Scenario, members: int, seed: int | None) -> xr.Dataset:
    """The same for members that draw from the ranges."""
    keys = list(scenario.ranges)
    drawn = sampled(scenario.ranges, members, seed=1 if seed is None else seed)
    scenarios = [scenario.changed(changes_for(scenario, keys, row)) for row in drawn]
    runs = list(run_members(scenarios, seeds=weather_seeds(scenario, members, seed)))
    if len(runs) > 1:
        raise InputError(
            Problem(
                "members",
                "the ranges change which stores and flows there are.",
                "Keep a range away from zero, or run its ends one by one.",
            )
        )
    record = build_record(
        runs[0].network,
        runs[0].edges,
        runs[0].volume,
        runs[0].rate,
        used_before=runs[0].used_before,
        title=scenario.title,
    )
    record = _with_forcing(record, runs[0].first, *_asked_and_weather(runs[0]))
    record.attrs["scenario"] = scenario.text
    record = record.assign_coords(key=keys)
    attrs = {"units": "1", "long_name": "values drawn from ranges, in the inner unit of the key"}
    record["drawn"] = (("key", "member"), drawn.T.copy(), attrs)
    return record


def has_chance(scenario: Scenario) -> bool:
    """Whether members differ by chance alone: generated weather, or years drawn at random."""
    dry = scenario.dry_season
    return scenario.weather.file is None or (dry is not None and dry.method == "bootstrap")


def weather_seeds(scenario: Scenario, members: int, seed: int | None) -> list[int] | None:
    """Seed of each member's weather, or of its lot of years; none where all have the same."""
    if not has_chance(scenario):
        return None
    first = scenario.weather.seed if seed is None else seed
    return [first + member for member in range(members)]


def _asked_and_weather(
    runs: Members,
) -> tuple[tuple[np.ndarray, ...], dict[str, np.ndarray]]:
    weather = {
        name: np.stack([f.weather.columns[name] for f in runs.forcings], axis=-1)
        for name in _WEATHER
    }
    if all(forcing is runs.forcings[0] for forcing in runs.forcings):
        weather = {name: values[:, 0] for name, values in weather.items()}
    return (runs.demand, runs.cut, runs.stage_days, runs.minimum_flow), weather


def _with_forcing(
    record: xr.Dataset,
    run: SeasonRun,
    asked: Sequence[np.ndarray],
    weather: dict[str, np.ndarray],
) -> xr.Dataset:
    """The record with what was asked for, the weather, and where both came from."""
    scenario, drawn_up, said = run.scenario, run.works, run.forcing.weather.said
    demand, cut, in_force, minimum_flow = asked
    words = {"demand": "water asked for", "cut": "use that drought stages cut"}
    added = {
        name: _number(("time", "town", "purpose"), values, "m3 d-1", words[name])
        for name, values in (("demand", demand), ("cut", cut))
    }
    long_name = "flow that must pass the intake"
    added["minimum_flow"] = _number(("time", "town"), minimum_flow, "m3 d-1", long_name)
    labels = {"town": list(scenario.town), "purpose": list(_PURPOSES)}
    if scenario.stage:
        labels["stage"] = list(scenario.stage)
        long_name = "days for which the drought stage has been in force"
        added["stage_days"] = _number(("time", "stage"), in_force, "d", long_name)
    for name, (units, long_name) in _WEATHER.items():
        added[name] = _number(("time",), weather[name], units, long_name)
    record = record.assign_coords(labels).assign(added)  # all at once: each time costs a merge
    record.attrs.update(
        warm_up=scenario.season.warm_up,
        count_as=scenario.season.count_as,
        usual_rain_mm=run.forcing.usual_rain_mm,
        waiting_effluent=", ".join(drawn_up.waiting),
        **{f"weather_{key}": str(value) for key, value in said.items()},
    )
    return with_names(record, scenario.names)


def _number(
    dims: tuple[str, ...], values: np.ndarray, units: str, long_name: str
) -> tuple[Any, ...]:
    """A variable; its array may have the members as one more axis."""
    axes = dims if values.ndim == len(dims) else (*dims, "member")
    return axes, values, {"units": units, "long_name": long_name}
