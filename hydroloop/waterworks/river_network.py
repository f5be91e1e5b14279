"""Rivers cut into cells at every place where water joins or leaves, and their reservoirs."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from hydroloop.placenames import reservoir_words, river_words
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_river import Reservoir, River
from hydroloop.waterworks.layout import CELL, RESERVOIR
from hydroloop.waterworks.ledger import NONE, Ledger, row
from hydroloop.waterworks.river import storage_factor, width_of_water

# A reservoir begins a run-up, or a season without one, so full (common practice).
_FIRST_FULL = 0.8
M3_PER_DAY_IN_ONE_M3_PER_S = 86_400.0


@dataclass
class RiverNetwork:
    """Cells and reservoirs, and how to find the one at a place.

    Attributes
    ----------
    cells, reservoirs : list of ndarray
        Rows of the tables `CELL` and `RESERVOIR`.
    below, above : dict
        (river, km) to the number of the cell that begins there, and of the one that ends there.
    heads : dict
        River to its first cell.
    dams : dict
        Reservoir name to its number.
    reaches : dict
        River to the store and the length of each of its cells [km].
    """

    cells: list[np.ndarray] = field(default_factory=list)
    reservoirs: list[np.ndarray] = field(default_factory=list)
    below: dict[tuple[str, float], int] = field(default_factory=dict)
    above: dict[tuple[str, float], int] = field(default_factory=dict)
    heads: dict[str, int] = field(default_factory=dict)
    dams: dict[str, int] = field(default_factory=dict)
    reaches: dict[str, list[tuple[int, float]]] = field(default_factory=dict)

    def along(self, river: str) -> list[tuple[float, int]]:
        """Share of a river's length that each of its reaches has, and their stores."""
        whole = sum(length for _, length in self.reaches[river])
        return [(length / whole, store) for store, length in self.reaches[river] if length > 0.0]

    def store_below(self, river: str, at: float) -> int:
        """Store into which water that joins at a place flows."""
        return int(self.cells[self.below[river, at]]["s_store"][0])


def draw_rivers(
    ledger: Ledger, scenario: ScenarioFile, flows: dict[str, float], first: dict[str, float]
) -> RiverNetwork:
    """Cells and reservoirs of all rivers, joined to each other."""
    net = RiverNetwork()
    marks = places_on_rivers(scenario)
    for number, (name, river) in enumerate(scenario.river.items()):
        _cut(ledger, net, (number, name, river), marks[name], (flows[name], first[name]))
    for name, dam in scenario.reservoir.items():
        _dam(ledger, net, name, dam)
    for name, river in scenario.river.items():
        _join(ledger, scenario, net, name, river)
    return net


def places_on_rivers(scenario: ScenarioFile) -> dict[str, set[float]]:
    """Every distance at which something happens, river by river [km]."""
    marks: dict[str, set[float]] = {name: {0.0, r.length} for name, r in scenario.river.items()}
    for river in scenario.river.values():
        if river.joins:
            marks[river.joins].add(joining_place(scenario, river))
    for town in scenario.town.values():
        points = [town.outfall, town.storm_outlet, town.intake]
        for point in points:
            if point is not None and point.river is not None and point.at is not None:
                marks[point.river].add(point.at)
    for stage in scenario.stage.values():
        if stage.river is not None and stage.at is not None:
            marks[stage.river].add(stage.at)
    for dam in scenario.reservoir.values():
        marks[dam.river].add(dam.at)
    for aquifer in scenario.aquifer.values():
        marks[aquifer.river].add(aquifer.at)
    return marks


def joining_place(scenario: ScenarioFile, river: River) -> float:
    """Where a tributary joins [km below the head of the other river]."""
    assert river.joins is not None
    return scenario.river[river.joins].length if river.joins_at is None else river.joins_at


def _cut(
    ledger: Ledger,
    net: RiverNetwork,
    named: tuple[int, str, River],
    marks: set[float],
    flows: tuple[float, float],
) -> None:
    """Enter the cells of one river; a cell of no length stands at its head and its end."""
    number, name, river = named
    edges = [0.0]
    for mark in sorted(marks):
        pieces = max(1, math.ceil((mark - edges[-1]) / river.cell - 1e-9))
        start = edges[-1]
        edges += [start + (mark - start) * (i + 1) / pieces for i in range(pieces - 1)] + [mark]
    edges.append(river.length)
    for upper, lower in pairwise(edges):
        count = len(net.cells) - net.heads.setdefault(name, len(net.cells)) + 1
        cell = _cell(ledger, (number, name, river), (f"reach_{count}", upper, lower), flows)
        net.cells.append(cell)
        net.reaches.setdefault(name, []).append((int(cell["s_store"][0]), lower - upper))
        net.above[name, lower] = net.above.get((name, lower), len(net.cells) - 1)
        net.below[name, upper] = len(net.cells) - 1


def _cell(
    ledger: Ledger,
    named: tuple[int, str, River],
    stretch: tuple[str, float, float],
    flows: tuple[float, float],
) -> np.ndarray:
    number, name, river = named
    part, *ends = stretch
    mean, first = flows
    reference = river.reference_flow or mean
    length_m = (ends[1] - ends[0]) * 1000.0
    factor = storage_factor(length_m, river.speed * 86_400.0, reference, river.speed_exponent)
    width = (
        1000.0 * river.width
        if river.width
        else width_of_water(reference / M3_PER_DAY_IN_ONE_M3_PER_S)
    )
    where = f"km {ends[0]:g} to {ends[1]:g}" if length_m else f"at km {ends[0]:g}"
    store = ledger.store(
        name,
        part,
        f"{river_words(name, ledger.names)}, {where}",
        factor * first ** (1.0 - river.speed_exponent),
        role="reach",
    )
    made = row(
        CELL,
        s_store=store,
        river=number,
        storage_factor=factor,
        area=length_m * width,
        speed_exponent=river.speed_exponent,
    )
    if length_m:
        made["f_rain"] = ledger.flow("rain", store, "rain")
        made["f_sky"] = ledger.flow(store, "sky", "evaporation")
    return made


def _dam(ledger: Ledger, net: RiverNetwork, name: str, dam: Reservoir) -> None:
    volume = (_FIRST_FULL if dam.start is None else dam.start) * dam.capacity
    words = reservoir_words(name, ledger.names)
    store = ledger.store(name, "reservoir", words, volume, given=dam.start is not None)
    net.dams[name] = len(net.reservoirs)
    net.reservoirs.append(
        row(
            RESERVOIR,
            s_store=store,
            capacity=dam.capacity,
            area=dam.area * 1e6,
            dead_volume=dam.dead_storage * dam.capacity,
            f_rain=ledger.flow("rain", store, "rain"),
            f_sky=ledger.flow(store, "sky", "evaporation"),
        )
    )


def _join(
    ledger: Ledger, scenario: ScenarioFile, net: RiverNetwork, name: str, river: River
) -> None:
    """Enter the flows from cell to cell, through dams, into another river or out of the map."""
    dams = {dam.at: net.dams[key] for key, dam in scenario.reservoir.items() if dam.river == name}
    own = sorted(
        {cell for (place, _), cell in (*net.above.items(), *net.below.items()) if place == name}
    )
    lower_ends = {cell: at for (place, at), cell in net.above.items() if place == name}
    for cell, following in zip(own, [*own[1:], NONE], strict=True):
        target = _following_store(scenario, net, river, following)
        dam = dams.get(lower_ends.get(cell, math.nan))
        source = int(net.cells[cell]["s_store"][0])
        if dam is not None:
            basin = net.reservoirs[dam]
            basin["f_release"] = ledger.flow(int(basin["s_store"][0]), target, "release")
            basin["f_spill"] = ledger.flow(int(basin["s_store"][0]), target, "spill")
            basin["s_next"] = NONE if isinstance(target, str) else target
            target = int(basin["s_store"][0])
        kind = "downstream" if isinstance(target, str) else "river"
        net.cells[cell]["f_out"] = ledger.flow(source, target, kind)
        net.cells[cell]["s_next"] = NONE if isinstance(target, str) else target


def _following_store(
    scenario: ScenarioFile, net: RiverNetwork, river: River, following: int
) -> int | str:
    if following != NONE:
        return int(net.cells[following]["s_store"][0])
    if river.joins is None:
        return "downstream"
    return net.store_below(river.joins, joining_place(scenario, river))
