"""Which flows of a network are a town's, for season measures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from hydroloop.record import Network

_OUTSIDE, _NOWHERE = -1, -2  # numbers of a boundary, and of a town that is not there


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
    returned : ndarray of bool
        Of both, what meets the river where the effluent does.
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
    returned: np.ndarray
    river_at_outfall: np.ndarray
    river_after_intake: np.ndarray


def flows_of(network: Network, towns: Sequence[str]) -> list[Flows]:
    """Flows of each town.

    Parameters
    ----------
    network : Network
        Stores and flows.
    towns : sequence of str
        Names of the towns.

    Returns
    -------
    list of Flows
        Masks over the flows, in the order of the towns.
    """
    seen = _Seen(network)
    return [_of_town(seen, town) for town in towns]


def _of_town(see: _Seen, town: str) -> Flows:
    here, there = see.leaves(town), see.enters(town)
    intake = see.kind("intake") & there
    wells = intake & see.from_role("groundwater")
    drawn = intake & ~wells
    effluent = see.kind("outfall") & here
    at_river = see.source[drawn & see.from_role("reach")]
    return Flows(
        delivered=see.kind("home_use") & there,
        to_work=see.kind("work_use") & there,
        to_yards=see.kind("yard_use", "reclaimed") & there & see.to_role("yards"),
        withdrawn=drawn,
        pumped=wells,
        effluent=effluent,
        overflowed=see.kind("overflow") & here,
        returned=effluent | (see.kind("overflow") & here & see.ends_in(see.target[effluent])),
        river_at_outfall=see.kind("river", "upstream", "lateral", "release", "spill")
        & see.ends_in(see.target[effluent]),
        river_after_intake=see.kind("river", "downstream", "release", "spill")
        & np.isin(see.source, at_river),
    )


class _Seen:
    """A network's flows with the place and role of both their ends; what is asked for by all towns
    is worked out once."""

    def __init__(self, network: Network):
        numbers = {name: number for number, name in enumerate(network.stores)}
        self.source, self.target = (
            np.array([numbers.get(name, _OUTSIDE) for name in ends])
            for ends in (network.source, network.target))
        self._places = {name: number for number, name in enumerate(dict.fromkeys(network.place))}
        place = np.array([*(self._places[name] for name in network.place), _OUTSIDE])
        self._from, self._to = place[self.source], place[self.target]
        self._role, self._kind = np.array([*network.role, ""]), np.array(network.kind)
        self._known: dict[tuple[str, ...], np.ndarray] = {}

    def kind(self, *kinds: str) -> np.ndarray:
        """Flows of some kinds."""
        return self._once(("kind", *kinds), lambda: np.isin(self._kind, kinds))

    def from_role(self, role: str) -> np.ndarray:
        """Flows out of stores of a role."""
        return self._once(("from", role), lambda: self._role[self.source] == role)

    def to_role(self, role: str) -> np.ndarray:
        """Flows into stores of a role."""
        return self._once(("to", role), lambda: self._role[self.target] == role)

    def leaves(self, town: str) -> np.ndarray:
        """Flows out of a town's stores."""
        return np.asarray(self._from == self._places.get(town, _NOWHERE))

    def enters(self, town: str) -> np.ndarray:
        """Flows into a town's stores."""
        return np.asarray(self._to == self._places.get(town, _NOWHERE))

    def ends_in(self, stores: np.ndarray) -> np.ndarray:
        """Flows into some stores; boundaries are none."""
        return np.isin(self.target, stores[stores != _OUTSIDE])

    def _once(self, asked: tuple[str, ...], find: Callable[[], np.ndarray]) -> np.ndarray:
        if asked not in self._known:
            self._known[asked] = find()
        return self._known[asked]
