"""A scenario drawn up as stores and flows, with the tables that the stepping loop reads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from hydroloop.scenario.built_for import DEMAND, own_works
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.land_network import (
    Ground,
    catchment_ground,
    draw_ground,
    draw_open_land,
    draw_streams,
    draw_town_land,
    shared_ground,
    town_ground,
)
from hydroloop.waterworks.lateral import (
    draw_laterals,
    draw_mouths,
    lateral_area,
    lateral_ratio,
    own_area,
)
from hydroloop.waterworks.layout import (
    AQUIFER,
    CELL,
    CELL_EMPTIES,
    CELL_FILLS,
    LAND,
    LATERAL,
    MOUTH,
    RESERVOIR,
    RESERVOIR_ACTS,
    STREAMS,
    TOWN,
    TOWN_ACTS,
    Ends,
    Tables,
)
from hydroloop.waterworks.ledger import NONE, Ledger, row, stacked
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
    """All that the stepping loop needs to know of a scenario."""

    ledger: Ledger  # stores and flows in words
    tables: Tables
    # towns whose effluent waits a step in a pond, because they discharge above an intake that it
    # reaches again
    waiting: tuple[str, ...]

    @cached_property
    def ends(self) -> Ends:
        """Where each flow leads."""
        ledger = self.ledger
        return Ends(np.array(ledger.sources), np.array(ledger.targets), np.array(ledger.full))


def draw_works(
    scenario: ScenarioFile,
    inflow: dict[str, np.ndarray],
    mean_rain_mm: float,
    usual_inflow: dict[str, float] | None = None,
    lateral: dict[str, np.ndarray] | None = None,
) -> Works:
    """Stores, flows, tables and order of a scenario."""
    ledger = Ledger(names=scenario.names)
    usual = {name: float(np.mean(flow)) for name, flow in inflow.items()}
    usual |= usual_inflow or {}
    gauged = lateral or {}
    mean, first = _flows_along_rivers(scenario, (inflow, gauged), mean_rain_mm, usual)
    rivers = draw_rivers(ledger, scenario, mean, first)
    lands = _Lands(ledger, rivers, mean_rain_mm / 1000.0)
    laterals: list[np.ndarray] = []
    for number, (name, river) in enumerate(scenario.river.items()):
        cell = rivers.cells[rivers.heads[name]]
        if name in inflow:
            cell["f_head"] = ledger.flow("upstream", int(cell["s_store"][0]), "upstream")
        elif river.catchment is not None:
            lands.catchment(scenario, name)
        ratio = lateral_ratio(scenario, name)
        if name in gauged:
            laterals += draw_laterals(ledger, rivers, name, number, None)
        elif ratio > 0.0:
            laterals += draw_laterals(ledger, rivers, name, number, ratio)
    for name in scenario.aquifer:
        lands.aquifer(scenario, name)
    waiting = _towns_that_wait(scenario, rivers)
    towns = [
        _one_town(ledger, scenario, (rivers, lands), number, number in waiting)
        for number in range(len(scenario.town))
    ]
    tables = Tables(
        stacked(towns, TOWN),
        stacked(lands.rows, LAND),
        stacked(lands.grounds, AQUIFER),
        stacked(lands.streams, STREAMS),
        stacked(lands.mouths, MOUTH),
        stacked(laterals, LATERAL),
        stacked(rivers.cells, CELL),
        stacked(rivers.reservoirs, RESERVOIR),
        _order(scenario, rivers, waiting),
        *draw_stages(scenario, rivers),
    )
    names = tuple(name for number, name in enumerate(scenario.town) if number in waiting)
    return Works(ledger, tables, names)


class _Lands:
    """Land, the ground below it and its streams, as they are entered."""

    def __init__(self, ledger: Ledger, rivers: RiverNetwork, rain_m_per_day: float):
        self.ledger, self.rivers, self.rain = ledger, rivers, rain_m_per_day
        self.rows: list[np.ndarray] = []
        self.grounds: list[np.ndarray] = []
        self.streams: list[np.ndarray] = []
        self.mouths: list[np.ndarray] = []
        self.number: dict[str, int] = {}

    def ground(self, place: str, ground: Ground, river_store: int) -> int:
        self.number[place] = len(self.grounds)
        self.grounds.append(draw_ground(self.ledger, place, ground, self.rain, river_store))
        return self.number[place]

    def store(self, number: int, field: str = "s_store") -> int:
        return int(self.grounds[number][field][0])

    def catchment(self, scenario: ScenarioFile, name: str) -> None:
        """Land above a river's head and beside it."""
        river = scenario.river[name]
        assert river.catchment is not None
        area = (river.catchment + lateral_area(scenario, name)) * 1e6
        streams = self._gather(name, river.catchment * 1e6, river.runoff_recession)
        number = self.ground(name, catchment_ground(river, area), streams)
        stores = (self.store(number, "s_subsoil"), streams)
        self.rows.append(draw_open_land(self.ledger, name, area, river, stores))
        head_share = river.catchment * 1e6 / area
        row_and_store = (len(self.streams) - 1, streams)
        self.mouths += draw_mouths(self.ledger, self.rivers, name, row_and_store, head_share)

    def aquifer(self, scenario: ScenarioFile, name: str) -> None:
        """A shared aquifer, and the land over it on which no town stands."""
        shared = scenario.aquifer[name]
        cell = self.rivers.store_below(shared.river, shared.at)
        towns = [(t, town_sizes(t)) for t in scenario.town.values() if t.land.aquifer == name]
        number = self.ground(name, shared_ground(shared, towns), cell)
        area = own_area(scenario, name) * 1e6
        if area <= 0.0:
            return
        streams = self._gather(name, area, shared.runoff_recession)
        stores = (self.store(number, "s_subsoil"), streams)
        self.rows.append(draw_open_land(self.ledger, name, area, shared, stores))
        mouth = self.ledger.flow(streams, cell, "river")
        self.mouths.append(
            row(MOUTH, share=1.0, streams=len(self.streams) - 1, s_river=cell, f_flow=mouth)
        )

    def _gather(self, place: str, area: float, recession: float | None) -> int:
        store, made = draw_streams(self.ledger, place, area, recession)
        self.streams.append(made)
        return store


def _flows_along_rivers(
    scenario: ScenarioFile,
    given: tuple[dict[str, np.ndarray], dict[str, np.ndarray]],
    mean_rain_mm: float,
    usual: dict[str, float],
) -> tuple[dict[str, float], dict[str, float]]:
    """Mean and first-day flow at the end of each river, all that joins it included [m3/d]."""
    inflow, lateral = given
    mean: dict[str, float] = {}
    first: dict[str, float] = {}
    for name, river in scenario.river.items():
        if name in inflow:
            gain = 1.0 + lateral_ratio(scenario, name)
            mean[name], first[name] = gain * usual[name], gain * float(inflow[name][0])
        else:
            area = (river.catchment or 0.0) + lateral_area(scenario, name)
            rain = mean_rain_mm / 1000.0 * area * 1e6
            mean[name], first[name] = _RUNOFF_SHARE * rain, _RECHARGE_SHARE * rain
        if name in lateral:
            mean[name] += float(lateral[name].mean())
            first[name] += float(lateral[name][0])
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
    parts: tuple[RiverNetwork, _Lands],
    number: int,
    waits: bool,
) -> np.ndarray:
    rivers, lands = parts
    place, town = list(scenario.town.items())[number]
    sizes = town_sizes(town)
    outfall = rivers.store_below(town.outfall.river, town.outfall.at)
    aquifer = (
        lands.number[town.land.aquifer]
        if town.land.aquifer
        else lands.ground(place, town_ground(town, sizes), outfall)
    )
    wells = lands.number[town.wells.aquifer] if town.wells and town.wells.aquifer else aquifer
    lands.grounds[wells]["artificial"] -= _pumped(town)
    sewers = draw_sewers(ledger, place, town, sizes)
    outlet = town.storm_outlet or town.outfall
    subsoil = lands.store(aquifer, "s_subsoil")
    stores = (subsoil, sewers, rivers.store_below(outlet.river, outlet.at))
    lands.rows.append(draw_town_land(ledger, place, town, sizes, stores))
    cell, dam = _intake(town, rivers)
    source = _source_store(rivers, cell, dam)
    into = (
        NONE
        if town.reuse.into is None
        else int(rivers.reservoirs[rivers.dams[town.reuse.into]]["s_store"][0])
    )
    site = Site(source, lands.store(aquifer), lands.store(wells), outfall, into, sewers, waits)
    made = draw_town(ledger, place, town, sizes, site)
    made["land"], made["aquifer"], made["wells_aquifer"] = len(lands.rows) - 1, aquifer, wells
    made["intake_cell"], made["intake_reservoir"], made["s_into"] = cell, dam, into
    made["intake_limit"] = sizes.intake_limit
    made["infiltration"] = town.people * town.sewers.infiltration
    return made


def _pumped(town: Town) -> float:
    """What a town's wells draw in the mean; where they only help an intake out, next to nothing."""
    if town.wells is None or town.intake is not None:
        return 0.0
    return min(town.wells.capacity, own_works(town)[DEMAND])


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
