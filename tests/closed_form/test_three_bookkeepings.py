"""Used share f, mean uses m and accumulated return ratio S, down a river of towns.

At a town, river flow Q, withdrawal W, consumed share c, return R = (1 - c) W, all of steady state:

    Q' = Q - W + R        U' = U - W f + R        f = U / Q   share that passed at least one home
                          M' = M - W m + R (m+1)  m = M / Q   mean number of passes
                          G' = G + R              S = G / Q   gross: nothing taken off again
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, trace


def river(flow, towns, tributaries=None):
    """Steady river past towns of (withdrawal, consumed share); stores above and below each."""
    tributaries = tributaries or [0.0] * len(towns)
    stores, flows = ["river/0"], [("upstream", "river/0", "upstream", flow)]
    for k, ((taken, consumed), side) in enumerate(zip(towns, tributaries, strict=True)):
        flow += side
        above, home, below = f"river/{k}", f"town_{k}/home", f"river/{k + 1}"
        back = (1 - consumed) * taken
        stores += [home, below]
        flows += [
            ("rain", above, "rain", side),
            (above, home, "home_use", taken),
            (above, below, "river", flow - taken),
            (home, below, "outfall", back),
            (home, "sky", "evaporation", taken - back),
        ]
        flow += back - taken
    flows.append((stores[-1], "downstream", "river", flow))
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(stores, source, target, kind)
    volume = np.linspace(1.0, 2.0, len(stores))
    record = build_record(network, edges_of("2031-01-01", 2), [volume] * 3, [rate] * 2)
    assert_closes(record)
    return record


def bookkeepings(record, most=40):
    """f, m and S at the river store of each intake and below the last town, by tracing."""
    uses = count_uses(record, most=most, warm_up="steady")
    assert_conserves(record, uses, "home_use")
    gross = trace(record, injection={"outfall": 1.0}, carries={"home_use": 0.0})
    here = [s for s in record["store"].values if s.startswith("river/")]
    last = uses.sel(store=here).isel(edge=-1)
    # At a station S is gross return over all river flow, that of the intake there included.
    return (
        1 - last["share"].sel(use=0).values,
        last["mean_uses"].values,
        gross["leaving"].sel(store=here).isel(time=-1).values,
    )


def recursion(flow, towns, tributaries=None):
    """The same three, by the recursion above, at each intake and below the last town."""
    used = count = gross = 0.0
    rows = []
    for (taken, consumed), side in zip(towns, tributaries or [0.0] * len(towns), strict=True):
        flow += side
        rows.append((used / flow, count / flow, gross / flow))
        back = (1 - consumed) * taken
        f, m = used / flow, count / flow
        used += back - taken * f
        count += back * (m + 1) - taken * m
        gross += back
        flow += back - taken
    rows.append((used / flow, count / flow, gross / flow))
    return np.array(rows).T


def test_four_towns_that_consume_nothing():
    """Q 100, W 20 four times: f .2 .36 .488 .5904, and m = S = .2 .4 .6 .8."""
    f, m, s = bookkeepings(river(100.0, [(20.0, 0.0)] * 4))
    assert np.abs(f[1:] - [0.2, 0.36, 0.488, 0.5904]).max() <= 1e-12
    assert np.abs(m[1:] - [0.2, 0.4, 0.6, 0.8]).max() <= 1e-12
    assert np.abs(s[1:] - [0.2, 0.4, 0.6, 0.8]).max() <= 1e-9


TOWNS = st.lists(
    st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 1.0), st.floats(0.0, 30.0)),
    min_size=1,
    max_size=6,
)


@settings(max_examples=40, deadline=None)
@given(TOWNS)
def test_any_chain(towns):
    """The recursion, and f <= m <= S, whatever is consumed and whatever joins."""
    flow, pairs, sides = 200.0, [], []
    for taken, consumed, side in towns:
        flow += side
        taken = min(taken, 0.5 * flow)
        pairs.append((taken, consumed))
        sides.append(side)
        flow -= consumed * taken
    f, m, s = bookkeepings(river(200.0, pairs, sides))
    for found, expected in zip((f, m, s), recursion(200.0, pairs, sides), strict=True):
        assert np.abs(found - expected).max() <= 1e-8
    assert (f <= m + 1e-12).all()
    assert (m <= s + 1e-8).all()


def test_order_is_strict_once_used_water_is_withdrawn_again():
    """With consumption f < m < S below the second town, and S can pass 1."""
    f, m, s = bookkeepings(river(100.0, [(45.0, 0.3)] * 5))
    assert (f[2:] < m[2:]).all()
    assert (m[2:] < s[2:]).all()
    assert s[-1] > 1


def test_passes_are_poisson_binomial():
    """c = 0, constant Q: each town is passed with w = W/Q, one apart from the other."""
    shares = [0.1, 0.35, 0.2, 0.05]
    record = river(50.0, [(50 * w, 0.0) for w in shares])
    uses = count_uses(record, most=5, warm_up="steady")
    law = np.array([1.0])
    for w in shares:
        law = np.convolve(law, [1 - w, w])
    found = uses["share"].sel(store="river/4").isel(edge=-1).values
    assert np.abs(found - [*law, 0.0]).max() <= 1e-12


def test_many_small_towns_come_to_poisson():
    """m = 1 from 400 towns: 37 % never used, f .6321 (to h) as 1 - e^-m."""
    f, m, _ = bookkeepings(river(1.0, [(1 / 400, 0.0)] * 400), most=12)
    assert m[-1] == pytest.approx(1, abs=1e-9)
    assert f[-1] == pytest.approx(1 - (1 - 1 / 400) ** 400, abs=1e-12)
    assert f[-1] == pytest.approx(1 - np.exp(-1), abs=5e-4)


def test_dilution_factor():
    """Stream flow over wastewater flow is 1/S: 90 of river and 10 of effluent give 10."""
    _, _, s = bookkeepings(river(90.0 + 12.5, [(12.5, 0.2)]))
    assert 1 / s[-1] == pytest.approx(100 / 10, rel=1e-9)
