"""What is known of water works by common practice alone, without a source, and holds in the model.

No printed page stands behind these; they are what any operator would say.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.studies.operators_round import operators_round
from hydroloop.waterworks.sizes import town_sizes

GAL = 3.785411784e-3  # [m3]
TREATMENT = ["rapid_mix", "flocculation", "sedimentation", "filters", "clearwell"]


@pytest.fixture(scope="module")
def record():
    """Two towns, a season."""
    return hl.simulate(hl.read_scenario("first_town"))


def followed(record, first, kinds):
    """Stores along the flows of some kinds, from a store on."""
    path, here = [first], first
    while True:
        onward = [
            str(target)
            for source, target, kind in zip(
                record["source"].values, record["target"].values, record["kind"].values, strict=True
            )
            if source == here and kind in kinds
        ]
        if not onward:
            return path
        (here,) = onward
        path.append(here)


def test_surface_water_passes_four_steps_and_then_chlorine(record):
    """Common practice: coagulation, flocculation, sedimentation, filtration, then disinfection."""
    path = followed(record, "larkmill/rapid_mix", {"treatment"})
    assert path == [f"larkmill/{step}" for step in TREATMENT]


def test_an_operator_reads_five_tests_every_hour():
    """Common practice: chlorine, pH, iron, manganese and fluoride, day and night."""
    found = operators_round(one_town(season__end="2031-05-31"), "larkmill", date(2031, 5, 20))
    for test in ("free chlorine", "pH", "iron", "manganese", "fluoride"):
        assert len(found.readings[test]) == 24
        assert np.isfinite(found.readings[test]).all()


@pytest.mark.parametrize("people", [350_000, 1_000_000])
def test_a_plant_of_86_million_gallons_carries_most_of_a_large_county(people):
    """Common practice: 86 Mgal/day is 325,545 m3/day, 3.768 m3/s; the town's supply comes out at 80
    to 250 gal for each person and day, and so does the plant's capacity over its people."""
    county = one_town(
        town__larkmill__people=people,
        river__wren__inflow="60 m3/s",
        town__larkmill__plant__capacity="86 Mgal/day",
        season__end="2031-08-31",
    )
    sizes = town_sizes(county.town["larkmill"])
    assert sizes.plant_capacity == pytest.approx(325_545, abs=0.5)
    assert sizes.plant_capacity / 86_400 == pytest.approx(3.768, abs=5e-4)
    assert 80 <= sizes.plant_capacity / people / GAL <= 250
    made = hl.simulate(county)["rate"].sel(flow="larkmill/tanks > larkmill/mains")
    assert 80 <= float(made.mean()) / people / GAL <= 250


def test_wastewater_returns_after_its_solids_are_taken_out(record):
    """Common practice: what reaches the stream has passed settling, and solids left before."""
    path = followed(record, "larkmill/primary", {"treatment", "outfall"})
    assert [store.split("/")[1].split("_")[0] for store in path] == [
        "primary",
        "aeration",
        "final",
        "contact",
        "reach",
    ]
    solids = record["target"].values == "solids"
    assert {"larkmill/primary", "larkmill/final_settling"} <= set(record["source"].values[solids])


def test_street_rain_reaches_the_creek_untreated(record):
    """Common practice: storm drains run to the river, past every plant."""
    path = followed(record, "larkmill/storm_drains", {"stormwater"})
    assert path[-1].startswith("wren/")
    assert len(path) == 2


def test_water_of_one_home_reaches_another_s_tap_within_weeks():
    """Common practice: of what was used before, half was in a home less than four weeks ago."""
    record = hl.simulate(hl.read_scenario("five_towns"))
    ago = hl.last_use(record, at="osselby/mains", on="2031-08-15")
    share = ago["share"].values
    used = share / share.sum()
    assert used[:28].sum() > 0.5
