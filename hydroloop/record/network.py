"""The part of a water record that stays the same from step to step: its stores and flows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from hydroloop.errors import Problem, TableError
from hydroloop.record.names import BOUNDARIES, flow_ids, nearest, place_of, role_of


@dataclass(frozen=True)
class Network:
    """Stores, and the flows that join them.

    Place, role, label and flow names may be left empty; they are then made from the other names.

    Parameters
    ----------
    stores : sequence of str
        Names, best ``place/part``. Shape (store).
    source, target : sequence of str
        A store or one of `BOUNDARIES` each. Shape (flow).
    kind : sequence of str
        What each flow is. Shape (flow).
    flow : sequence of str
        Unique name of each flow. Shape (flow).
    place, role, label : sequence of str
        Place and role of each store, and words for it that people read. Shape (store).

    Raises
    ------
    TableError
        A name is missing, double or unknown, or a flow joins a store with itself or a boundary
        with a boundary. Carries every problem.

    Examples
    --------
    >>> loop = Network(["lake"], ["upstream", "lake"], ["lake", "downstream"], ["river", "river"])
    >>> loop.flow
    ('upstream > lake', 'lake > downstream')
    """

    stores: Sequence[str]
    source: Sequence[str]
    target: Sequence[str]
    kind: Sequence[str]
    flow: Sequence[str] = ()
    place: Sequence[str] = ()
    role: Sequence[str] = ()
    label: Sequence[str] = ()

    def __post_init__(self) -> None:
        problems = [*_lengths(self), *_stores(self.stores)]
        if not problems:
            problems = [*_ends(self), *_flows(self)]
        if problems:
            raise TableError(problems)
        names = tuple(map(str, self.stores))
        fill = {
            "stores": names,
            "source": tuple(map(str, self.source)),
            "target": tuple(map(str, self.target)),
            "kind": tuple(map(str, self.kind)),
            "flow": tuple(self.flow) or tuple(flow_ids(self.source, self.target, self.kind)),
            "place": tuple(self.place) or tuple(map(place_of, names)),
            "role": tuple(self.role) or tuple(map(role_of, names)),
            "label": tuple(self.label) or names,
        }
        for field, value in fill.items():
            object.__setattr__(self, field, value)


def _lengths(network: Network) -> list[Problem]:
    flows, stores = len(network.source), len(network.stores)
    wanted = {"target": flows, "kind": flows}
    wanted |= {name: flows for name in ("flow",) if getattr(network, name)}
    wanted |= {name: stores for name in ("place", "role", "label") if getattr(network, name)}
    return [
        Problem(name, f"has {len(getattr(network, name))} entries, but {size} are wanted.")
        for name, size in wanted.items()
        if len(getattr(network, name)) != size
    ]


def _stores(stores: Sequence[str]) -> list[Problem]:
    nothing = Problem("volumes", "there is no store.", "Name at least one.")
    problems = [] if len(stores) else [nothing]
    for store, count in Counter(stores).items():
        if not isinstance(store, str) or not store.strip():
            problems.append(Problem("volumes", f"{store!r} is no name.", "Write place/part."))
        elif store in BOUNDARIES:
            cure = "Give the store another name."
            problems.append(Problem("volumes", f'"{store}" is the name of a boundary.', cure))
        if count > 1:
            problems.append(Problem("volumes", f'the store "{store}" is there {count} times.'))
    return problems


def _ends(network: Network) -> list[Problem]:
    known = {*network.stores, *BOUNDARIES}
    stores = set(network.stores)
    problems: dict[Problem, None] = {}
    for a, b in zip(network.source, network.target, strict=True):
        for column, name in (("source", a), ("target", b)):
            if name not in known:
                what = f'"{name}" is neither a store nor a boundary.'
                cure = nearest(name, known) or f"Boundaries are {', '.join(BOUNDARIES)}."
                problems[Problem(f"flows.{column}", what, cure)] = None
        if a == b:
            problems[Problem("flows", f'"{a}" flows into itself.', "Leave that flow out.")] = None
        elif a not in stores and b not in stores and {a, b} <= known:
            what = f'"{a} > {b}" touches no store.'
            problems[Problem("flows", what, "Let it pass through a store.")] = None
    return list(problems)


def _flows(network: Network) -> list[Problem]:
    ids = network.flow or flow_ids(network.source, network.target, network.kind)
    return [
        Problem("flows.flow", f'the flow "{name}" is there {count} times.', "Name them apart.")
        for name, count in Counter(ids).items()
        if count > 1
    ]
