"""Reuse along a river, from the table of measures: f, m and S at every intake.

River flow Q; each town withdraws W, consumes the share c and returns R = (1 - c) W; all is steady:

    Q' = Q - W + R        U' = U - W f + R        f = U / Q   share that passed at least one home
                          M' = M - W m + R (m+1)  m = M / Q   mean number of passes
                          G' = G + R              S = G / Q   gross: nothing taken off again

With c = 0 and the same Q everywhere f = 1 - prod(1 - W/Q) and m = S = sum(W/Q).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from conserves import assert_closes
from hypothesis import given, settings
from hypothesis import strategies as st

import hydroloop as hl
from hydroloop.record import Network, build_record, edges_of


@dataclass
class Place:
    """A town: what it withdraws, the shares consumed and sent on site, and what it uses again."""

    taken: float
    consumed: float = 0.0
    on_site: float = 0.0
    again: float = 0.0


def river(flow, towns, *, volume=1.0, used_before=0.0, days=3):
    """Record of a steady river; a last town without return measures what is below the others."""
    towns = [*towns, Place(1e-9 * flow, 1.0)]
    stores, flows = ["river/reach_0"], [("upstream", "river/reach_0", "upstream", flow)]
    for k, town in enumerate(towns):
        here, below, name = f"river/reach_{k}", f"river/reach_{k + 1}", f"town_{k}"
        used = town.taken + town.again
        back = used * (1.0 - town.consumed)
        ground = town.on_site * back
        out = back - ground - town.again
        stores += [
            below,
            *(f"{name}/{part}" for part in ("mains", "taps", "sewers", "reclaimed", "groundwater")),
        ]
        flows += [
            (here, f"{name}/mains", "intake", town.taken),
            (here, below, "river", flow - town.taken),
            (f"{name}/mains", f"{name}/taps", "home_use", used),
            (f"{name}/taps", "sky", "evaporation", used - back),
            (f"{name}/taps", f"{name}/sewers", "sewage", back - ground),
            (f"{name}/taps", f"{name}/groundwater", "sewage", ground),
            (f"{name}/groundwater", below, "baseflow", ground),
            (f"{name}/sewers", f"{name}/reclaimed", "reclaimed", town.again),
            (f"{name}/reclaimed", f"{name}/mains", "reclaimed", town.again),
            (f"{name}/sewers", below, "outfall", out),
        ]
        flow += back - town.again - town.taken
    flows.append((stores[-6], "downstream", "downstream", flow))
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(stores, source, target, kind)
    held = [volume if "reach" in name or "ground" in name else 0.0 for name in stores]
    before = {"upstream > river/reach_0": [used_before]} if used_before else None
    record = build_record(
        network,
        edges_of("2031-01-01", days),
        [held] * (days + 1),
        [rate] * days,
        used_before=before,
    )
    assert_closes(record)
    return record


def at_intakes(record):
    """f, m and S at every intake on the last day."""
    table = hl.measures(record, most=8).isel(time=-1)
    names = ("used_share_at_intake", "mean_uses_at_intake", "return_ratio")
    return [table[name].values for name in names]


def recursion(flow, towns):
    """The same three, by the equations above."""
    used = count = gross = 0.0
    rows = []
    for town in towns:
        f, m = used / flow, count / flow
        rows.append((f, m, gross / flow))
        back = (1.0 - town.consumed) * town.taken
        used += back - town.taken * f
        count += back * (m + 1.0) - town.taken * m
        gross += back
        flow += back - town.taken
    return np.array([*rows, (used / flow, count / flow, gross / flow)]).T


@pytest.mark.parametrize("volume", [0.0, 1.0, 5000.0])
def test_four_towns(volume):
    """Q 100, W 20 four times: f .2 .36 .488 .5904, m = S = .2 .4 .6 .8, however much is stored."""
    f, m, s = at_intakes(river(100.0, [Place(20.0)] * 4, volume=volume))
    assert np.abs(f - [0, 0.2, 0.36, 0.488, 0.5904]).max() <= 1e-8
    assert np.abs(m - [0, 0.2, 0.4, 0.6, 0.8]).max() <= 1e-8
    assert np.abs(s - [0, 0.2, 0.4, 0.6, 0.8]).max() <= 1e-8


def test_the_tap_has_what_the_intake_has():
    """Where no other water is mixed in, the tap's shares are those of the raw water."""
    table = hl.measures(river(100.0, [Place(20.0)] * 4))
    assert np.abs(table.used_share - table.used_share_at_intake).max() <= 1e-12
    assert np.abs(table.season_used_share.values - [0, 0.2, 0.36, 0.488, 0.5904]).max() <= 1e-8
    assert np.abs(table.season_mean_uses - table.season_return_ratio).max() <= 1e-8


def test_many_small_towns():
    """m = 1 from 100 towns: f = 1 - (1 - 1/100)^100, and by Poisson's limit .6321 within .002."""
    f, m, s = at_intakes(river(1.0, [Place(0.01)] * 100))
    assert m[-1] == pytest.approx(1.0, abs=1e-8)
    assert s[-1] == pytest.approx(1.0, abs=1e-8)
    assert f[-1] == pytest.approx(1 - 0.99**100, abs=1e-8)
    assert f[-1] == pytest.approx(1 - np.exp(-1), abs=2e-3)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 40.0), st.floats(0.0, 1.0)), min_size=1, max_size=5))
def test_any_chain(given_towns):
    """The recursion, and f <= m <= S, whatever the towns take and consume."""
    towns = [Place(*pair) for pair in given_towns]
    f, m, s = found = at_intakes(river(250.0, towns, volume=20.0))
    for ours, expected in zip(found, recursion(250.0, towns), strict=True):
        assert np.abs(ours - expected).max() <= 1e-7
    assert (f <= m + 1e-12).all()
    assert (m <= s + 1e-8).all()


def test_order_is_strict_once_used_water_is_withdrawn_again():
    """With consumption f < m < S from the third intake on, and S passes 1 in the end."""
    f, m, s = at_intakes(river(100.0, [Place(30.0, 0.3)] * 4))
    assert (f[2:] < m[2:] - 1e-3).all()
    assert (m[2:] < s[2:] - 1e-3).all()
    assert s[-1] > 1


def test_dilution_factor():
    """Stream flow over wastewater flow is 1/S: 90 of river under 10 of effluent give 10."""
    _, _, s = at_intakes(river(102.5, [Place(12.5, 0.2)]))
    assert 1 / s[-1] == pytest.approx(10.0, rel=1e-7)


def test_on_site_systems_return_water_as_well():
    """c = 0: m = S, whether water comes back by the outfall or through the ground."""
    _, m, s = at_intakes(river(100.0, [Place(20.0, 0.0, 0.6)] * 3, volume=10.0))
    assert np.abs(m - [0, 0.2, 0.4, 0.6]).max() <= 1e-7
    assert np.abs(s - m).max() <= 1e-7


def test_reuse_inside_a_town():
    """c = 0, W 20 and 30 again: homes use 50, so the mean of the effluent is 50/20 and S = m = .5.

    In the home m_h = (W m + X (m_h + 1)) / (W + X), so m_h = m + X/W; the outfall returns W at
    m_h + 1 = m + (W + X)/W, which adds W + X to the count of passes, and as much is returned.
    """
    record = river(100.0, [Place(20.0, again=30.0)], volume=4.0)
    table = hl.measures(record).isel(time=-1)
    assert float(table.mean_uses.sel(town="town_0")) == pytest.approx(1.5, abs=1e-8)
    assert float(table.used_share.sel(town="town_0")) == pytest.approx(0.6, abs=1e-8)
    assert table.mean_uses_at_intake.values[-1] == pytest.approx(0.5, abs=1e-7)
    assert table.return_ratio.values[-1] == pytest.approx(0.5, abs=1e-7)


def test_water_that_was_used_before_the_record():
    """A tenth of the river used once before: f = 1 - .9 x .8, and m = S = .1 + .2."""
    f, m, s = at_intakes(river(100.0, [Place(20.0)], used_before=0.1))
    assert f == pytest.approx([0.1, 1 - 0.9 * 0.8], abs=1e-8)
    assert m == pytest.approx([0.1, 0.3], abs=1e-8)
    assert s == pytest.approx([0.1, 0.3], abs=1e-8)
