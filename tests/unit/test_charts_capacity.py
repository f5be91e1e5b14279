"""Capacity against demand: labels stay on the page and apart, wherever the lines fall."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chart_checks import assert_labels_are_apart, assert_text_can_be_read

from hydroloop.charts import capacity, capacity_years
from hydroloop.charts.capacity_years import Course


@pytest.mark.parametrize("demands", [(2.0, 2.5), (7.0, 7.2), (3.0, 9.0), (0.5, 4.0), (7.5,)])
def test_labels_of_demands_stay_on_the_page(demands):
    """Each demand keeps its label, apart from the others, be its line in the middle or far out."""
    limits = [("river on its driest day", 0.4e3), ("filters", 5e3), ("chlorine contact", 8e3)]
    named = [(f"busiest day in {2031 + 30 * k}", 1e3 * flow) for k, flow in enumerate(demands)]
    picture = capacity("larkmill", limits, named, caption="Enough.")
    assert_labels_are_apart(picture)


def test_a_line_close_to_a_bar_is_left_of_its_label():
    """Where a demand is a little above a limit, its line runs between the bar and its label."""
    named = [("busiest day now", 7e3), ("busiest day in 2061", 9e3)]
    picture = capacity("larkmill", [("filters", 8.8e3)], named, caption=".")
    box = next(words for words in picture.sheet.texts if words.get_text().startswith("2.3"))
    assert box.get_position()[0] > picture.sheet.lines[-1].get_xdata()[0]


def years(able, crossing, high=12e3):
    """A plant whose flow grows evenly for thirty years."""
    flow = np.linspace(9e3, high, 31)
    return Course(
        "Water, busiest day",
        flow,
        np.array([0.95 * flow, 1.1 * flow]),
        "plant: filters",
        able,
        crossing,
    )


@pytest.mark.parametrize(
    "plants", [[years(11e3, 20.0)], [years(11e3, 20.0), years(8e3, 0.0)], [years(90e3, np.inf)] * 2]
)
def test_years_can_be_read(plants):
    """No label touches another or is hard to read: reached, passed already and far away."""
    remedies = [("one more filter", 8.0), ("half as much yard watering", np.inf), ("none", 0.0)]
    plants = [replace(one, remedies=remedies) for one in plants]
    picture = capacity_years("larkmill", 2031, plants, caption="A forecast.")
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)
    assert [patch.get_gid() for patch in picture.sheet.patches].count("remedy") == len(plants)


def test_remedies_of_both_plants_can_be_read():
    """Where both plants have many remedies the best of each are shown, apart and on the page, and
    the words above them say how many there are."""
    many = [(f"what could be done number {number}", 9.0 - number) for number in range(7)]
    plants = [
        replace(years(11e3, 20.0), whose=whose, remedies=many)
        for whose in ("the water supply", "the wastewater plant")
    ]
    picture = capacity_years("larkmill", 2031, plants, caption="A forecast.")
    assert_labels_are_apart(picture)
    told = [words.get_text() for words in picture.sheet.texts]
    assert told.count("what could be done number 0") == 2
    heads = {f"{one.whose} (4 of 7 drawn; the others buy no more)" for one in plants}
    assert heads <= {words.removeprefix("Years that each remedy buys ") for words in told}


@pytest.mark.parametrize("count", [4, 5])
def test_a_remedy_that_is_not_drawn_is_counted(count):
    """Of two plants' remedies four of each have room: a fifth is told above them, and of four
    nothing is said."""
    many = [(f"number {number}", 9.0 - number) for number in range(count)]
    plants = [
        replace(years(11e3, 20.0), whose=whose, remedies=many) for whose in ("supply", "sewage")
    ]
    picture = capacity_years("larkmill", 2031, plants, caption="A forecast.")
    told = [words.get_text() for words in picture.sheet.texts]
    drawn = sum(patch.get_gid() == "remedy" for patch in picture.sheet.patches)
    assert drawn == 2 * 4
    assert told.count("number 4") == 0
    part = " (4 of 5 drawn; the other buys no more)" if count == 5 else ""
    assert {f"Years that each remedy buys {one}{part}" for one in ("supply", "sewage")} <= {*told}


@pytest.mark.parametrize("count", [7, 9])
def test_a_limit_that_is_not_drawn_is_counted(count):
    """Seven limits have room; of nine the caption says that the lowest are drawn."""
    limits = [(f"step {number}", 1e3 * (number + 1)) for number in range(count)]
    picture = capacity("larkmill", limits, [("now", 2e3)], caption="By rules.")
    drawn = sum(patch.get_gid() == "bar" for patch in picture.sheet.patches)
    assert drawn == 7
    assert ("Of 9 limits the lowest 7 are drawn." in picture.caption) == (count == 9)


def test_bars_of_remedies_are_to_one_scale():
    """A bar is as long as the years that are told beside it, the same for both plants; a remedy
    after which the limit is not reached has words and no bar."""
    steps = "coagulation, flocculation, sedimentation and filters"
    long = f"one more unit of {steps}, and the plant rated for all of it"
    supply = [("yards", np.inf), (long, 8.0)]
    sewage = [("fixtures", 4.0), ("rain", 1.0), ("leaks", 0.0)]
    plants = [
        replace(years(11e3, 20.0), remedies=supply),
        replace(years(11e3, 20.0), whose="the wastewater plant", remedies=sewage),
    ]
    picture = capacity_years("larkmill", 2031, plants, caption="A forecast.")
    assert_labels_are_apart(picture)
    bars = [patch for patch in picture.sheet.patches if patch.get_gid() == "remedy"]
    told = {text.get_position(): text.get_text() for text in picture.sheet.texts}
    lengths = {}
    for bar in bars:
        end, middle = bar.get_x() + bar.get_width(), bar.get_y() + 0.5 * bar.get_height()
        (words,) = [
            words
            for (x, y), words in told.items()
            if 0.0 < x - end < 0.2 and abs(y - middle) < 1e-9
        ]
        lengths[float(words)] = bar.get_width()
    assert set(lengths) == {8.0, 4.0, 1.0}
    assert np.ptp([length / bought for bought, length in lengths.items()]) < 1e-9
    whole = [" ".join(words.split()) for words in told.values()]
    assert {one for one, _ in supply} | {"fixtures", "rain"} <= set(whole)
    assert whole.count("limit not reached by 2061") == 1
    assert not any("…" in words for words in whole)


def test_the_crossing_is_the_first_year_past_the_limit():
    """The dot stands on the flow in the year that is told: the year before, it is below the limit;
    in that year it is not."""
    limit = 10.55e3  # 9,000 and 100 more each year: between 2046 and 2047
    picture = capacity_years("larkmill", 2031, [years(limit, 15.5)], caption=".")
    lines = {line.get_gid(): line for line in picture.axes[1].lines}
    (x,), (y,) = lines["crossing"].get_data()
    (able, _) = lines["able"].get_ydata()
    assert x == 2047
    assert y == pytest.approx(np.interp(x, *lines["flow"].get_data()))
    assert np.interp(x - 1, *lines["flow"].get_data()) < able <= y
    assert any("first passed in 2047" in words.get_text() for words in picture.sheet.texts)
