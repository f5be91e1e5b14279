"""Who used water, and by which way used water comes back: what the flows of a record say of it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.record import ALONG
from hydroloop.tracing.operator import Operator

ABOVE, NOT_KNOWN, WITHIN = "above the map", "not known", "not returned"
"""Used before it entered the record; used, but nobody knows where; not come back since."""

OTHERS = "other places"
"""Towns that are not told apart."""

RETURNS = ("river", "reclaimed to plant", "reclaimed to reservoir", "ground", "overflow")
"""Ways by which used water comes back: by an outfall and the river, as reclaimed water straight
to the plant, or by way of a reservoir, through the ground, and past the treatment."""

WAYS = (*RETURNS, WITHIN, ABOVE, NOT_KNOWN)
"""All that a table of ways may say."""

# A use by these flows happens in the store that they leave; by others in the one they enter.
_LEAVES_USE = ("sewage", "treatment", "backwash", "bypass", "overflow", "outfall", "reclaimed")


class Users(NamedTuple):
    """Who uses the water.

    Attributes
    ----------
    town, use : tuple of str
        Place and end use of each user.
    of_flow : numpy.ndarray
        The user that each flow of the gate stands for, -1 for other flows; shape (flow).
    """

    town: tuple[str, ...]
    use: tuple[str, ...]
    of_flow: np.ndarray


def users_of(op: Operator, gate: np.ndarray) -> Users:
    """Users of water: one for each place and end use that flows of the gate lead to.

    An end use is the part of the town that the store is, as ``toilets``; of water that leaves a
    wastewater plant it is the kind of the flow.
    """
    names: dict[tuple[str, str], int] = {}
    of_flow = np.full(len(op.flows), -1)
    for flow in np.flatnonzero(gate).tolist():
        ends = [int(op.target[flow]), int(op.source[flow])]
        if op.kinds[flow] in _LEAVES_USE:
            ends.reverse()
        store = next((end for end in ends if end >= 0), -1)
        if store < 0:
            continue  # from outside to outside
        kind = op.kinds[flow]
        use = kind if kind in ("outfall", "reclaimed") else op.roles[store] or kind
        name = (op.places[store] or op.stores[store], use)
        of_flow[flow] = names.setdefault(name, len(names))
    return Users(tuple(town for town, _ in names), tuple(use for _, use in names), of_flow)


def largest_apart(op: Operator, users: Users, most: int) -> Users:
    """The towns that use most water, and all others as one where there are more."""
    towns = list(dict.fromkeys(users.town))
    if len(towns) <= most:
        return users
    flows = np.flatnonzero(users.of_flow >= 0)
    place = np.array([towns.index(town) for town in users.town])[users.of_flow[flows]]
    water = np.bincount(place, op.water.rate[:, flows].sum(axis=(0, 2)), len(towns))
    named = {towns[k] for k in np.argsort(-water, kind="stable")[:most].tolist()}
    names: dict[tuple[str, str], int] = {}
    now = [
        names.setdefault((town if town in named else OTHERS, use), len(names))
        for town, use in zip(users.town, users.use, strict=True)
    ]
    return Users(
        tuple(town for town, _ in names),
        tuple(use for _, use in names),
        np.append(now, -1)[users.of_flow],
    )


def open_waters(op: Operator) -> np.ndarray:
    """Rivers and reservoirs: the stores that something flows along, shape (store)."""
    along = np.isin(op.kinds, ALONG)
    return _ends(op, along, op.source) | _ends(op, along, op.target)


def ways_of(op: Operator) -> np.ndarray:
    """The way of `RETURNS` that crossing each flow means, -1 for none; shape (flow)."""
    is_open, under = open_waters(op), _grounds(op)
    dams = _ends(op, np.isin(op.kinds, ("release", "spill")), op.source)
    dams |= np.array(op.roles) == "reservoir"
    feeds = np.isin(op.kinds, ("treatment", "supply", "home_use", "work_use"))
    into_works = _ends(op, feeds, op.source)
    found = np.full(len(op.flows), -1)
    for flow, kind in enumerate(op.kinds):
        source, target = int(op.source[flow]), int(op.target[flow])
        if source < 0 or target < 0:
            continue
        way = ""
        if under[target] and not under[source]:
            way = "ground"
        elif kind == "outfall":
            way = "river"
        elif kind == "reclaimed" and into_works[target]:
            way = "reclaimed to plant"
        elif is_open[target] and not is_open[source]:
            way = _into_open(kind, bool(dams[target]))
        if way:
            found[flow] = RETURNS.index(way)
    return found


def _into_open(kind: str, is_dam: bool) -> str:
    """Way that a flow of some kind into a river or reservoir is, empty if none."""
    if kind in ("overflow", "bypass", "stormwater"):
        return "overflow"
    if kind == "reclaimed" and is_dam:
        return "reclaimed to reservoir"
    return "river" if kind in ("sewage", "reclaimed") else ""


def _grounds(op: Operator) -> np.ndarray:
    """Stores under the ground, shape (store)."""
    drained = _ends(op, np.isin(op.kinds, ("baseflow", "interflow", "infiltration")), op.source)
    filled = _ends(op, np.isin(op.kinds, ("recharge",)), op.target)
    return drained | filled | np.isin(op.roles, ("groundwater", "subsoil"))


def _ends(op: Operator, flows: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Stores at one end of some flows, shape (store)."""
    found = np.zeros(len(op.stores) + 1, dtype=bool)
    found[end[flows]] = True  # boundaries count last
    return found[:-1]
