"""A scenario run through its season: the water record."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.record import Network, build_record
from hydroloop.scenario import Scenario
from hydroloop.waterworks.forcing import Forcing, season_forcing
from hydroloop.waterworks.ledger import Ledger
from hydroloop.waterworks.network import Works, draw_works
from hydroloop.waterworks.season import run_season

_PURPOSES = ("homes", "workplaces", "yards")
_WEATHER = {
    "rain_mm": ("mm", "rain and snow in the step"),
    "tmean_c": ("degC", "mean air temperature"),
    "et0_mm": ("mm", "reference evaporation in the step"),
}


def simulate(scenario: Scenario, *, seed: int | None = None) -> xr.Dataset:
    """Water record of a scenario's season.

    Runs the water works day by day, upstream before downstream, and keeps every volume and every
    flow. Nothing is clipped afterwards, so the account closes; but the rules are those of a
    teaching model, and a real plant's are its operators'.

    Parameters
    ----------
    scenario : Scenario
        As `read_scenario` returns it.
    seed : int, optional
        Seed of the weather generator, in place of the scenario's own.

    Returns
    -------
    Dataset
        Water record: `volume` (edge, store) [m3], `rate` (time, flow) [m3/d], and with them
        `demand` (time, town, purpose) [m3/d] and the weather (time).

    Raises
    ------
    TableError
        If a CSV file of weather or river flow is wrong or does not reach over the season.
    InputError
        If the files hold too few years for the dry season, or for a minimum flow.
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
    forcing = season_forcing(scenario, seed)
    works = draw_works(scenario.model, forcing.inflow, forcing.usual_rain_mm, forcing.usual_inflow)
    volume, rate, *asked = _run(works, forcing, list(scenario.river))
    ledger = works.ledger
    network = Network(
        ledger.stores,
        ledger.source_names,
        ledger.target_names,
        ledger.kinds,
        ledger.flow_names(),
        ledger.places,
        ledger.roles,
        ledger.labels,
    )
    edges = np.append(forcing.time, forcing.time[-1] + _span(forcing.step))
    record = build_record(
        network,
        edges,
        volume,
        rate,
        title=scenario.title,
        used_before=_used_before(scenario, ledger),
    )
    return _with_forcing(record, scenario, works, forcing, asked)


def _run(works: Works, forcing: Forcing, rivers: list[str]) -> tuple[np.ndarray, ...]:
    """Volumes, rates, demand, cuts and stages, without the spare store and flow."""
    ledger = works.ledger
    ends = (np.array(ledger.sources), np.array(ledger.targets), np.array(ledger.full))
    tables = (
        works.towns,
        works.lands,
        works.aquifers,
        works.cells,
        works.reservoirs,
        works.order,
        works.stages,
        works.follows,
    )
    volume, rate, *asked = run_season(
        tables, forcing.arrays(rivers), ends, np.array(ledger.volumes), forcing.step
    )
    assert not volume[:, -1].any(), "water in a store that does not exist"
    assert not rate[:, -1].any(), "water in a flow that does not exist"
    return volume[:, :-1], rate[:, :-1], *asked


def _span(days: float) -> np.timedelta64:
    return np.timedelta64(round(days * 86_400e9), "ns")


def _used_before(scenario: Scenario, ledger: Ledger) -> dict[str, list[float]]:
    """Shares of the water at the head of a river that were used once, twice, ... by flow."""
    shares: dict[str, list[float]] = {}
    for name, kind, target in zip(ledger.flow_names(), ledger.kinds, ledger.targets, strict=True):
        if kind == "upstream":
            given = scenario.river[ledger.places[target]].used_before
            shares[name] = list(given[1:]) if isinstance(given, list) else [given]
    return {name: used for name, used in shares.items() if sum(used) > 0.0}


def _with_forcing(
    record: xr.Dataset,
    scenario: Scenario,
    works: Works,
    forcing: Forcing,
    asked: list[np.ndarray],
) -> xr.Dataset:
    """The record with what was asked for, the weather, and where both came from."""
    demand, cut, in_force = asked
    record = record.assign_coords(town=list(scenario.town), purpose=list(_PURPOSES))
    words = {"demand": "water asked for", "cut": "use that drought stages cut"}
    for name, values in (("demand", demand), ("cut", cut)):
        attrs = {"units": "m3 d-1", "long_name": words[name]}
        record[name] = (("time", "town", "purpose"), values, attrs)
    if scenario.stage:
        record = record.assign_coords(stage=list(scenario.stage))
        attrs = {"units": "d", "long_name": "days for which the drought stage has been in force"}
        record["stage_days"] = (("time", "stage"), in_force, attrs)
    for name, (units, long_name) in _WEATHER.items():
        attrs = {"units": units, "long_name": long_name}
        record[name] = ("time", forcing.weather[name].values, attrs)
    record.attrs.update(
        scenario=scenario.text,
        warm_up=scenario.season.warm_up,
        waiting_effluent=", ".join(works.waiting),
        **{f"weather_{key}": str(value) for key, value in forcing.weather.attrs.items()},
    )
    return record
