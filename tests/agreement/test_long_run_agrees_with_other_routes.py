"""The closed form of the long run against linear algebra by hand, walks, and endless repeats."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from conserves import assert_closes, assert_conserves
from random_records import basin, random_record

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, follow, long_run, operator
from hydroloop.tracing.along_the_flow import along_the_flow


def _graph(record):
    graph = nx.MultiDiGraph()
    graph.add_nodes_from(record["store"].values)
    mean = record["rate"].mean("time").values
    names = (record[k].values for k in ("source", "target", "kind"))
    for a, b, kind, rate in zip(*names, mean, strict=True):
        graph.add_edge(a, b, weight=rate, kind=kind)
    return graph


@pytest.mark.parametrize("seed", range(8))
def test_fundamental_matrix(seed):
    """N = (I - P)^-1 with P read from a networkx graph of the mean flows."""
    record = random_record(seed, stores=8, steps=10)
    assert_closes(record)
    graph = _graph(record)
    stores = list(record["store"].values)
    flow = nx.to_numpy_array(graph, nodelist=stores, weight="weight", multigraph_weight=sum)
    days = record.sizes["time"]
    gained = (record["volume"][-1] - record["volume"][0]).values / days
    out = np.array([graph.out_degree(s, weight="weight") for s in stores])
    through = out + np.maximum(gained, 0)
    runs = through > 0
    share = flow[np.ix_(runs, runs)] / through[runs, None]
    expected = np.linalg.inv(np.eye(runs.sum()) - share)
    found = long_run(record)
    assert np.allclose(found["visits"].values[np.ix_(runs, runs)], expected, atol=1e-10)
    assert np.allclose(found["ends"].sum("exit").values, runs, atol=1e-10)
    back = 1 - 1 / np.diag(expected)
    assert float(found["cycling_index"]) == pytest.approx(
        (through[runs] * back).sum() / through.sum(), abs=1e-10
    )


@pytest.mark.parametrize("seed", range(6))
def test_order_along_the_flow(seed):
    """Groups are networkx's strongly connected components, in an order that the flow allows."""
    op = operator(random_record(seed, stores=30, steps=1))
    after = [set() for _ in op.stores]
    for a, b in zip(op.source.tolist(), op.target.tolist(), strict=True):
        if a >= 0 and b >= 0:
            after[a].add(b)
    graph = nx.DiGraph({k: list(v) for k, v in enumerate(after)})
    groups = along_the_flow(after)
    expected = {frozenset(c) for c in nx.strongly_connected_components(graph)}
    assert {frozenset(group) for group in groups} == expected
    turn = {store: k for k, group in enumerate(groups) for store in group}
    assert all(turn[a] <= turn[b] for a, b in graph.edges)


def _steady_town(steps):
    flows = [
        ("upstream", "river", "upstream", 4.0),
        ("river", "home", "home_use", 5.0),
        ("home", "river", "outfall", 3.0),
        ("home", "sky", "evaporation", 2.0),
        ("river", "downstream", "river", 2.0),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(["river", "home"], source, target, kind)
    edges = edges_of("2031-01-01", steps)
    return build_record(network, edges, [[8.0, 1.0]] * (steps + 1), [rate] * steps)


def test_steady_flow_agrees_with_count_uses():
    """Uses behind the water, from the closed form and from the settled trace."""
    record = _steady_town(30)
    assert_closes(record)
    found, uses = long_run(record), count_uses(record, most=40)
    assert_conserves(record, uses, "home_use")
    assert np.allclose(uses["mean_uses"].isel(edge=-1), found["mean_uses"], atol=1e-8)
    assert np.allclose(1 - uses["share"].isel(edge=-1, use=0), found["used_share"], atol=1e-8)


def test_steady_flow_agrees_with_follow():
    """Uses ahead of a parcel, and where it ends, when the season is very long."""
    record = _steady_town(400)
    found = long_run(record)
    for store in ("river", "home"):
        fate = follow(record, at=store, on="2031-01-01", most=60)
        ahead = float((fate["share"] * fate["use"]).sum())
        assert ahead == pytest.approx(float(found["passes"].sel(store=store)), abs=1e-9)
        for end in ("sky", "downstream"):
            left = float(fate["share"].sum("use").sel(place=end))
            expected = float(found["ends"].sel(store=store, exit=end))
            assert left == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("record", [random_record(4, steps=30), basin(2, steps=365)])
def test_warm_up_agrees_with_repeating_the_year(record):
    """Labels that are settled at once are left unchanged by a plain repeat of the year."""
    uses = count_uses(record, most=4)
    first, last = (uses.isel(edge=k) for k in (0, -1))
    stands = (record["volume"][0] > 0).values & last["has_water"].values
    for name in ("share", "unknown", "mean_uses"):
        gap = np.abs(first[name].values - last[name].values)[..., stands]
        assert gap.max(initial=0) <= 1e-8
    assert uses.attrs["warm_up_change"] <= 1e-9
