"""Each measure on a record small enough to work out on paper."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.measures import (
    balance,
    run_of,
    season_mean,
    time_since_use,
    transit_times,
    turnover_time,
)
from hydroloop.measures.transit import PARTS
from hydroloop.record import Network, build_record, edges_of, flow_mask
from hydroloop.tracing import find_gate, operator


def record_of(flows, volumes, days=3, **more):
    """Steady record from (source, target, kind, rate) and volumes."""
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(list(volumes), source, target, kind)
    record = build_record(
        network,
        edges_of("2031-01-01", days),
        [list(volumes.values())] * (days + 1),
        [rate] * days,
        **more,
    )
    assert_closes(record)
    return record


def chain(days=12, held=3.0):
    """Upper town's effluent goes to a reach of `held` days, from which the lower town drinks."""
    flows = [
        ("import", "up/mains", "import", 4.0),
        ("up/mains", "up/taps", "home_use", 4.0),
        ("up/taps", "up/contact", "sewage", 4.0),
        ("up/contact", "wren/reach", "outfall", 4.0),
        ("upstream", "wren/reach", "upstream", 6.0),
        ("wren/reach", "low/mains", "intake", 1.0),
        ("low/mains", "low/taps", "home_use", 1.0),
        ("low/taps", "sky", "evaporation", 1.0),
        ("wren/reach", "downstream", "downstream", 9.0),
    ]
    volumes = {
        "up/mains": 0.0,
        "up/taps": 0.0,
        "up/contact": 0.0,
        "wren/reach": held * 10,
        "low/mains": 0.0,
        "low/taps": 0.0,
    }
    return record_of(flows, volumes, days)


def test_turnover_time():
    """4000 m3 at 24,000 m3/d are four hours; a store that only gains counts by its inflow."""
    flows = [
        ("import", "a/clearwell", "import", 24_000.0),
        ("a/clearwell", "downstream", "supply", 24_000.0),
    ]
    found = turnover_time(operator(record_of(flows, {"a/clearwell": 4000.0})))
    assert found.item() == pytest.approx(4 / 24, abs=1e-12)
    pond = Network(["a/pond"], ["rain"], ["a/pond"], ["rain"])
    filling = build_record(pond, edges_of("2031-01-01", 2), [[0], [2], [4]], [[2], [2]])
    assert turnover_time(operator(filling)).item() == pytest.approx(2 / 2)


def test_turnover_time_with_unequal_steps():
    """A day of 10 m3/d and three of 2 m3/d have a mean of 4 m3/d: 8 m3 take 2 days."""
    edges = pd.to_datetime(["2031-01-01", "2031-01-02", "2031-01-05"])
    lake = Network(["lake"], ["upstream", "lake"], ["lake", "downstream"], ["upstream"] * 2)
    record = build_record(lake, edges, [[8], [8], [8]], [[10, 10], [2, 2]])
    assert turnover_time(operator(record)).item() == pytest.approx(2.0)


def test_last_use_of_a_mixed_reach():
    """A reach of V/q = 3 d: the part (1/4)(3/4)^k of it came in k days ago, .4 of it used."""
    op = operator(chain(days=12))
    glass = (op.stores.index("low/mains"), 11)
    told = time_since_use(op, find_gate(op, "home_use"), [glass])
    expected = 0.4 * 0.25 * 0.75 ** np.arange(12)
    assert np.abs(told["last_use_share"][0, :, 0] - expected).max() <= 1e-12
    assert told["last_use_unknown"].item() == pytest.approx(0.75**12, abs=1e-12)
    assert told["last_use_never"].item() == pytest.approx(0.6 * (1 - 0.75**12), abs=1e-12)
    used = 0.4 * (1 - 0.75**12)
    # .25, .4375, .578 of the used part within 0, 1, 2 days: half of it within 2.
    assert told["last_use_median"].item() == 2.0
    assert told["within_7"].item() == pytest.approx(0.4 * (1 - 0.75**8) / used, abs=1e-12)
    assert told["within_30"].item() == pytest.approx(1.0, abs=1e-12)
    molecules = 250 * 0.998 / 18.015 * 6.02214076e23
    assert told["molecules_in_homes_last_month"].item() == pytest.approx(
        molecules * used, rel=1e-12
    )


def test_glass_is_of_the_most_used_day_that_is_known():
    """Every day has the same used share, but only late ones know when: the glass is a late one."""
    table = hl.measures(chain(days=12)).sel(town="low")
    assert np.abs(table.used_share - 0.4).max() <= 1e-9
    # Nine tenths are known from the ninth day on: 1 - .75^8 = .8999, 1 - .75^9 = .925.
    assert str(table.glass_date.values)[:10] == "2031-01-09"


def test_a_glass_that_nothing_dates_is_of_the_most_used_day():
    """In four days less than nine tenths are known of any: the glass is that of the most used."""
    record = chain(days=4)
    town = hl.measures(record).sel(town="low")
    assert (
        str(town.glass_date.values)[:10]
        == str(town.time.values[int(town.used_share.values.round(9).argmax())])[:10]
    )
    assert str(town.glass_date.values)[:10] == "2031-01-01"


def test_used_before_the_record_counts_as_used_at_an_unknown_time():
    """Three fifths used above the record: no median, for more than half has no date."""
    flows = [
        ("upstream", "wren/reach", "upstream", 5.0),
        ("wren/reach", "a/taps", "home_use", 5.0),
        ("a/taps", "sky", "evaporation", 5.0),
    ]
    record = record_of(
        flows, {"wren/reach": 0.0, "a/taps": 0.0}, used_before={"upstream > wren/reach": [0.4, 0.2]}
    )
    town = hl.measures(record, most=3).sel(town="a")
    assert town.use_share.isel(time=0).values.tolist() == pytest.approx([0.4, 0.4, 0.2, 0.0])
    assert float(town.last_use_before_record) == pytest.approx(0.6)
    assert np.isnan(float(town.last_use_median))
    assert float(town.within_90) == 0.0
    assert float(town.season_return_ratio) == pytest.approx(0.8)


def test_what_was_used_above_has_passed_no_toilet_that_is_known():
    """Of a tap that was used above by half, and by none below, no part has flushed a toilet."""
    flows = [
        ("upstream", "wren/reach", "upstream", 5.0),
        ("wren/reach", "a/mains", "intake", 5.0),
        ("a/mains", "a/toilets", "home_use", 2.0),
        ("a/mains", "a/taps", "home_use", 3.0),
        ("a/toilets", "a/sewers", "sewage", 2.0),
        ("a/taps", "a/sewers", "sewage", 3.0),
        ("a/sewers", "b/mains", "reclaimed", 5.0),
        ("b/mains", "b/taps", "home_use", 5.0),
        ("b/taps", "sky", "evaporation", 5.0),
    ]
    stores = ("wren/reach", "a/mains", "a/toilets", "a/taps", "a/sewers", "b/mains", "b/taps")
    record = record_of(
        flows, dict.fromkeys(stores, 0.0), used_before={"upstream > wren/reach": [0.5]}
    )
    table = hl.measures(record, most=3)
    assert table.season_used_share.sel(town=["a", "b"]).values == pytest.approx([0.5, 1.0])
    # What flows from a to b has just passed a's toilets by two fifths.
    assert table.season_toilet_share.sel(town=["a", "b"]).values == pytest.approx([0.0, 0.4])


def test_transit_times():
    """Behind the outfall a reach holds water 3 days on the mean: half within 3 ln 2, and so on."""
    record = chain(days=120)
    outfall, tap = (
        flow_mask(record, kind="outfall"),
        flow_mask(record, to_place="low", kind="home_use"),
    )
    found = transit_times(operator(record), outfall, [tap, ~(tap | ~tap)])
    # Mixed reach: 1 - exp(-t / 3) has come within t; times are known to half of six hours.
    for number, part in enumerate(PARTS):
        assert found.time[number, 0, 0] == pytest.approx(
            -3.0 * np.log(1.0 - part), rel=0.03, abs=0.125
        )
    assert np.isnan(found.time[:, 1]).all()
    assert found.share[0, 0] == pytest.approx(0.4, abs=1e-6)
    table = hl.measures(record)
    way = table.outfall_to_tap_time.sel(town="up")
    assert way.sel(town_to="low").values == pytest.approx(found.time[:, 0, 0])
    assert np.isnan(table.outfall_to_tap_time.sel(town="low", town_to="up")).all()
    assert float(table.outfall_to_tap_share.sel(town="up", town_to="low")) == pytest.approx(0.4)
    assert float(table.outfall_to_tap_ground.sel(town="up", town_to="low")) == pytest.approx(
        0.0, abs=1e-6
    )


def test_intake_to_outfall():
    """Three basins of 2, 1 and .5 days in a row take 3.5 days on the mean, half of it less."""
    flows = [
        ("upstream", "wren/reach", "upstream", 9.0),
        ("wren/reach", "a/mains", "intake", 2.0),
        ("wren/reach", "downstream", "downstream", 7.0),
        ("a/mains", "a/taps", "home_use", 2.0),
        ("a/taps", "a/contact", "sewage", 2.0),
        ("a/contact", "downstream", "outfall", 2.0),
    ]
    volumes = {"wren/reach": 1.0, "a/mains": 4.0, "a/taps": 2.0, "a/contact": 1.0}
    table = hl.measures(record_of(flows, volumes, 90)).sel(town="a")
    share, days = table.intake_to_outfall_share, table.days_between
    assert float(share.sum()) == pytest.approx(1.0, abs=1e-6)
    assert float((share * days).sum()) == pytest.approx(3.5, rel=1e-4)
    # Three mixed basins: 1 - sum of tau_i^2 exp(-t/tau_i) / ((tau_i - tau_j)(tau_i - tau_k)).
    taus = (2.0, 1.0, 0.5)

    def come(t):
        return 1.0 - sum(
            a**2 * np.exp(-t / a) / np.prod([a - b for b in taus if b != a]) for a in taus
        )

    for part in (0.1, 0.5, 0.9):
        assert come(float(table.intake_to_outfall_time.sel(part=part))) == pytest.approx(
            part, abs=0.05
        )
    assert float(table.intake_to_outfall_ground) == 0.0
    assert float(table.intake_to_outfall_pending) == pytest.approx(0.0, abs=1e-6)
    # Mains: 4 m3 at 2 m3/d are 2 d; the reach before them does not count.
    assert table.water_age.values[-1] == pytest.approx(2.0, rel=1e-4)


def test_parcel():
    """Released into mains of V = q: half goes to the homes each day, and over the sky at once."""
    flows = [
        ("import", "a/mains", "import", 2.0),
        ("a/mains", "a/taps", "home_use", 2.0),
        ("a/taps", "sky", "evaporation", 2.0),
    ]
    table = hl.measures(record_of(flows, {"a/mains": 2.0, "a/taps": 0.0}, 3)).sel(town="a")
    assert str(table.parcel_date.values)[:10] == "2031-01-01"
    assert float(table.parcel_passes) == pytest.approx(7 / 8, abs=1e-12)
    ends = table.parcel_end_share
    assert float(ends.sel(end="evaporated")) == pytest.approx(7 / 8, abs=1e-12)
    assert float(ends.sel(end="in pipes and water works")) == pytest.approx(1 / 8, abs=1e-12)
    assert float(table.lifetime_passes) == pytest.approx(1.0, abs=1e-12)


def test_balance():
    """Pond a takes 4 in two days and hands 2 to b: in 4, out 2, change 2; whole in 4, change 4."""
    both = ["a/pond", "b/pond"]
    ponds = Network(both, ["rain", "a/pond"], both, ["rain", "river"])
    edges = edges_of("2031-01-01", 2)
    record = build_record(ponds, edges, [[0, 0], [1, 1], [2, 2]], [[2, 1], [2, 1]])
    assert_closes(record)
    places, table = balance(run_of(record))
    assert places == ["a", "b", "whole map"]
    assert table[..., 0].tolist() == [
        [4.0, 2.0, 2.0, 0.0],
        [2.0, 0.0, 2.0, 0.0],
        [4.0, 0.0, 4.0, 0.0],
    ]


def test_season_mean_skips_what_is_unknown():
    """A day without a value has no weight, however much water ran."""
    daily, water = np.array([0.2, np.nan, 0.4]), np.array([1.0, 5.0, 3.0])
    assert float(season_mean(daily, water)) == pytest.approx((0.2 + 1.2) / 4)
    assert np.isnan(float(season_mean(daily, water * 0)))
