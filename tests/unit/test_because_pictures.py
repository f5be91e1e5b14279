"""Because, drawn: bars as long as used shares, parts that can be told apart, labels to be read."""

from __future__ import annotations

import numpy as np
import pytest
from chart_checks import assert_labels_are_apart, assert_text_can_be_read

import hydroloop as hl
from hydroloop.charts import because, colours, glass
from hydroloop.charts.because_words import CAME
from hydroloop.errors import AskError
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.time_tables import between_towns
from hydroloop.tracing.returning import WAYS


@pytest.fixture(scope="module", params=["first_town", "five_towns"])
def table(request):
    scenario = hl.read_scenario(request.param)
    return hl.measures(hl.simulate(scenario), scenario)


def bars(picture, gid):
    return [patch for patch in picture.sheet.patches if patch.get_gid() == gid]


def test_the_picture_can_be_read(table):
    """No label touches another, leaves the page or is hard to read."""
    picture = because(table)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_bars_are_as_long_as_used_shares(table):
    """Parts of one town lie side by side, and together are as long as its used share."""
    rows = {}
    for part in bars(because(table), "part"):
        rows.setdefault(round(part.get_y(), 6), []).append(part.get_width())
    used = np.array([share for share in table["season_used_share"].values if share >= 0.0005])
    drawn = np.array([sum(rows[y]) for y in sorted(rows, reverse=True)])
    assert len(drawn) == len(used)
    assert drawn / drawn.max() == pytest.approx(used / used.max(), rel=1e-6)


def test_a_glass_shows_who_used_its_water_last():
    """In the used part of the glass each town has its height; together they are the used part."""
    scenario = hl.read_scenario("five_towns")
    table = hl.measures(hl.simulate(scenario), scenario)
    picture = glass(table, "osselby")
    heights = [part.get_height() for part in bars(picture, "user")]
    layers = [layer.get_height() for layer in bars(picture, "layer")]
    assert len(heights) > 1
    assert sum(heights) == pytest.approx(sum(layers[1:]), rel=1e-3)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_every_way_has_its_fill_and_its_words():
    """No two ways look alike in grey: they differ in hatching; ink can be read on all fills."""
    assert set(colours.WAYS) == set(WAYS) == set(CAME)
    hatches = [hatch for _, hatch in colours.WAYS.values()]
    assert len(set(hatches)) == len(hatches)


def test_a_record_without_homes_has_no_bars():
    """What cannot be drawn is said."""
    scenario = hl.read_scenario("first_town")
    table = hl.measures(hl.simulate(scenario), scenario)
    with pytest.raises(AskError, match="homes"):
        because(table.drop_vars("season_used_share_by_way"))


def test_a_town_s_own_reclaimed_water_has_a_row_among_the_outfalls():
    """What Osselby pumps straight back to its plant stands beside what came by outfalls."""
    scenario = hl.read_scenario("five_towns")
    record = hl.simulate(scenario)
    result = Result(scenario, record, hl.measures(record, scenario))
    rows = [row for row in between_towns(result).records() if row["by"] == "reclaimed water"]
    assert [row["to the taps of"] for row in rows] == ["osselby"]
    own = result.value("season_reclaimed_share", town="osselby")
    assert rows[0]["share of that tap water [%]"] == pytest.approx(100 * own)
