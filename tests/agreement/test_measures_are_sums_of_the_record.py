"""Supply, river and sewers in the table, worked out again from the record with pandas alone.

By the day and by the hour, for one run and for members side by side: a rule that forgets the length
of a step, a member or one kind of flow cannot pass.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from small_scenarios import one_town

import hydroloop as hl

HARSH = """
[town.osselby]
people = 12000
sewers = { kind = "combined" }
wells = { capacity = "1 ML/day" }
intake = { river = "wren", at = "25 km", minimum_flow = "0.16 m3/s" }
outfall = { river = "wren", at = "30 km" }
"""
SETS = {
    "river.wren.inflow": "0.11 m3/s",
    "river.wren.minimum_flow": "0.06 m3/s",
    "season.start": "2031-05-01",
    "season.end": "2031-06-14",
    "season.run_up": "0 day",
}


@pytest.fixture(scope="module", params=["1 day", "6 hour", "1 hour"])
def run(request):
    """A record of two members (the second has more people) and its table of measures."""
    scenario = one_town(HARSH).changed(
        {**SETS, "season.step": request.param, "town.larkmill.people": "15000 to 30000"}
    )
    record = hl.simulate(scenario, members=2, seed=1)
    return record, hl.measures(record, scenario)


def long_table(record, member: int) -> pd.DataFrame:
    """One row for each step and flow: what moved [m3], how fast [m3/d], and between which."""
    rate = record["rate"].isel(member=member).transpose("time", "flow").values
    days = np.diff(record["edge"].values) / np.timedelta64(1, "D")
    where = dict(zip(record["store"].values, record["place"].values, strict=True))
    role = dict(zip(record["store"].values, record["role"].values, strict=True))
    steps, flows = np.indices(rate.shape)
    table = pd.DataFrame(
        {
            "step": steps.ravel(),
            "rate": rate.ravel(),
            "moved": (rate * days[:, None]).ravel(),
            "days": days[steps.ravel()],
        }
    )
    for name in ("source", "target", "kind"):
        table[name] = record[name].values[flows.ravel()]
    table["town"] = table["source"].map(where).fillna("")
    table["to_town"] = table["target"].map(where).fillna("")
    table["from_role"] = table["source"].map(role).fillna("")
    return table


def each(run):
    """Table of flows and the measures of every member and town."""
    record, table = run
    for member in range(2):
        flows = long_table(record, member)
        for town in record["town"].values.tolist():
            yield (
                record.isel(member=member).sel(town=town),
                flows,
                table.isel(member=member).sel(town=town),
                town,
            )


def per_step(flows: pd.DataFrame, chosen: pd.Series) -> np.ndarray:
    """Rate of the chosen flows together in each step [m3/d]."""
    whole = flows.loc[chosen].groupby("step")["rate"].sum()
    return whole.reindex(range(flows["step"].max() + 1), fill_value=0.0).to_numpy()


def test_the_run_is_harsh(run):
    """Somebody runs short, some river falls under its minimum, and some sewer overflows."""
    _, table = run
    assert float(table["unmet_total"].min("member").sum()) > 0
    assert float(table["days_under_minimum_flow"].max()) > 0
    assert float(table["overflowed_days"].max()) > 0


def test_water_short(run):
    """Demand less what left the mains for each purpose, over the season, the worst, the longest."""
    kinds = {"homes": "home_use", "workplaces": "work_use", "yards": "yard_use"}
    for record, flows, found, town in each(run):
        days = flows.groupby("step")["days"].first().to_numpy()
        short = {}
        for purpose, kind in kinds.items():
            got = per_step(flows, (flows["kind"] == kind) & (flows["town"] == town))
            asked = record["demand"].sel(purpose=purpose).values
            lack = asked - got
            short[purpose] = np.where(lack > 1e-9 * np.maximum(asked, 1.0), lack, 0.0)
            assert float(found["unmet_total"].sel(purpose=purpose)) == pytest.approx(
                (short[purpose] * days).sum(), rel=1e-6, abs=1e-3
            )
        whole = sum(short.values())
        assert float(found["largest_shortage"]) == pytest.approx(whole.max(), rel=1e-6, abs=1e-3)
        assert float(found["reliability"]) == pytest.approx((whole <= 0).mean(), abs=1e-9)
        fails = pd.Series(whole > 0)
        runs = fails.groupby((fails != fails.shift()).cumsum()).sum()
        assert float(found["longest_failure"]) == pytest.approx(runs.max() * days[0], abs=1e-9)


def test_water_taken_and_given(run):
    """Intakes and wells are drawn apart; taps take what homes, workplaces and yards get."""
    for _, flows, found, town in each(run):
        to = flows["to_town"] == town
        river = to & (flows["kind"] == "intake") & (flows["from_role"] != "groundwater")
        wells = to & (flows["kind"] == "intake") & (flows["from_role"] == "groundwater")
        np.testing.assert_allclose(found["pumped"].values, per_step(flows, wells), atol=1e-6)
        np.testing.assert_allclose(found["withdrawn"].values, per_step(flows, river), atol=1e-6)
        homes = per_step(flows, (flows["town"] == town) & (flows["kind"] == "home_use"))
        np.testing.assert_allclose(found["delivered"].values, homes, rtol=1e-9, atol=1e-6)


def test_sewers_that_overflow(run):
    """Volume, days and the largest flow of a step of what is not treated."""
    for _, flows, found, town in each(run):
        days = flows.groupby("step")["days"].first().to_numpy()
        for name, kind in (("overflowed", "overflow"), ("bypassed", "bypass")):
            spilt = per_step(flows, (flows["town"] == town) & (flows["kind"] == kind))
            assert float(found[f"{name}_volume"]) == pytest.approx((spilt * days).sum(), abs=1e-6)
            assert float(found[f"{name}_days"]) == pytest.approx(days[spilt > 0].sum(), abs=1e-9)
            assert float(found[f"{name}_largest"]) == pytest.approx(spilt.max(), abs=1e-6)


def test_days_under_the_minimum(run):
    """Steps in which less than the minimum goes on past the intake, as days."""
    for record, flows, found, town in each(run):
        drawn = (
            (flows["kind"] == "intake")
            & (flows["to_town"] == town)
            & (flows["from_role"] != "groundwater")
        )
        store = flows.loc[drawn, "source"].iloc[0]
        on = per_step(
            flows,
            (flows["source"] == store)
            & flows["kind"].isin(["river", "downstream", "release", "spill"]),
        )
        days = flows.groupby("step")["days"].first().to_numpy()
        mark = record["minimum_flow"].values
        under = days[on < mark * (1 - 1e-9)].sum()
        assert float(found["days_under_minimum_flow"]) == pytest.approx(under, abs=1e-9)


def test_dilution_below_a_dam_that_spills():
    """Below a full reservoir the river that meets the effluent is what spills and is released."""
    scenario = one_town("""
[reservoir.mere]
river = "wren"
at = "15 km"
capacity = "200 ML"
area = "0.1 km2"
start = "100 %"
""").changed({"season.end": "2031-06-14", "season.run_up": "0 day"})
    record = hl.simulate(scenario, members=1)
    flows = long_table(record, 0)
    outfall = flows["kind"] == "outfall"
    end = flows.loc[outfall, "target"].iloc[0]
    down = per_step(flows, (flows["target"] == end) & flows["kind"].isin(["spill", "release"]))
    assert (per_step(flows, flows["kind"] == "spill") > 0).sum() > 20
    ours = hl.measures(record, scenario)["dilution"].sel(town="larkmill").values.ravel()
    np.testing.assert_allclose(ours, down / per_step(flows, outfall), rtol=1e-9)
