"""One scenario drawn up and stepped through, as plain arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.record import Network
from hydroloop.scenario import Scenario
from hydroloop.waterworks.forcing import Forcing
from hydroloop.waterworks.layout import Series
from hydroloop.waterworks.ledger import Ledger
from hydroloop.waterworks.minimum_flow import town_minimum_flows
from hydroloop.waterworks.run_up import Past, first_volumes
from hydroloop.waterworks.stepping import run_season
from hydroloop.waterworks.whole_network import Works, draw_works
from hydroloop.weather.earlier import days_before


@dataclass(frozen=True, eq=False)
class SeasonRun:
    """A season as the stepping loop left it.

    Attributes
    ----------
    scenario : Scenario
        What was run.
    forcing : Forcing
        What drove it from outside.
    works : Works
        Stores and flows, and tables of the parts.
    volume : ndarray of shape (edge, store)
        Volumes [m3].
    rate : ndarray of shape (time, flow)
        Rates [m3/d].
    demand, cut : ndarray of shape (time, town, purpose)
        Water asked for, and what drought stages cut of it [m3/d].
    stage_days : ndarray of shape (time, stage)
        Days that each drought stage has been in force [d].
    """

    scenario: Scenario
    forcing: Forcing
    works: Works
    volume: np.ndarray
    rate: np.ndarray
    demand: np.ndarray
    cut: np.ndarray
    stage_days: np.ndarray

    @property
    def edges(self) -> np.ndarray:
        """Instants between steps, shape (edge)."""
        time = self.forcing.time
        span = np.timedelta64(round(self.forcing.step * 86_400e9), "ns")
        return np.append(time, time[-1] + span)

    @property
    def minimum_flow(self) -> np.ndarray:
        """Flow that must pass each town's intake, shape (time, town) [m3/d]."""
        return town_minimum_flows(self.scenario.town, self.forcing.minimum_flow)

    def network(self) -> Network:
        """Stores and flows in words."""
        ledger = self.works.ledger
        return Network(
            ledger.stores,
            ledger.source_names,
            ledger.target_names,
            ledger.kinds,
            ledger.flow_names(),
            ledger.places,
            ledger.roles,
            ledger.labels,
        )

    def used_before(self) -> dict[str, list[float]]:
        """Shares of the water at the head of a river that were used once, twice, ... by flow."""
        return _used_before(self.scenario, self.works.ledger)


def run_scenario(scenario: Scenario, forcing: Forcing) -> SeasonRun:
    """Draw up a scenario's works and step through its season."""
    begins = forcing.past or forcing
    works = draw_works(
        scenario.model, begins.inflow, forcing.usual_rain_mm, forcing.usual_inflow, begins.lateral
    )
    if forcing.past is None:
        first = np.array(works.ledger.volumes)
    else:
        first = first_volumes(works, _past(scenario, forcing.past))
    series = _series(scenario, forcing)
    volume, rate, *asked = run_season(works.tables, series, works.ends, first, forcing.step)
    assert not volume[:, -1].any(), "water in a store that does not exist"
    assert not rate[:, -1].any(), "water in a flow that does not exist"
    return SeasonRun(scenario, forcing, works, volume[:, :-1], rate[:, :-1], *asked)


def _series(scenario: Scenario, forcing: Forcing) -> Series:
    """What drives a scenario, as the stepping loop takes it."""
    minimum_flow = town_minimum_flows(scenario.town, forcing.minimum_flow)
    return forcing.series(minimum_flow)


def _past(scenario: Scenario, past: Forcing) -> Past:
    last = days_before(np.datetime64(scenario.season.start), 1)[0]
    begins = int(np.searchsorted(past.time, last))
    assert past.many_years is not None
    return Past(
        _series(scenario, past), begins, past.step, past.many_years, past.by_day, past.known
    )


def _used_before(scenario: Scenario, ledger: Ledger) -> dict[str, list[float]]:
    shares: dict[int, list[float]] = {}
    for flow, (kind, target) in enumerate(zip(ledger.kinds, ledger.targets, strict=True)):
        if kind == "upstream":
            given = scenario.river[ledger.places[target]].used_before
            shares[flow] = list(given[1:]) if isinstance(given, list) else [given]
    some = {flow: used for flow, used in shares.items() if sum(used) > 0.0}
    names = ledger.flow_names() if some else []
    return {names[flow]: used for flow, used in some.items()}
