"""A scenario run through its season: the water record."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.record import build_record
from hydroloop.scenario import Scenario
from hydroloop.waterworks.forcing import Forcing, season_forcing
from hydroloop.waterworks.ledger import Ledger
from hydroloop.waterworks.network import Network, draw_network
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
    network = draw_network(scenario.file, forcing.inflow, float(forcing.sky[:, 0].mean())
                           / forcing.step)
    ledger = network.ledger
    first = np.array(ledger.volumes)
    ends = (np.array(ledger.sources), np.array(ledger.targets), np.array(ledger.full))
    tables = (network.towns, network.lands, network.aquifers, network.cells, network.reservoirs,
              network.order)
    volume, rate, demand = run_season(tables, forcing.arrays(list(scenario.river)), ends, first,
                                      forcing.step)
    assert not volume[:, -1].any() and not rate[:, -1].any(), "water in a part that does not exist"
    record = build_record(
        time=forcing.time, step=forcing.step, stores=ledger.stores, places=ledger.places,
        roles=ledger.roles, labels=ledger.labels, flows=ledger.flow_names(),
        sources=ledger.source_names, targets=ledger.target_names, kinds=ledger.kinds,
        volume=volume[:, :-1], rate=rate[:, :-1], used_before=_used_before(scenario, ledger),
    )
    return _with_forcing(record, scenario, (network, forcing, demand))


def _used_before(scenario: Scenario, ledger: Ledger) -> dict[str, list[float]]:
    """Shares by earlier uses of the water that enters at the head of a river, by flow."""
    shares = {}
    names = ledger.flow_names()
    for flow, kind in enumerate(ledger.kinds):
        if kind == "upstream":
            place = ledger.places[ledger.targets[flow]]
            given = scenario.river[place].used_before
            shares[names[flow]] = list(given) if isinstance(given, list) else [1.0 - given, given]
    return {name: share for name, share in shares.items() if share[0] < 1.0}


def _with_forcing(record: xr.Dataset, scenario: Scenario,
                  parts: tuple[Network, Forcing, np.ndarray]) -> xr.Dataset:
    network, forcing, demand = parts
    record = record.assign_coords(town=list(scenario.town), purpose=list(_PURPOSES))
    record["demand"] = (("time", "town", "purpose"), demand,
                        {"units": "m3 d-1", "long_name": "water asked for"})
    for name, (units, words) in _WEATHER.items():
        record[name] = ("time", forcing.weather[name].values, {"units": units, "long_name": words})
    record.attrs.update(
        title=scenario.title, scenario=scenario.text,
        weather_source=forcing.weather.attrs.get("source", ""),
        evaporation_method=forcing.weather.attrs.get("evaporation", ""),
        warm_up=scenario.season.warm_up, waiting_effluent=", ".join(network.waiting),
    )
    return record
