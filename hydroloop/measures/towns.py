"""Towns of a record: which flows are their taps, intakes, wells and outfalls, and their rivers."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import HydroloopWarning
from hydroloop.record import ALONG, BOUNDARIES, OPEN_WATERS

RIVER_KINDS = ("river", "upstream", "lateral", "release", "spill")
"""Flows that come down a river."""

LEAVES_AS_WATER = ("river", "downstream", "release", "spill")
"""Flows that go on down a river."""

_TAKES = ("intake", "supply", "home_use")
_NOT_SUPPLY = ("reclaimed", "yards", "soil", "subsoil", "groundwater")


@dataclass(frozen=True, eq=False)
class Town:
    """Flows of a record as one town sees them; each a mask of shape (flow).

    Attributes
    ----------
    name : str
        Place whose homes are supplied.
    taps, to_work, to_yards : numpy.ndarray of bool
        Flows into homes, workplaces and yards.
    intakes, wells : numpy.ndarray of bool
        Flows out of rivers and reservoirs, and out of the ground.
    outfalls, overflows, bypasses : numpy.ndarray of bool
        Treated and untreated return flows, and what goes round the biological step.
    imports, reclaimed : numpy.ndarray of bool
        Water that is bought, and reclaimed water that goes straight into its supply.
    at_intake : numpy.ndarray of bool
        All that leaves the river stores of its intakes as water; none where one is a reservoir.
    past_intake : numpy.ndarray of bool
        Of it, what goes on down the river.
    at_outfall, returned : numpy.ndarray of bool
        What comes down the river to the stores that take its effluent, and what it returns there.
    own : numpy.ndarray of bool
        Flows out of its stores.
    mains : str
        Store that most of its tap water is drawn from; empty if none.
    first : str
        Store where most of what it takes in and buys arrives; the mains if that is nothing.
    homes : tuple of str
        Stores that its taps run into.
    water_source, outlet : str
        Reach or reservoir that most of its intake comes from, and that most of its effluent goes
        to; empty if none.
    """

    name: str
    taps: np.ndarray
    to_work: np.ndarray
    to_yards: np.ndarray
    intakes: np.ndarray
    wells: np.ndarray
    outfalls: np.ndarray
    overflows: np.ndarray
    bypasses: np.ndarray
    imports: np.ndarray
    reclaimed: np.ndarray
    at_intake: np.ndarray
    past_intake: np.ndarray
    at_outfall: np.ndarray
    returned: np.ndarray
    own: np.ndarray
    mains: str
    first: str
    homes: tuple[str, ...]
    water_source: str
    outlet: str
    drawn: np.ndarray = field(init=False)
    takes: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        # At-intake measures are about rivers if it draws from any, else about wells.
        object.__setattr__(self, "drawn", self.intakes if self.intakes.any() else self.wells)
        object.__setattr__(self, "takes", self.intakes | self.wells | self.imports | self.reclaimed)


def find_towns(record: Any, order: Iterable[str] | None = None) -> list[Town]:
    """Towns of a record.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record, or its operator.
    order : iterable of str, optional
        Names in the order that is wanted; others follow.

    Returns
    -------
    list of Town
        Every place with a flow of kind home_use into it.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> ends = (["import", "a/homes"], ["a/homes", "sky"], ["home_use", "evaporation"])
    >>> record = build_record(Network(["a/homes"], *ends), edges_of("2031-01-01", 1),
    ...                       [[0], [0]], [[1, 1]])
    >>> [town.name for town in find_towns(record)]
    ['a']
    """
    see = _Seen(record)
    homes = np.flatnonzero(see.is_kind("home_use"))
    # A home that no store stands for lies in the place that its water comes from.
    places = np.where(see.target[homes] >= 0, see.to_place[homes], see.from_place[homes]).tolist()
    found = dict.fromkeys(name for name in places if name)
    wanted = [name for name in order or () if name in found]
    taps = {name: np.zeros(len(see.kind), dtype=bool) for name in found}
    for flow, name in zip(homes.tolist(), places, strict=True):
        if name:
            taps[name][flow] = True
    return [_town(see, name, taps[name]) for name in dict.fromkeys([*wanted, *found])]


def tell_stray_outfalls(record: Any, towns: Sequence[Town]) -> None:
    """Warn of effluent that is counted at intakes, but to no town: its store lies in no town."""
    see = _Seen(record)
    stray = see.is_kind("outfall") & ~np.any([town.outfalls for town in towns], axis=0)
    if stray.any():
        sources = [see.stores[store] for store in see.source[stray].tolist()]
        names = ", ".join(f'"{name}"' for name in dict.fromkeys(sources))
        warnings.warn(
            f"The effluent of {names} belongs to no town: measures of a town's effluent leave it "
            "out, and are NaN for a town without an outfall. Name a store by its town: "
            f'"{towns[0].name}/{sources[0]}".',
            HydroloopWarning,
            stacklevel=4,
        )


def in_rivers(record: xr.Dataset) -> set[str]:
    """Stores that are reaches of rivers, or reservoirs."""
    wet = np.isin(record["role"].values, OPEN_WATERS)
    return set(record["store"].values[wet].astype(str).tolist())


def below(record: xr.Dataset, start: str) -> set[str]:
    """Every store downstream along the river, and the place itself."""
    return _along(record, {start}, "source", "target")


def above(record: xr.Dataset, town: Town) -> set[str]:
    """Every store upstream of a town's intakes along the river, and those that they draw from."""
    drawn_from = record["source"].values[town.intakes].astype(str)
    return _along(record, set(drawn_from.tolist()), "target", "source")


def _along(record: xr.Dataset, edge: set[str], near: str, far: str) -> set[str]:
    along = np.isin(record["kind"].values, ALONG)
    ends = (record[end].values[along].astype(str).tolist() for end in (near, far))
    pairs, found = list(zip(*ends, strict=True)), set[str]()
    while edge:
        found |= edge
        edge = {b for a, b in pairs if a in edge and b not in found and b not in BOUNDARIES}
    return found


class _Seen:
    """Flows with the place and role of both their ends, from a record or an operator."""

    def __init__(self, record: Any):
        if isinstance(record, xr.Dataset):
            self.stores = record["store"].values.tolist()
            where = {name: number for number, name in enumerate(self.stores)}
            self.source, self.target = (
                np.array(
                    [where.get(name, -1) for name in record[end].values.tolist()], dtype=np.int64
                )
                for end in ("source", "target")
            )
            kinds, places, roles = (record[name].values for name in ("kind", "place", "role"))
            rate = record["rate"].values
        else:
            self.stores, self.source, self.target = record.stores, record.source, record.target
            kinds, places, roles, rate = (
                record.kinds,
                record.places,
                record.roles,
                record.water.rate,
            )
        self.kind = np.array(kinds, dtype=str)
        place, self.roles = np.array([*places, ""], dtype=str), np.array([*roles, ""], dtype=str)
        self.from_place, self.to_place = place[self.source], place[self.target]
        self.from_role, self.to_role = self.roles[self.source], self.roles[self.target]
        self.total = rate.sum(axis=(0, *range(2, rate.ndim)))
        self._kinds: dict[tuple[str, ...], np.ndarray] = {}

    def is_kind(self, *kinds: str) -> np.ndarray:
        """Flows of some kinds."""
        if kinds not in self._kinds:
            self._kinds[kinds] = np.isin(self.kind, kinds)
        return self._kinds[kinds]

    def most(self, ends: np.ndarray, flows: np.ndarray) -> str:
        """Store at one end of the largest of some flows; empty if there is none."""
        ranked = sorted(np.flatnonzero(flows).tolist(), key=lambda flow: -self.total[flow])
        return next((self.stores[ends[flow]] for flow in ranked if ends[flow] >= 0), "")


def _town(see: _Seen, name: str, taps: np.ndarray) -> Town:
    leaves, enters = see.from_place == name, see.to_place == name
    takes = see.is_kind("intake") & enters
    if not takes.any():
        # In a plain table water may go from the river straight to the homes.
        takes = (see.is_kind(*_TAKES) & enters | taps) & (see.source >= 0) & ~leaves
    wells = takes & (see.from_role == "groundwater")
    intakes = takes & ~wells
    mains = see.most(see.source, taps)
    outfalls, overflows = see.is_kind("outfall") & leaves, see.is_kind("overflow") & leaves
    sources, ends = (
        np.unique(side[flows]) for side, flows in ((see.source, intakes), (see.target, outfalls))
    )
    sources, ends = sources[sources >= 0], ends[ends >= 0]
    is_river = len(sources) > 0 and not (see.roles[sources] == "reservoir").any()
    from_intakes, at_end = np.isin(see.source, sources) & is_river, np.isin(see.target, ends)
    homes = np.unique(see.target[taps])
    return Town(
        name,
        taps,
        see.is_kind("work_use") & enters,
        see.is_kind("yard_use", "reclaimed") & enters & (see.to_role == "yards"),
        intakes,
        wells,
        outfalls,
        overflows,
        see.is_kind("bypass") & leaves,
        see.is_kind("import") & enters,
        see.is_kind("reclaimed") & enters & ~np.isin(see.to_role, _NOT_SUPPLY),
        from_intakes & ~see.is_kind("evaporation"),
        from_intakes & see.is_kind(*LEAVES_AS_WATER),
        see.is_kind(*RIVER_KINDS) & at_end,
        outfalls | (overflows & at_end),
        leaves,
        mains,
        see.most(see.target, takes | (see.is_kind("import") & enters)) or mains,
        tuple(see.stores[store] for store in homes.tolist() if store >= 0),
        see.most(see.source, intakes & np.isin(see.from_role, OPEN_WATERS)),
        see.most(see.target, outfalls & np.isin(see.to_role, OPEN_WATERS)),
    )
