"""The places where water accounts usually go wrong, one test each."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.errors import ScenarioError
from hydroloop.record import Network, build_record
from hydroloop.tracing import trace


def rates(record, **wanted):
    """Rates of the flows with a given source, target or kind, (time, flow)."""
    keep = np.ones(record.sizes["flow"], dtype=bool)
    for name, value in wanted.items():
        keep &= record[name].values == value
    assert keep.any(), wanted
    return record["rate"].values[:, keep]


def test_one_store_that_feeds_several_takers_gives_each_drop_once():
    """A small reservoir with a release, two towns and evaporation give no more than it holds."""
    record = hl.simulate(
        one_town(
            """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "30000 m3"
area = "0.02 km2"
release = "0.1 m3/s"
[town.other]
people = 30000
intake = { reservoir = "mere" }
outfall = { river = "wren", at = "20 km" }
reuse = { plant = "2 ML/day", reservoir = "1 ML/day", into = "mere" }
""",
            river__wren__inflow="0.12 m3/s",
            town__larkmill__intake={"reservoir": "mere"},
        )
    )
    assert_closes(record)
    start = record["volume"].sel(store="mere/reservoir").values[:-1]
    taken = (
        rates(record, source="mere/reservoir", kind="intake").sum(axis=1)
        + rates(record, source="mere/reservoir", kind="release").sum(axis=1)
        + rates(record, source="mere/reservoir", kind="evaporation").sum(axis=1)
    )
    assert (taken <= start * (1 + 1e-12)).all()
    assert rates(record, kind="intake").sum() > 0
    assert (record["demand"].sum("purpose").sum("town") > taken).any()  # so little is there


def test_no_day_is_lost_in_small_basins():
    """Water is as old at the tap as volumes over flow say, though seven basins are crossed within
    one step."""
    record = hl.simulate(
        one_town(
            weather__rain_scale=0.0,
            river__wren__length="16 km",
            river__wren__speed="30 m/s",
            town__larkmill__yards__area_per_person="0 m2",
            season__end="2032-04-30",
        )
    )
    path = ["rapid_mix", "flocculation", "sedimentation", "filters", "clearwell", "tanks", "mains"]
    stores = [f"larkmill/{part}" for part in path]
    last = record.isel(time=-1, edge=-1)
    through = {name: float(rates(record, source=name)[-1].sum()) for name in stores}
    expected = sum(float(last["volume"].sel(store=name)) / through[name] for name in stores)
    assert sum(float(last["volume"].sel(store=name)) / through[name] < 1.0 for name in stores) >= 6
    age = float(hl.ages(record)["mean_age"].isel(edge=-1).sel(store="larkmill/mains"))
    assert age == pytest.approx(expected, rel=0.01)


def test_shares_do_not_drift_in_a_year():
    """After a year of daily steps the shares of every store with water still add up to one."""
    record = hl.simulate(one_town(season__end="2032-04-30"))
    shares = hl.count_uses(record)
    total = shares["share"].sum("use") + shares["unknown"]
    assert float(np.abs(total.where(shares["has_water"], 1.0) - 1.0).max()) <= 1e-12
    assert bool(shares["has_water"].sel(store="larkmill/mains").all())


def test_a_reservoir_of_unknown_past_is_not_called_never_used():
    """Without a warm-up the water that stood in the reservoir counts as unknown, not as unused."""
    record = hl.simulate(
        one_town("""
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "400,000 ML"
area = "4 km2"
""")
    )
    shares = hl.count_uses(record, warm_up="none").sel(store="mere/reservoir")
    assert float(shares["unknown"].isel(edge=0)) == 1.0
    assert float(shares["unknown"].isel(edge=-1)) > 0.5
    assert float(shares["share"].sel(use=0).isel(edge=-1)) < 0.5


def test_vapour_carries_the_label_and_leaves_the_salt():
    """Evaporation takes used water at the water's own share; salt stays and grows stronger."""
    edges = np.array(["2031-01-01", "2031-01-02"], dtype="datetime64[ns]")
    lake = Network(["lake"], ["upstream", "lake"], ["lake", "sky"], ["upstream", "evaporation"])
    record = build_record(lake, edges, [[50.0], [50.0]], [[50.0, 50.0]])
    used = trace(record, 0.3, initial=0.3, warm_up="none")["label"]
    salt = trace(record, 0.3, initial=0.3, warm_up="none", carries={"evaporation": 0.0})["label"]
    assert float(used.isel(edge=-1).sel(store="lake")) == pytest.approx(0.3, abs=1e-15)
    # 50 m3 held 15, 50 m3 brought 15, and 50 m3 are left: 30 / 50.
    assert float(salt.isel(edge=-1).sel(store="lake")) == pytest.approx(0.6, abs=1e-15)


def test_rain_falls_on_rivers_and_reservoirs():
    """Rain on a reservoir is its depth times the water surface; on a river, times its area."""
    record = hl.simulate(
        one_town(
            """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "4000 ML"
area = "0.8 km2"
start = "100 %"
""",
            river__wren__width="20 m",
        )
    )
    depth = record["rain_mm"].values / 1000.0
    full = record["volume"].sel(store="mere/reservoir").values[:-1] / 4e6
    surface = 0.8e6 * full ** (2.0 / 3.0)
    np.testing.assert_allclose(
        rates(record, target="mere/reservoir", source="rain")[:, 0], depth * surface, rtol=1e-12
    )
    on_river = [
        i
        for i, (a, b) in enumerate(
            zip(record["source"].values, record["target"].values, strict=True)
        )
        if a == "rain" and "wren/" in b
    ]
    np.testing.assert_allclose(
        record["rate"].values[:, on_river].sum(axis=1), depth * 40e3 * 20.0, rtol=1e-12
    )


def test_leaks_reach_the_ground():
    """The share of the system input that leaks flows into the groundwater, all of it."""
    record = hl.simulate(one_town(town__larkmill__mains__real_losses="25 %"))
    leak = rates(record, kind="leak", target="larkmill/groundwater")[:, 0]
    np.testing.assert_allclose(
        leak, 0.25 * rates(record, target="larkmill/mains")[:, 0], rtol=1e-12
    )


def test_a_shortage_is_not_met_by_water_that_is_not_there():
    """With a river near its minimum flow and empty tanks people go short; nothing is invented."""
    record = hl.simulate(
        one_town(
            weather__rain_scale=0.0,
            river__wren__inflow="0.04 m3/s",
            town__larkmill__tanks__start="0 %",
            river__wren__minimum_flow="0.02 m3/s",
        )
    )
    assert_closes(record)
    taken = rates(record, kind="intake").sum(axis=1)
    assert (taken <= 0.04 * 86_400.0).all()
    given = rates(record, kind="home_use").sum(axis=1)
    asked = record["demand"].sel(town="larkmill", purpose="homes").values
    assert (given[10:] < 0.7 * asked[10:]).all()
    assert rates(record, kind="work_use")[10:].max() == 0.0  # workplaces are cut before homes
    left = rates(record, source="wren/reach_2", kind="river").sum(axis=1)
    assert (left[10:] >= 0.02 * 86_400.0 * (1 - 1e-9)).all()


def test_a_wet_day_does_not_overfill_the_sewer():
    """Above its capacity a combined sewer fills, then overflows; it never carries or holds more."""
    record = hl.simulate(
        one_town(
            town__larkmill__sewers__kind="combined",
            town__larkmill__sewers__capacity="12 ML/day",
            town__larkmill__sewers__storage="2 ML",
            weather__rain_scale=2.0,
        )
    )
    assert rates(record, source="larkmill/sewers", kind="sewage").max() == pytest.approx(12_000.0)
    assert record["volume"].sel(store="larkmill/sewers").max() <= 2_000.0 * (1 + 1e-12)
    assert rates(record, kind="overflow").max() > 0.0
    assert_closes(record)


def test_a_figure_per_person_is_not_one_for_the_town():
    """A town's flow where one per person belongs is refused; the right one is multiplied once."""
    with pytest.raises(ScenarioError, match=r"use_per_person"):
        one_town(town__larkmill__homes__use_per_person="4 ML/day")
    record = hl.simulate(one_town(town__larkmill__homes__use_per_person="150 L/person/day"))
    asked = record["demand"].sel(town="larkmill", purpose="homes").values
    np.testing.assert_allclose(asked, 20_000 * 0.150)


def test_a_leap_day_is_a_day():
    """February and March of a leap year are sixty steps, and 29 February is one of them."""
    record = hl.simulate(one_town(season__start="2032-02-01", season__end="2032-03-31"))
    assert record.sizes["time"] == 60
    assert np.datetime64("2032-02-29") in record["time"].values.astype("datetime64[D]")


def test_a_season_may_cross_the_new_year():
    """From November to February the days follow each other without gap or repeat."""
    record = hl.simulate(one_town(season__start="2031-11-01", season__end="2032-02-29"))
    assert record.sizes["time"] == 30 + 31 + 31 + 29
    assert set(np.diff(record["edge"].values)) == {np.timedelta64(1, "D")}
    assert_closes(record)
