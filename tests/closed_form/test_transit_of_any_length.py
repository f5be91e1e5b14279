"""Transit times do not hang on the length of the record, nor on what goes through the ground."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.measures import transit_times
from hydroloop.tracing import Way, follow_cohorts, operator
from hydroloop.tracing.last_use import last_use


def town(days, *, swing=0.5, leak=0.3):
    """A town that leaks a part into an aquifer of 4,000 days, which comes back into its sewers."""
    edges = pd.date_range("2031-01-01", periods=days + 1)
    need = 10.0 * (1.0 + swing * np.sin(2 * np.pi * np.arange(days) / 365.0))
    volumes = pd.DataFrame(
        {
            "a/mix": 0.0,
            "a/mains": 20.0,
            "a/taps": 0.0,
            "a/groundwater": 12_000.0,
            "a/sewers": 5.0,
            "a/contact": 8.0,
        },
        index=edges,
    )
    flows = [
        ("upstream", "a/mix", "intake", 1.0),
        ("a/mix", "a/mains", "treatment", 1.0),
        ("a/mains", "a/taps", "home_use", 1.0 - leak),
        ("a/mains", "a/groundwater", "leak", leak),
        ("a/taps", "a/sewers", "sewage", 1 - leak),
        ("a/groundwater", "a/sewers", "infiltration", leak),
        ("a/sewers", "a/contact", "sewage", 1.0),
        ("a/contact", "downstream", "outfall", 1.0),
    ]
    rows = [
        (day, *flow[:3], flow[3] * rate)
        for day, rate in zip(edges[:-1], need, strict=True)
        for flow in flows
    ]
    record = hl.water_record(
        volumes, pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
    )
    assert_closes(record)
    return record


def times(record):
    kind = record["kind"].values
    return transit_times(operator(record), kind == "intake", [kind == "outfall"])


def test_one_year_and_six_of_the_same_weather_agree():
    """Median, a tenth and nine tenths within 3 %; the shares too, and none of them is missing."""
    one, three, six = (times(town(365 * years)) for years in (1, 3, 6))
    for longer in (three, six):
        assert longer.time == pytest.approx(one.time, rel=0.03)
        assert longer.ground == pytest.approx(one.ground, rel=0.03)
    assert one.ground.item() == pytest.approx(0.3, abs=0.003)
    assert one.pending.item() == pytest.approx(0.0, abs=1e-6)
    assert float(one.arrived.sum()) == pytest.approx(0.7, abs=0.007)


def test_a_slow_way_is_told_as_not_arrived():
    """A basin that holds water for 100 days: exp(-0.6) of it has not come within 60 days."""
    edges = pd.date_range("2031-01-01", periods=366)
    volumes = pd.DataFrame({"a/lake": 1000.0}, index=edges)
    flows = [("upstream", "a/lake", "intake"), ("a/lake", "downstream", "outfall")]
    rows = [(day, *flow, 10.0) for day in edges[:-1] for flow in flows]
    found = times(
        hl.water_record(
            volumes, pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
        )
    )
    assert found.pending.item() == pytest.approx(np.exp(-0.6), abs=0.002)


def test_cohorts_agree_with_looking_back():
    """The effluent of the last day by time since the intake, forward and from the glass."""
    record = town(200)
    op = operator(record)
    kind = record["kind"].values
    nothing = np.zeros(len(kind), dtype=bool)
    way = Way(kind == "intake", nothing, (), 50.0, 1.0)
    ours = follow_cohorts(op, way, (op.stores.index("a/contact"),)).seen[-1, :, 0, 0]
    glass = last_use(record, at="a/contact", on="2031-07-19", gate="intake").share.values
    assert np.abs(ours - glass[: len(ours)]).max() <= 1e-12


def test_cohorts_agree_with_drops():
    """Of 4,000 drops taken in, as many reach the outfall within three days as the account says."""
    record = town(40, swing=0.0)
    op = operator(record)
    kind = record["kind"].values
    way = Way(
        kind == "intake",
        record["target"].values == "a/groundwater",
        (kind == "outfall",),
        20.0,
        1.0,
    )
    found = follow_cohorts(op, way)
    share = (found.moved[0, :4, 0] / found.released[:4, 0]).sum()
    walks = hl.drops(record, n=4000, at="a/mix", on="2031-01-05", seed=3)
    dry = walks[walks["store"] == "a/groundwater"]["drop"].unique()
    ends = walks[(walks["store"] == "downstream") & ~walks["drop"].isin(dry)]
    within = (ends["date"] - pd.Timestamp("2031-01-05")).dt.days <= 3
    # The mix holds nothing, so that drops in it are of that step's intake.
    error = 3.5 * np.sqrt(share * (1 - share) / 4000)
    assert float(within.sum()) / 4000 == pytest.approx(share, abs=error)
