"""A scenario drawn up as stores and flows, with the tables that the stepping loop reads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.land_network import (
    Ground,
    catchment_ground,
    draw_aquifer,
    draw_catchment,
    draw_town_land,
    shared_ground,
    town_ground,
)
from hydroloop.waterworks.layout import (
    AQUIFER,
    CELL,
    CELL_EMPTIES,
    CELL_FILLS,
    LAND,
    RESERVOIR,
    RESERVOIR_ACTS,
    TOWN,
    TOWN_ACTS,
)
from hydroloop.waterworks.ledger import NONE, Ledger, stacked
from hydroloop.waterworks.ordering import Event, acting_order, waits_to_cut_loops
from hydroloop.waterworks.river_network import RiverNetwork, draw_rivers
from hydroloop.waterworks.sizes import town_sizes
from hydroloop.waterworks.stage_network import draw_stages
from hydroloop.waterworks.town_network import Site, draw_sewers, draw_town

# First guesses for a river that rises from its catchment's rain: a third of the rain runs off, and
# a fifth feeds its groundwater (common practice for temperate land).
_RUNOFF_SHARE, _RECHARGE_SHARE = 1.0 / 3.0, 0.2
# A river without any inflow of its own, above its first tributary, still needs a scale.
_LEAST_REFERENCE_FLOW = 864.0


@dataclass(frozen=True)
class Works:
    """All that the stepping loop needs to know of a scenario.

    Attributes
    ----------
    ledger : Ledger
        Stores and flows in words.
    towns, lands, aquifers, cells, reservoirs : ndarray
        Tables of `layout`.
    order : ndarray of shape (events, 2)
        What acts when.
    stages : ndarray
        Drought stages, a table of `layout`.
    follows : ndarray of shape (stage, town)
        Which town keeps to which stage.
    waiting : tuple of str
        Towns whose effluent waits a step in a pond, because they discharge above an intake that it
        reaches again.
    """

    ledger: Ledger
    towns: np.ndarray
    lands: np.ndarray
    aquifers: np.ndarray
    cells: np.ndarray
    reservoirs: np.ndarray
    order: np.ndarray
    stages: np.ndarray
    follows: np.ndarray
    waiting: tuple[str, ...]

    @property
    def tables(self) -> tuple[np.ndarray, ...]:
        """Tables in the order in which the stepping loop takes them."""
        return (
            self.towns,
            self.lands,
            self.aquifers,
            self.cells,
            self.reservoirs,
            self.order,
            self.stages,
            self.follows,
        )

    @property
    def ends(self) -> tuple[np.ndarray, ...]:
        """Source and target store of each flow, and whether each store is always full."""
        ledger = self.ledger
        return np.array(ledger.sources), np.array(ledger.targets), np.array(ledger.full)


def draw_works(
    scenario: ScenarioFile,
    inflow: dict[str, np.ndarray],
    mean_rain_mm: float,
    usual_inflow: dict[str, float] | None = None,
) -> Works:
    """Stores, flows, tables and order of a scenario.

    Parameters
    ----------
    scenario : ScenarioFile
        What the user wrote.
    inflow : dict
        River to its inflow at the head, of shape (time,) [m3/d]; rivers that rise from their
        catchment are left out.
    mean_rain_mm : float
        Mean rain of a usual season: groundwater and soil start as it leaves them [mm/d].
    usual_inflow : dict, optional
        River to its mean inflow in a usual season, at which its speed holds; none: the mean of
        this one [m3/d].

    Returns
    -------
    Works
        Ready to be stepped through.
    """
    ledger = Ledger()
    usual = {name: float(np.mean(flow)) for name, flow in inflow.items()}
    usual |= usual_inflow or {}
    mean, first = _flows_along_rivers(scenario, inflow, mean_rain_mm, usual)
    rivers = draw_rivers(ledger, scenario, mean, first)
    grounds, lands = _Grounds(ledger, rivers), []
    for name, river in scenario.river.items():
        cell = rivers.cells[rivers.heads[name]]
        if name in inflow:
            cell["f_head"] = ledger.flow("upstream", int(cell["s_store"][0]), "upstream")
        if river.catchment is not None and name not in inflow:
            recharge = _RECHARGE_SHARE * mean_rain_mm / 1000.0
            aquifer = grounds.add(name, catchment_ground(river, recharge), int(cell["s_store"][0]))
            stores = (grounds.store(aquifer), int(cell["s_store"][0]))
            lands.append(draw_catchment(ledger, name, river, stores, aquifer))
    for name, shared in scenario.aquifer.items():
        grounds.add(name, shared_ground(shared), rivers.store_below(shared.river, shared.at))
    waiting = _towns_that_wait(scenario, rivers)
    towns = [
        _one_town(ledger, scenario, (rivers, grounds, lands), number, number in waiting)
        for number in range(len(scenario.town))
    ]
    return Works(
        ledger,
        stacked(towns, TOWN),
        stacked(lands, LAND),
        stacked(grounds.rows, AQUIFER),
        stacked(rivers.cells, CELL),
        stacked(rivers.reservoirs, RESERVOIR),
        _order(scenario, rivers, waiting),
        *draw_stages(scenario, rivers),
        tuple(name for number, name in enumerate(scenario.town) if number in waiting),
    )


class _Grounds:
    """Groundwater stores as they are entered."""

    def __init__(self, ledger: Ledger, rivers: RiverNetwork):
        self.ledger, self.rivers = ledger, rivers
        self.rows: list[np.ndarray] = []
        self.number: dict[str, int] = {}

    def add(self, place: str, ground: Ground, river_store: int) -> int:
        self.number[place] = len(self.rows)
        self.rows.append(draw_aquifer(self.ledger, place, ground, river_store))
        return self.number[place]

    def store(self, number: int) -> int:
        return int(self.rows[number]["s_store"][0])


def _flows_along_rivers(
    scenario: ScenarioFile,
    inflow: dict[str, np.ndarray],
    mean_rain_mm: float,
    usual: dict[str, float],
) -> tuple[dict[str, float], dict[str, float]]:
    """Mean and first-day flow at the end of each river, tributaries included [m3/d]."""
    mean: dict[str, float] = {}
    first: dict[str, float] = {}
    for name, river in scenario.river.items():
        if name in inflow:
            mean[name], first[name] = usual[name], float(inflow[name][0])
        else:
            rain = mean_rain_mm / 1000.0 * (river.catchment or 0.0) * 1e6
            mean[name], first[name] = _RUNOFF_SHARE * rain, _RECHARGE_SHARE * rain
    own = dict(mean), dict(first)
    for name in scenario.river:
        into = scenario.river[name].joins
        while into is not None:
            mean[into] += own[0][name]
            first[into] += own[1][name]
            into = scenario.river[into].joins
    return {name: max(flow, _LEAST_REFERENCE_FLOW) for name, flow in mean.items()}, first


def _one_town(
    ledger: Ledger,
    scenario: ScenarioFile,
    parts: tuple[RiverNetwork, _Grounds, list[np.ndarray]],
    number: int,
    waits: bool,
) -> np.ndarray:
    rivers, grounds, lands = parts
    place, town = list(scenario.town.items())[number]
    sizes = town_sizes(town)
    outfall = rivers.store_below(town.outfall.river, town.outfall.at)
    aquifer = (
        grounds.number[town.land.aquifer]
        if town.land.aquifer
        else grounds.add(place, town_ground(town, sizes), outfall)
    )
    wells = grounds.number[town.wells.aquifer] if town.wells and town.wells.aquifer else aquifer
    sewers = draw_sewers(ledger, place, town, sizes)
    outlet = town.storm_outlet or town.outfall
    stores = (grounds.store(aquifer), sewers, rivers.store_below(outlet.river, outlet.at))
    land = draw_town_land(ledger, place, town, sizes, stores)
    land["aquifer"] = aquifer
    lands.append(land)
    cell, dam = _intake(town, rivers)
    source = _source_store(rivers, cell, dam)
    into = (
        NONE
        if town.reuse.into is None
        else int(rivers.reservoirs[rivers.dams[town.reuse.into]]["s_store"][0])
    )
    site = Site(source, grounds.store(aquifer), grounds.store(wells), outfall, into, sewers, waits)
    made = draw_town(ledger, place, town, sizes, site)
    made["land"], made["aquifer"], made["wells_aquifer"] = len(lands) - 1, aquifer, wells
    made["intake_cell"], made["intake_reservoir"], made["s_into"] = cell, dam, into
    made["intake_limit"] = sizes.intake_limit
    made["infiltration"] = town.people * town.sewers.infiltration
    return made


def _intake(town: Town, rivers: RiverNetwork) -> tuple[int, int]:
    """Cell and reservoir that a town draws from, `NONE` where it does not."""
    if town.intake is None:
        return NONE, NONE
    if town.intake.reservoir is not None:
        return NONE, rivers.dams[town.intake.reservoir]
    assert town.intake.river is not None
    assert town.intake.at is not None
    return rivers.above[town.intake.river, town.intake.at], NONE


def _source_store(rivers: RiverNetwork, cell: int, dam: int) -> int:
    if cell != NONE:
        return int(rivers.cells[cell]["s_store"][0])
    return NONE if dam == NONE else int(rivers.reservoirs[dam]["s_store"][0])


def _dependencies(
    scenario: ScenarioFile, rivers: RiverNetwork
) -> tuple[list[tuple[Event, Event]], dict[int, list[tuple[Event, Event]]]]:
    """Pairs (earlier, later) that cannot wait, and those of each town's effluent."""
    cell_of = {int(cell["s_store"][0]): i for i, cell in enumerate(rivers.cells)}
    dam_of = {int(dam["s_store"][0]): i for i, dam in enumerate(rivers.reservoirs)}

    def at(store: int) -> Event:
        return (CELL_FILLS, cell_of[store]) if store in cell_of else (RESERVOIR_ACTS, dam_of[store])

    pairs: list[tuple[Event, Event]] = []
    for i, cell in enumerate(rivers.cells):
        pairs.append(((CELL_FILLS, i), (CELL_EMPTIES, i)))
        if cell["s_next"][0] != NONE:
            pairs.append(((CELL_EMPTIES, i), at(int(cell["s_next"][0]))))
    for i, dam in enumerate(rivers.reservoirs):
        pairs.append(((RESERVOIR_ACTS, i), at(int(dam["s_next"][0]))))
    returns: dict[int, list[tuple[Event, Event]]] = {}
    for k, town in enumerate(scenario.town.values()):
        cell_number, dam_number = _intake(town, rivers)
        if cell_number != NONE:
            pairs += [
                ((CELL_FILLS, cell_number), (TOWN_ACTS, k)),
                ((TOWN_ACTS, k), (CELL_EMPTIES, cell_number)),
            ]
        if dam_number != NONE:
            pairs.append(((TOWN_ACTS, k), (RESERVOIR_ACTS, dam_number)))
        outfall = rivers.below[town.outfall.river, town.outfall.at]
        returns[k] = [((TOWN_ACTS, k), (CELL_FILLS, outfall))]
    return pairs, returns


def _events(scenario: ScenarioFile, rivers: RiverNetwork) -> list[Event]:
    cells, dams = range(len(rivers.cells)), range(len(rivers.reservoirs))
    return (
        [(kind, i) for i in cells for kind in (CELL_FILLS, CELL_EMPTIES)]
        + [(RESERVOIR_ACTS, i) for i in dams]
        + [(TOWN_ACTS, k) for k in range(len(scenario.town))]
    )


def _towns_that_wait(scenario: ScenarioFile, rivers: RiverNetwork) -> set[int]:
    pairs, returns = _dependencies(scenario, rivers)
    return waits_to_cut_loops(_events(scenario, rivers), pairs, returns)


def _order(scenario: ScenarioFile, rivers: RiverNetwork, waiting: set[int]) -> np.ndarray:
    pairs, returns = _dependencies(scenario, rivers)
    pairs += [pair for town, own in returns.items() if town not in waiting for pair in own]
    return acting_order(_events(scenario, rivers), pairs)
