"""Water that joins a river along its length: from which land, and into which reaches."""

from __future__ import annotations

import numpy as np

from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_river import River
from hydroloop.waterworks.drainage import area_at_end
from hydroloop.waterworks.layout import LATERAL, MOUTH
from hydroloop.waterworks.ledger import Ledger, row
from hydroloop.waterworks.river_network import RiverNetwork
from hydroloop.waterworks.sizes import town_sizes


def lateral_area(scenario: ScenarioFile, name: str) -> float:
    """Land that gives its water to a river along its length [km2].

    It is what the river's catchment grows by from its head to its end, less the land of
    tributaries, towns and shared aquifers, which have waters of their own.
    """
    river = scenario.river[name]
    if river.catchment is None or river.lateral_inflow is not None:
        return 0.0
    others = sum(_whole_area(other) for other in scenario.river.values() if other.joins == name)
    others += sum(
        town_sizes(town).land_area / 1e6
        for town in scenario.town.values()
        if (town.storm_outlet or town.outfall).river == name
    )
    others += sum(
        own_area(scenario, key)
        for key, aquifer in scenario.aquifer.items()
        if aquifer.river == name
    )
    return max(0.0, _whole_area(river) - river.catchment - others)


def _whole_area(river: River) -> float:
    """Drainage area at the end of a river [km2]; 0 where none is known."""
    if river.catchment is None or river.catchment_at_end is not None:
        return river.catchment_at_end or 0.0
    return river.catchment if river.inflow else area_at_end(river.catchment, river.length)


def own_area(scenario: ScenarioFile, name: str) -> float:
    """Land over a shared aquifer on which no town stands [km2]."""
    towns = [town for town in scenario.town.values() if town.land.aquifer == name]
    built = sum(town_sizes(town).land_area / 1e6 for town in towns)
    return max(0.0, scenario.aquifer[name].area - built)


def lateral_ratio(scenario: ScenarioFile, name: str) -> float:
    """Lateral inflow over the inflow at the head of a river whose inflow is given [-].

    The drainage-area ratio: land beside the river yields as much to an area as that above its head
    (as given in Emerson et al. 2005, USGS SIR 2005-5017; from memory).
    """
    river = scenario.river[name]
    if river.inflow is None or not river.catchment:
        return 0.0
    return lateral_area(scenario, name) / river.catchment


def draw_mouths(
    ledger: Ledger, rivers: RiverNetwork, place: str, streams: tuple[int, int], head_share: float
) -> list[np.ndarray]:
    """Streams of a catchment that join its river at the head and along it.

    `streams` are the number of their row and their store.
    """
    number, store = streams
    head = int(rivers.cells[rivers.heads[place]]["s_store"][0])
    flow = ledger.flow(store, head, "river")
    made = [row(MOUTH, share=head_share, streams=number, s_river=head, f_flow=flow)]
    for share, reach in rivers.along(place) if head_share < 1.0 else ():
        flow = ledger.flow(store, reach, "lateral")
        share *= 1.0 - head_share
        made.append(row(MOUTH, share=share, streams=number, s_river=reach, f_flow=flow))
    return made


def draw_laterals(
    ledger: Ledger, rivers: RiverNetwork, place: str, number: int, ratio: float | None
) -> list[np.ndarray]:
    """Water that joins a river along it from beyond the map; `number` is that of the river.

    `ratio` is its share of the inflow at the head; none: it is given.
    """
    made = []
    for share, reach in rivers.along(place):
        flow = ledger.flow("upstream", reach, "lateral")
        of = (
            {"share": share, "of_head": 0}
            if ratio is None
            else {"share": ratio * share, "of_head": 1}
        )
        made.append(row(LATERAL, river=number, s_river=reach, f_flow=flow, **of))
    return made
