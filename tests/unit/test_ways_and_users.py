"""Who used water, and by which way it comes back: one flow after the other."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import label_leaving, operator
from hydroloop.tracing.returning import largest_apart, open_waters, users_of, ways_of

STORES = (
    "wren/reach",
    "wren/below",
    "lake/reservoir",
    "ash/plant",
    "ash/mains",
    "ash/toilets",
    "ash/workplaces",
    "ash/sewers",
    "ash/tank",
    "ash/soil",
    "ash/aquifer",
    "ash/subsoil",
    "ash/rock",
    "ash/drain",
    "elm/homes",
)
# source, target, kind, way by which crossing it means coming back
FLOWS = (
    ("upstream", "wren/reach", "upstream", ""),
    ("wren/reach", "wren/below", "river", ""),
    ("wren/below", "downstream", "downstream", ""),
    ("lake/reservoir", "wren/reach", "release", ""),
    ("rain", "lake/reservoir", "rain", ""),
    ("wren/reach", "ash/plant", "intake", ""),
    ("ash/plant", "ash/mains", "treatment", ""),
    ("ash/mains", "ash/toilets", "home_use", ""),
    ("ash/mains", "ash/workplaces", "work_use", ""),
    ("ash/mains", "elm/homes", "home_use", ""),
    ("ash/mains", "ash/aquifer", "leak", "ground"),
    ("ash/mains", "ash/soil", "yard_use", ""),
    ("ash/soil", "ash/aquifer", "recharge", "ground"),
    ("ash/soil", "ash/subsoil", "percolation", "ground"),
    ("ash/subsoil", "ash/rock", "recharge", ""),
    ("ash/soil", "ash/drain", "recharge", "ground"),
    ("ash/aquifer", "wren/reach", "baseflow", ""),
    ("ash/rock", "wren/reach", "interflow", ""),
    ("ash/rock", "ash/sewers", "infiltration", ""),
    ("ash/toilets", "ash/sewers", "sewage", ""),
    ("ash/workplaces", "ash/sewers", "sewage", ""),
    ("elm/homes", "wren/below", "sewage", "river"),
    ("ash/sewers", "wren/below", "overflow", "overflow"),
    ("ash/sewers", "lake/reservoir", "bypass", "overflow"),
    ("ash/soil", "wren/reach", "stormwater", "overflow"),
    ("ash/sewers", "ash/tank", "reclaimed", ""),
    ("ash/tank", "ash/plant", "reclaimed", "reclaimed to plant"),
    ("ash/tank", "ash/mains", "reclaimed", "reclaimed to plant"),
    ("ash/tank", "lake/reservoir", "reclaimed", "reclaimed to reservoir"),
    ("ash/tank", "wren/below", "reclaimed", "river"),
    ("ash/tank", "ash/soil", "reclaimed", ""),
    ("ash/tank", "ash/aquifer", "reclaimed", "ground"),
    ("ash/sewers", "wren/below", "outfall", "river"),
    ("ash/sewers", "ash/drain", "outfall", "ground"),
    ("ash/sewers", "ash/tank", "outfall", "river"),
    ("ash/sewers", "sky", "evaporation", ""),
)
NAMES = ("river", "reclaimed to plant", "reclaimed to reservoir", "ground", "overflow")


@pytest.fixture(scope="module")
def op():
    """The works at rest: what its flows are is all that is asked."""
    source, target, kind, _ = (list(column) for column in zip(*FLOWS, strict=True))
    network = Network(STORES, source, target, kind)
    ones = [[1.0] * len(STORES)] * 2
    return operator(build_record(network, edges_of("2031-01-01", 1), ones, [[0.0] * len(FLOWS)]))


def test_way_of_each_flow(op):
    """River, reclaimed to the plant or to a reservoir, ground and overflow, and none."""
    found = [NAMES[way] if way >= 0 else "" for way in ways_of(op).tolist()]
    assert found == [way for *_, way in FLOWS]


def test_rivers_and_reservoirs(op):
    """Stores at either end of what flows along a river."""
    assert [STORES[k] for k in np.flatnonzero(open_waters(op))] == [
        "wren/reach",
        "wren/below",
        "lake/reservoir",
    ]


def test_a_drain_without_baseflow_is_ground_by_what_fills_it(op):
    """What is recharged is under the ground, as is what it drains to: no way between the two."""
    ways = dict(zip([flow[:3] for flow in FLOWS], ways_of(op).tolist(), strict=True))
    assert ways["ash/soil", "ash/drain", "recharge"] == NAMES.index("ground")
    assert ways["ash/subsoil", "ash/rock", "recharge"] == -1


def chosen(*kinds):
    return np.array([kind in kinds for _, _, kind, _ in FLOWS])


def test_users_of_homes_and_workplaces(op):
    """The place and the part that a flow enters, once each."""
    users = users_of(op, chosen("home_use", "work_use"))
    assert users.town == ("ash", "ash", "elm")
    assert users.use == ("toilets", "workplaces", "homes")
    assert [users.of_flow[k] for k in (7, 8, 9)] == [0, 1, 2]
    assert (users.of_flow >= 0).sum() == 3


def test_users_of_what_leaves_a_plant(op):
    """The place that a flow leaves; an outfall and reclaimed water are called by their kind."""
    users = users_of(op, chosen("outfall", "reclaimed", "sewage"))
    assert users.town == ("ash", "ash", "elm", "ash", "ash")
    assert users.use == ("toilets", "workplaces", "homes", "reclaimed", "outfall")


@pytest.mark.parametrize(
    ("kind", "store"),
    [("bypass", "sewers"), ("overflow", "sewers"), ("treatment", "plant"), ("upstream", "reach"),
     ("downstream", "below"), ("evaporation", "sewers"), ("rain", "reservoir")],
)  # fmt: skip
def test_users_of_one_kind(op, kind, store):
    """At a boundary it is the store that the flow has."""
    assert users_of(op, chosen(kind)).use == (store,)


def test_the_largest_users_apart():
    """Two of three towns by name, the third among other places; all of them where there are three.

    Ash takes 1 + 1, elm 3, fir 1 m3/d on two days; oak as fir, but comes later.
    """
    towns = ("ash/a", "ash/b", "elm/a", "fir/a", "oak/b")
    flows = [("import", store, "home_use") for store in towns]
    flows += [(store, "sky", "evaporation") for store in towns]
    source, target, kind = (list(column) for column in zip(*flows, strict=True))
    rate = [1.0, 1.0, 3.0, 1.0, 1.0] * 2
    record = build_record(
        Network(towns, source, target, kind),
        edges_of("2031-01-01", 2),
        [[1.0] * 5] * 3,
        [rate] * 2,
    )
    op = operator(record)
    users = users_of(op, np.array(kind) == "home_use")
    for most in (4, 5):
        assert largest_apart(op, users, most) is users
    three = largest_apart(op, users, 3)
    assert three.town == ("ash", "ash", "elm", "fir", "other places")
    two = largest_apart(op, users, 2)
    assert two.town == ("ash", "ash", "elm", "other places", "other places")
    assert two.use == ("a", "b", "a", "a", "b")
    assert two.of_flow.tolist() == [0, 1, 2, 3, 4, -1, -1, -1, -1, -1]
    one = largest_apart(op, users, 1)
    assert one.town == ("other places", "other places", "elm")
    assert one.use == ("a", "b", "a")
    assert one.of_flow.tolist() == [0, 1, 2, 0, 1, -1, -1, -1, -1, -1]


def test_label_of_what_leaves():
    """Mixed by rates: 2 of 0.1 and 6 of 0.5 are 0.4; at rest the mean of both stores; a store with
    no water to give is not asked; without a flow there is nothing."""
    network = Network(
        ["a", "b"],
        ["rain", "rain", "a", "b"],
        ["a", "b", "sky", "sky"],
        ["rain", "rain", "evaporation", "evaporation"],
    )
    rate = [[2.0, 6.0, 2.0, 6.0], [0.0, 0.0, 0.0, 0.0], [0.0, 5.0, 0.0, 5.0]]
    op = operator(build_record(network, edges_of("2031-01-01", 3), [[1.0, 1.0]] * 4, rate))
    label = np.array([[9.0, 9.0], [0.1, 0.5], [0.2, 0.6], [np.nan, 0.7]])[..., None]
    out = np.array([True, False, True, True])
    assert label_leaving(op, label, out)[:, 0] == pytest.approx([0.4, 0.4, 0.7])
    assert label_leaving(op, label, ~out)[:, 0].tolist() == [0.0, 0.0, 0.0]
