"""Water age worked out on mains of one volume: each piece of a step leaves r = V / (V + q dt) of
what was there, so that 1 - r of the water is of class 0, (1 - r) r of class 1, and so on.

Steps are divided into eighths of a day, and water is followed for 30 days: 240 classes.
"""

from __future__ import annotations

import numpy as np
import pytest
from small_records import small_record

from hydroloop.measures.water_age import (
    OLDEST,
    chlorine_left,
    oldest_tenth,
    rain_ages,
    system_input,
    water_ages,
)
from hydroloop.record import flow_mask
from hydroloop.tracing import operator


def mains(held, rate=1.0, days=64):
    """Mains of one volume, fed by a clearwell, and homes that let all go."""
    flows = [
        ("import", "a/clearwell", "import", rate),
        ("a/clearwell", "a/mains", "supply", rate),
        ("a/mains", "a/taps", "home_use", rate),
        ("a/taps", "sky", "evaporation", rate),
    ]
    return small_record(flows, {"a/clearwell": 1.0, "a/mains": held}, [1.0] * days)


def taps_of(record, *towns):
    return [flow_mask(record, kind="home_use", to_place=town) for town in towns]


def ages(record, *towns):
    return water_ages(operator(record), taps_of(record, *(towns or ("a",))))


def volume_of(left, step):
    """Volume of which a part is left after a step at a rate of 1 m3/d."""
    return step * left / (1.0 - left)


@pytest.mark.parametrize(("classes", "is_known"), [(239.5, True), (240.5, False)])
def test_water_is_followed_for_thirty_days(classes, is_known):
    """Where a thousandth is older than 29.94 days the age is known, older than 30.06 it is not."""
    left = 0.001 ** (1.0 / classes)
    found = ages(mains(volume_of(left, 0.125)))
    assert np.isnan(found["water_age"][-1, 0, 0]) != is_known
    assert np.isnan(found["season_water_age"][0, 0]) != is_known
    assert np.isnan(found["water_age"][:25]).all()
    if is_known:
        share = (1.0 - left) * left ** np.arange(240)
        mean = (share * np.arange(240) / 8).sum() / share.sum()
        assert found["water_age"][-1, 0, 0] == pytest.approx(mean, rel=1e-7)


def test_ages_of_changing_rates_by_a_loop():
    """Daily rates that change, two members: the mean, the season's and the oldest tenth, by classes
    that are shifted by hand."""
    days, held = 30, 0.6
    rate = 1.0 + 0.5 * np.sin(np.arange(days)[:, None] * np.array([1.0, 2.0]))
    found = ages(mains(held, rate, days))
    for member in range(2):
        share, told = np.zeros(8 * days), np.zeros((days, 8 * days))
        for day in range(days):
            left = held / (held + rate[day, member] / 8)
            for _ in range(8):
                share = np.append(1.0 - left, left * share[:-1])
                told[day] += share / 8
        told = told[:, : 4 * days]  # half of the record
        since = np.arange(4 * days) / 8
        known = told.sum(axis=1) > 0.999
        assert 0 < known.sum() < days
        mean = np.where(known, told @ since / told.sum(axis=1), np.nan)
        assert found["water_age"][:, 0, member] == pytest.approx(mean, rel=1e-7, nan_ok=True)
        whole = (told * (rate[:, member] * known)[:, None]).sum(axis=0)
        season = whole @ since / whole.sum()
        assert found["season_water_age"][0, member] == pytest.approx(season, rel=1e-7)
        come = np.cumsum(whole) / whole.sum()
        oldest = np.interp(0.9, come, since + 0.0625)
        assert found["season_water_age_oldest"][0, member] == pytest.approx(oldest, rel=1e-7)


TWO_STORES = [
    ("import", "a/clearwell", "import", 4.0),
    ("a/clearwell", "a/mains", "supply", 1.0),
    ("a/clearwell", "a/high_zone", "supply", 3.0),
    ("a/mains", "a/taps", "home_use", 1.0),
    ("a/high_zone", "a/baths", "home_use", 3.0),
    ("a/taps", "sky", "evaporation", 1.0),
    ("a/baths", "sky", "evaporation", 3.0),
]


def test_homes_of_two_zones_mix_by_what_they_get():
    """1 m3/d of a day old and 3 m3/d of half a day old are .625 days; b is of a half, by itself."""
    flows = [
        *TWO_STORES,
        ("import", "b/mains", "import", 2.0),
        ("b/mains", "b/taps", "home_use", 2.0),
        ("b/taps", "sky", "evaporation", 2.0),
    ]
    record = small_record(flows, {"a/mains": 1.0, "a/high_zone": 1.5, "b/mains": 1.0}, [1.0] * 60)
    found = ages(record, "a", "b")
    assert found["water_age"][-1, :, 0] == pytest.approx([0.625, 0.5], rel=1e-6)
    assert ages(record, "b", "a")["water_age"][-1, :, 0] == pytest.approx([0.5, 0.625], rel=1e-6)


@pytest.mark.parametrize(("beside", "is_known"), [(0.0009, True), (0.0011, False)])
def test_a_thousandth_of_unknown_age(beside, is_known):
    """Of homes that get some water straight from a neighbour's the age is that of the rest, while
    that is more than all but a thousandth."""
    flows = [
        ("import", "a/mains", "import", 1.0 - beside),
        ("a/mains", "a/taps", "home_use", 1.0 - beside),
        ("import", "a/taps", "home_use", beside),
        ("a/taps", "sky", "evaporation", 1.0),
    ]
    found = ages(small_record(flows, {"a/mains": 0.5}, [1.0] * 20))
    if is_known:
        assert found["water_age"][-1].item() == pytest.approx(0.5 / (1 - beside), rel=1e-6)
    else:
        assert all(np.isnan(values).all() for values in found.values())


def test_towns_without_mains_have_no_age():
    """Homes that buy their water straight have none, beside a town that has; nor has no town."""
    flows = [
        ("import", "a/taps", "home_use", 1.0),
        ("a/taps", "sky", "evaporation", 1.0),
        ("import", "b/mains", "import", 1.0),
        ("b/mains", "b/taps", "home_use", 1.0),
        ("b/taps", "sky", "evaporation", 1.0),
    ]
    record = small_record(flows, {"b/mains": 0.5}, [1.0] * 20)
    for towns in (("a",), ("a", "b")):
        found = ages(record, *towns)
        assert np.isnan(found["water_age"][:, 0]).all()
        assert np.isnan(found["season_water_age"][0]).all()
        assert np.isnan(found["season_water_age_oldest"][0]).all()
    assert np.isnan(rain_ages(operator(record), taps_of(record, "a"))["rain_age_young"]).all()
    assert found["season_water_age"][1].item() == pytest.approx(0.5, rel=1e-3)
    assert water_ages(operator(record), [])["water_age"].shape == (20, 0, 1)


def test_where_water_comes_into_supply():
    """Out of the clearwell, over a boundary and from a neighbour; what passes from tanks to mains
    is in supply already, and so is a neighbour's water when both are asked for."""
    flows = [
        ("import", "a/clearwell", "import", 3.0),
        ("a/clearwell", "a/tanks", "supply", 2.0),
        ("a/clearwell", "a/mains", "supply", 1.0),
        ("a/tanks", "a/mains", "supply", 2.0),
        ("import", "b/mains", "import", 2.0),
        ("b/mains", "a/mains", "supply", 1.0),
        ("a/mains", "a/taps", "home_use", 4.0),
        ("b/mains", "b/taps", "home_use", 1.0),
        ("a/taps", "sky", "evaporation", 4.0),
        ("b/taps", "sky", "evaporation", 1.0),
    ]
    op = operator(small_record(flows))
    assert np.flatnonzero(system_input(op, ["a/mains"])).tolist() == [1, 2, 5]
    assert np.flatnonzero(system_input(op, ["b/mains"])).tolist() == [4]
    assert np.flatnonzero(system_input(op, ["a/mains", "b/mains"])).tolist() == [1, 2, 4]


def half_renewed():
    """Mains of which half is replaced in a day; eight days."""
    return operator(mains(1.0, 1.0, 8))


def test_the_oldest_tenth_of_mains_of_which_half_is_replaced():
    """After six steps 1/2, 1/4, 1/8, 1/16, 1/32, 1/64 of it have come 0 to 5 days ago and 1/64 was
    there: the tenth is 1/64 that was there, 1/64, 1/32 and .0375 of the 1/16 three days ago. Nine
    tenths are younger than 2.5 days and .4 of the day after."""
    assert OLDEST == 0.1
    found = oldest_tenth(half_renewed(), "a/mains", [3, 5])
    assert found.part[1] == pytest.approx([0, 0, 0, 0.375, 0.3125, 0.15625, 0.15625], abs=1e-12)
    assert found.part[0] == pytest.approx([0, 0, 0, 0.375, 0, 0, 0.625], abs=1e-12)
    assert found.age == pytest.approx([3.0, 3 * 0.375 + 4 * 0.3125 + 5 * 0.3125], abs=1e-12)
    assert found.over == pytest.approx([2.9, 2.9], abs=1e-12)
    one = oldest_tenth(half_renewed(), "a/mains", [5])
    assert one.age.item() == pytest.approx(found.age[1], abs=1e-12)
    first = oldest_tenth(half_renewed(), "a/mains", [0])
    assert first.part[0] == pytest.approx([0.0, 1.0], abs=1e-12)
    assert first.age.item() == 0.0
    assert np.isnan(first.over).all()


def test_chlorine_of_the_oldest_tenth():
    """It left in the steps before with 1, 2, 4, ... mg/L, and halves with each day but the third,
    on which it is quartered."""
    op, steps = half_renewed(), [3, 5]
    leaving = 2.0 ** np.arange(8)
    decay = np.log(2.0) * np.array([1.0, 1.0, 2.0, 1.0, 1.0, 1.0, 9.0, 9.0])
    left = chlorine_left(
        op, oldest_tenth(op, "a/mains", steps), steps, leaving=leaving, decay=decay
    )
    # On the sixth day: .375 left on the third (4 mg/L, 4 halvings), .3125 on the second (2 mg/L, 5)
    # and the rest on the first (1 mg/L, 6).
    sixth = 0.375 * 4 / 2**4 + 0.3125 * 2 / 2**5 + 0.3125 / 2**6
    assert left == pytest.approx([1 / 2**4, sixth], rel=1e-12)


def river_town(held, days, rate=1.0):
    """Homes that drink from a reach of one volume."""
    flows = [
        ("upstream", "wren/reach", "upstream", rate),
        ("wren/reach", "a/taps", "home_use", rate),
        ("a/taps", "sky", "evaporation", rate),
    ]
    record = small_record(flows, {"wren/reach": held}, [1.0] * days)
    return rain_ages(operator(record), taps_of(record, "a"))


@pytest.mark.parametrize(("days", "is_told"), [(60, False), (62, True), (200, True)])
def test_rain_within_thirty_days(days, is_told):
    """A reach of ten days: 1 - (10/11)^31 came today or within 30 days, told from a record of 31
    classes on; half came within 6.5 days and a part of the next."""
    found = river_town(10.0, days)
    young = 1.0 - (10 / 11) ** 31
    assert found["rain_age_young"][0, 0] == pytest.approx(young if is_told else np.nan, nan_ok=True)
    come = 1.0 - (10 / 11) ** np.arange(8, 10)  # of classes up to 7 and 8
    before = 1.0 - (10 / 11) ** 7
    median = 6.5 + (0.5 - before) / (come[0] - before)
    assert found["rain_age_median"][0, 0] == pytest.approx(median, rel=1e-7)


@pytest.mark.parametrize(("classes", "is_known"), [(89.5, True), (90.5, False)])
def test_rain_is_followed_for_ninety_days(classes, is_known):
    """A median of just less than ninety days is known, one of more is not."""
    found = river_town(volume_of(0.5 ** (1.0 / classes), 1.0), 184)
    assert np.isnan(found["rain_age_median"][0, 0]) != is_known


def test_rain_of_days_with_more_water_weighs_more():
    """Only days count before which the record is as long as the classes reach: of ten days, five
    classes, the fifth to the tenth. A reach that passes all at once has all of its water today."""
    rate = np.array([1.0] * 5 + [2.0] * 5)[:, None]
    assert river_town(0.0, 80)["rain_age_young"].item() == 1.0
    found = river_town(1.0, 10, rate)
    # Class 0 has 1/2 of 1 m3 on the fifth day and 2/3 of 2 m3 on the five days after: .651 of 11.
    first = (0.5 * 1 + 5 * 2 * 2 / 3) / 11
    assert found["rain_age_median"].item() == pytest.approx(0.5 * 0.5 / first, rel=1e-7)
