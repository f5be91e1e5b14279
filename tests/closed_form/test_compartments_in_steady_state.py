"""Compartments in steady state: ages and transit times that can be worked out by hand.

One mixed compartment has an exponential age and transit time of mean 1/k. In a row the means and
the variances of the transit time add; side by side the moments are those of the mixture, and the
age weighs each by its volume. A store fed at R with turnover time k holds R k.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from hypothesis import given, settings
from hypothesis import strategies as st

import hydroloop as hl


def run(inputs, times, shares=None, **more):
    record = hl.steady_record(
        inputs, {name: 1.0 / t for name, t in times.items()}, shares or {}, **more
    )
    assert_closes(record)
    return record, hl.long_run(record)


def test_linear_store_at_rest():
    """A store that is fed 1 and turns over in 60 days holds 60, and lets 1 go."""
    record, found = run({"store": 1.0}, {"store": 60.0})
    assert record.volume.values == pytest.approx(60.0)
    assert found.throughflow.item() == pytest.approx(1.0)
    assert found.transit_time_sd.item() == pytest.approx(60.0)


def test_two_side_by_side():
    """Half into 10 and half into 1000: transit 505 and 863.2, age 990.2 and 999.9."""
    _, found = run({"quick": 0.5, "slow": 0.5}, {"quick": 10.0, "slow": 1000.0})
    transit = np.sqrt(10.0**2 + 1000.0**2 - 505.0**2)
    age = (10.0**2 + 1000.0**2) / 1010.0
    age_sd = np.sqrt(2 * (10.0**3 + 1000.0**3) / 1010.0 - age**2)
    assert found.transit_time.item() == pytest.approx(505.0)
    assert found.transit_time_sd.item() == pytest.approx(transit)
    assert found.system_age.item() == pytest.approx(age)
    assert found.system_age_sd.item() == pytest.approx(age_sd)
    assert [round(x, 1) for x in (transit, age, age_sd)] == [863.2, 990.2, 999.9]


def test_two_in_a_row():
    """Through 5 and then 60: transit 65 with 60.2, age 60.4."""
    _, found = run({"first": 2.0}, {"first": 5.0, "last": 60.0}, {("first", "last"): 1.0})
    assert found.transit_time.item() == pytest.approx(65.0)
    assert found.transit_time_sd.item() == pytest.approx(np.hypot(5.0, 60.0))
    assert found.system_age.item() == pytest.approx((5.0 * 5.0 + 60.0 * 65.0) / 65.0)
    assert found.age_sd.sel(store="last").item() == pytest.approx(np.hypot(5.0, 60.0))


def test_ages_balance_in_a_round():
    """Mean age of each box is the balance of ages: what enters brings its age, all of it grows."""
    record, found = run(
        {"a": 3.0, "b": 1.0},
        {"a": 2.0, "b": 30.0, "c": 9.0},
        {("a", "b"): 0.5, ("b", "c"): 0.4, ("c", "a"): 0.2},
    )
    age, days = found.mean_age, record.rate.isel(time=0)
    for store in record.store.values:
        into = (record.target == store).values
        brought = sum(
            float(rate) * float(age.sel(store=source)) if source in record.store else 0.0
            for source, rate in zip(record.source.values[into], days.values[into], strict=True)
        )
        held = float(record.volume.isel(edge=0).sel(store=store))
        out = float(days.values[into].sum())
        assert out * float(age.sel(store=store)) == pytest.approx(brought + held)


def test_ages_of_five_boxes_of_carbon():
    """Stores 37, 452, 69, 81, 1121 that lose 77, 31, 36, 48, 11: one after the other, by hand.

    a and c are fed from outside: 37/77 and 69/36. b adds 452/31 to the age of a. d and e weigh the
    ages of what comes in by its amount and add 81/48 and 1121/11.
    """
    a, c = 37 / 77, 69 / 36
    b = a + 452 / 31
    d = (21 * a + 15 * b + 12 * c) / 48 + 81 / 48
    e = (2 * b + 6 * c + 3 * d) / 11 + 1121 / 11
    _, found = run(
        {"a": 77.0, "c": 36.0},
        {"a": 37 / 77, "b": 452 / 31, "c": 69 / 36, "d": 81 / 48, "e": 1121 / 11},
        {
            ("a", "b"): 31 / 77,
            ("a", "d"): 21 / 77,
            ("b", "d"): 15 / 31,
            ("b", "e"): 2 / 31,
            ("c", "d"): 12 / 36,
            ("c", "e"): 6 / 36,
            ("d", "e"): 3 / 48,
        },
        steps=1,
    )
    assert found.mean_age.values == pytest.approx([a, b, c, d, e])
    assert [round(age, 2) for age in (a, b, c, d, e)] == [0.48, 15.06, 1.92, 7.08, 107.62]


SHARE = st.floats(0.0, 0.45)
TIME = st.floats(0.5, 40.0)


@settings(max_examples=15, deadline=None)
@given(times=st.tuples(TIME, TIME, TIME), shares=st.tuples(SHARE, SHARE, SHARE, SHARE))
def test_long_run_and_ages_agree(times, shares):
    """The mean ages of the trace in steps are those of the closed form, for any shares."""
    pairs = [("a", "b"), ("a", "c"), ("b", "c"), ("c", "a")]
    record, found = run(
        {"a": 1.0, "b": 0.3, "c": 0.1},
        dict(zip("abc", times, strict=True)),
        {pair: share for pair, share in zip(pairs, shares, strict=True) if share},
        steps=2,
    )
    aged = hl.ages(record, warm_up="steady").mean_age
    for edge in range(3):
        np.testing.assert_allclose(aged.isel(edge=edge), found.mean_age, rtol=1e-9)
    # As much water is as old on leaving as is left to live on coming in.
    out = record.rate.isel(time=0).where(record.target == "downstream", 0.0)
    leaving = sum(
        float(rate) * float(found.mean_age.sel(store=source))
        for source, rate in zip(record.source.values, out.values, strict=True)
        if rate
    )
    assert leaving / float(out.sum()) == pytest.approx(found.transit_time.item())


@pytest.mark.parametrize(
    ("inputs", "rates", "shares", "said"),
    [
        ({"a": 1.0}, {"a": 0.0}, {}, "rates: a: 0 is out of bounds"),
        ({"a": -1.0}, {"a": 1.0}, {}, "inputs: a: -1 is out of bounds"),
        ({"a": 1.0}, {"a": 1.0, "b": 1.0}, {("a", "b"): 40}, "40 % is 0.4"),
        (
            {"a": 1.0},
            {"a": 1.0, "b": 1.0, "c": 1.0},
            {("a", "b"): 0.7, ("a", "c"): 0.7},
            "come to 1.4",
        ),
        ({"lake": 1.0}, {"lakes": 1.0}, {}, 'Did you mean "lakes"'),
        ({"a": 1.0}, {"a": 1.0, "b": 1.0}, {("a", "b"): 1.0, ("b", "a"): 1.0}, "cannot leave a, b"),
        ({}, {"a": 1.0}, {}, "nothing comes in"),
        ({"a": float("nan")}, {"a": 1.0}, {}, "is missing"),
    ],
)
def test_what_cannot_be_steady_is_refused(inputs, rates, shares, said):
    """One line says which number is wrong, and what to give."""
    with pytest.raises(hl.InputError, match=said):
        hl.steady_record(inputs, rates, shares)
