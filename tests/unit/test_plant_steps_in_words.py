"""Steps of plants as people read them: each amount in the unit of its rule, in both systems.

By definition 1 US gallon is 3.785411784e-3 m3 and 1 ft is 0.3048 m, so that 1 gpm/ft2 is 58.674
m/day, 1,000 gpd/ft2 are 40.746 m/day and 10,000 gpd/ft are 124.19 m3/m/day.
"""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from hydroloop.outputs.plants.plant_steps import AT, steps_sections, steps_table
from hydroloop.plants import UnitRow
from hydroloop.plants.standby import Standby

BUILT = SimpleNamespace(design_flow=1000.0, is_over_built=False)
MINUTE, GPM, GPD = 1.0 / 1440.0, 58.674, 0.040746


def row(what="detention", at="average", value=None, unit="d", low=None, high=None, **more):
    given = {
        "process": "rapid_mix",
        "flow": 1.0,
        "units": 3,
        "out": 1,
        "rule": "as printed (here)",
        "source": "a book",
        "limit_flow": None,
        "verdict": "within",
        "judged": at == "average",
        "assumed": False,
        "notes": (),
    }
    return UnitRow(what=what, at=at, value=value, unit=unit, low=low, high=high, **given | more)


def told(system, rows, plant="water"):
    """Cells of a plant's table, row by row, its heading left out."""
    reports = {
        "water": SimpleNamespace(rows=[row(judged=False)]),
        "wastewater": SimpleNamespace(rows=[]),
    }
    reports[plant] = SimpleNamespace(rows=rows)
    water, wastewater, _ = steps_sections(
        SimpleNamespace(**reports, standby=[], check=BUILT), system
    )
    table = {"water": water, "wastewater": wastewater}[plant].blocks[0].table
    return list(zip(*(column.values for column in table.columns), strict=True))


def of_value(system, value, **more):
    """Value on the average day, and the rule."""
    rows = [row(at=at, value=value, **more) for at in AT]
    (cells,) = told(system, rows)
    return cells[1], cells[4]


@pytest.mark.parametrize(
    ("value", "ends", "shown", "rule"),
    [
        (45 / 86400, (30 / 86400, 120 / 86400), "45*", "30 s to 120 s"),
        (2 * MINUTE, (None, 121 / 86400), "2*", "at most 2.02 min"),
        (30 * MINUTE, (20 * MINUTE, None), "30*", "at least 20 min"),
        (100 * MINUTE, (20 * MINUTE, 120 * MINUTE), "100*", "20 min to 120 min"),
        (3 / 24, (2 / 24, 4 / 24), "3*", "2 h to 4 h"),
    ],
)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_times_have_the_unit_of_their_rule(system, value, ends, shown, rule):
    """Up to two minutes in seconds, up to two hours in minutes; else hours."""
    assert of_value(system, value, low=ends[0], high=ends[1]) == (shown, rule)


@pytest.mark.parametrize(
    ("system", "what", "unit", "value", "ends", "shown", "rule"),
    [
        ("us", "filter rate", "m/d", 3.0 * GPM, (None, 4.0 * GPM), "3*", "at most 4 gpm/ft2"),
        (
            "us",
            "overflow rate",
            "m/d",
            800 * GPD,
            (500 * GPD, 1200 * GPD),
            "800*",
            "500 gpd/ft2 to 1,200 gpd/ft2",
        ),
        ("us", "weir loading", "m3/m/d", 248.4, (None, 124.19), "20,001*", "at most 10,000 gpd/ft"),
        ("metric", "filter rate", "m/d", 180.0, (None, 240.0), "180*", "at most 240 m/day"),
        ("metric", "weir loading", "m3/m/d", 248.4, (None, 250.0), "248*", "at most 250 m3/m/day"),
        ("us", "contact, giardia", "-", 1.234, (1.0, None), "1.23*", "at least 1"),
        ("us", "filter rate", "m/d", 3.0 * GPM, (None, None), "3 gpm/ft2*", "as printed"),
    ],
)
def test_rates_have_the_unit_of_their_rule(system, what, unit, value, ends, shown, rule):
    """Filters by the minute, basins and weirs by the day; a rule as it is printed leaves the unit
    at the value."""
    found = of_value(system, value, what=what, unit=unit, low=ends[0], high=ends[1])
    assert found == (shown, rule)


def test_a_step_has_its_value_at_all_three_flows_and_one_star():
    """The star is at the flow that the rule is meant for; nothing left is a dash; one row for each
    flow that is judged, of its own measure and step alone."""
    rows = [
        row(at=at, value=value, low=0.1, judged=at != "maximum_day", verdict=verdict)
        for at, value, verdict in (
            ("average", 0.3, "within"),
            ("maximum_day", 0.2, "no rule"),
            ("peak_hour", None, "no unit left"),
        )
    ]
    other = [row("depth", at, 9.0, "-", judged=False) for at in AT]
    out = [row(at=at, value=7.0, low=6.0, out=0) for at in AT]
    assert told("us", [*rows, *other, *out]) == [
        ("rapid mix, detention", "7.2*", "4.8", "-", "at least 2.4 h", "ok"),
        ("rapid mix, detention", "7.2", "4.8", "-*", "at least 2.4 h", "NONE LEFT"),
    ]
    assert told("us", [*rows, *out], "wastewater") == [
        ("rapid mix, detention", "168*", "168", "168", "at least 144 h", "ok")
    ]


@pytest.mark.parametrize(
    ("verdict", "mark"),
    [
        ("within", "ok"),
        ("over", "TOO SMALL"),
        ("slow", "slow, no harm"),
        ("no rule", ""),
        ("no unit left", "NONE LEFT"),
    ],
)
def test_verdicts_in_words(verdict, mark):
    """Each verdict has its mark."""
    (cells,) = told("us", [row(at=at, value=1.0, verdict=verdict) for at in AT])
    assert cells[5] == mark


def test_a_town_without_a_plant_buys_its_water():
    """No rows of a water plant are a sentence; standby has shares, or the number of basins."""
    study = SimpleNamespace(
        water=SimpleNamespace(rows=[]),
        wastewater=SimpleNamespace(rows=[]),
        check=BUILT,
        standby=[
            Standby("final_settling", 3, 0.756, 0.75, True),
            Standby("aeration", 1, 0.5, None, False),
        ],
    )
    water, wastewater, standby = steps_sections(study, "us")
    assert "buys all its water" in water.words
    assert not any(block.short for block in (water, wastewater, standby))
    (note,) = wastewater.blocks[0].table.notes
    assert note.startswith("On the average day, on the busiest day and in the peak hour")
    assert list(standby.blocks[0].table.notes) == []
    rows = zip(*(column.values for column in standby.blocks[0].table.columns), strict=True)
    assert list(rows) == [
        ("final settling", "3", "76 %", "75 %", "ok"),
        ("aeration", "1", "50 %", "2 basins in all", "TOO LITTLE"),
    ]


def test_every_row_stands_in_the_table_of_values():
    """For scripts: all rows of both plants, and no value where no unit is left."""
    study = SimpleNamespace(
        water=SimpleNamespace(rows=[row(value=0.25)]),
        wastewater=SimpleNamespace(rows=[row(units=0, out=2)]),
    )
    first, second = steps_table(study).records()
    assert (first["plant"], first["units"], first["out"], first["value"]) == ("water", 3, 1, 0.25)
    assert (second["plant"], second["units"], second["out"], second["value"]) == (
        "wastewater",
        0,
        2,
        None,
    )
