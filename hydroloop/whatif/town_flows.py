"""Which flows of a network are a town's, for season measures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from hydroloop.record import Network


@dataclass(frozen=True, eq=False)
class Flows:
    """Flows of one town, as masks of shape (flow).

    Attributes
    ----------
    delivered, to_work, to_yards : ndarray of bool
        Into homes, workplaces and yards.
    withdrawn, pumped : ndarray of bool
        Out of rivers and reservoirs, and out of the ground.
    effluent, overflowed : ndarray of bool
        Treated and untreated return flows.
    river_at_outfall : ndarray of bool
        What comes down the river to the store that takes the effluent.
    river_after_intake : ndarray of bool
        What goes on down the river from the store of the intake; none at a reservoir.
    """

    delivered: np.ndarray
    to_work: np.ndarray
    to_yards: np.ndarray
    withdrawn: np.ndarray
    pumped: np.ndarray
    effluent: np.ndarray
    overflowed: np.ndarray
    river_at_outfall: np.ndarray
    river_after_intake: np.ndarray


def flows_of(network: Network, town: str) -> Flows:
    """Flows of a town.

    Parameters
    ----------
    network : Network
        Stores and flows.
    town : str
        Name of the town.

    Returns
    -------
    Flows
        Masks over the flows.
    """
    see = _Seen(network)
    intake = see.flows(("intake",), to_place=town)
    wells = intake & np.isin(see.from_role, ["groundwater"])
    effluent = see.flows(("outfall",), from_place=town)
    stores = set(network.stores)
    outfalls = {store for store in see.target[effluent].tolist() if store in stores}
    drawn = intake & ~wells
    at_river = drawn & np.isin(see.from_role, ["reach"])
    return Flows(
        delivered=see.flows(("home_use",), to_place=town),
        to_work=see.flows(("work_use",), to_place=town),
        to_yards=see.flows(("yard_use", "reclaimed"), to_place=town)
        & np.isin(see.to_role, ["yards"]),
        withdrawn=drawn,
        pumped=wells,
        effluent=effluent,
        overflowed=see.flows(("overflow",), from_place=town),
        river_at_outfall=see.flows(("river", "upstream", "release", "spill"))
        & np.isin(see.target, list(outfalls)),
        river_after_intake=see.flows(("river", "downstream", "release", "spill"))
        & np.isin(see.source, see.source[at_river])
        & bool(at_river.any()),
    )


class _Seen:
    """A network's flows with the place and role of both their ends."""

    def __init__(self, network: Network):
        self.source, self.target = np.array(network.source), np.array(network.target)
        self.kind = np.array(network.kind)
        place = dict(zip(network.stores, network.place, strict=True))
        role = dict(zip(network.stores, network.role, strict=True))
        self.from_place, self.to_place = _ends(network.source, place), _ends(network.target, place)
        self.from_role, self.to_role = _ends(network.source, role), _ends(network.target, role)

    def flows(
        self, kinds: Iterable[str], *, from_place: str | None = None, to_place: str | None = None
    ) -> np.ndarray:
        chosen = np.isin(self.kind, list(kinds))
        if from_place is not None:
            chosen &= self.from_place == from_place
        if to_place is not None:
            chosen &= self.to_place == to_place
        return chosen


def _ends(names: Iterable[str], words: dict[str, str]) -> np.ndarray:
    return np.array([words.get(name, "") for name in names])
