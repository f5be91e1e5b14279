"""The map of the river and the drought: what is drawn is what the record has."""

from __future__ import annotations

import numpy as np
import pytest
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from matplotlib.colors import to_rgba

import hydroloop as hl
from hydroloop.charts import drought, river_map
from hydroloop.charts.drought import DryRun, Watched
from hydroloop.errors import AskError
from hydroloop.record import flow_mask

LAKE = Watched("the Kelmere reservoir", "%", (("watch", 70.0), ("warning", 50.0)))
DAYS = np.arange("2047-07-01", "2047-09-09", dtype="datetime64[D]")


def dry(name=""):
    """A reservoir that falls evenly, with cuts in every stage and a shortage in the end."""
    level = np.linspace(100.0, 20.0, len(DAYS))
    stage = (level < 70.0).astype(int) + (level < 50.0)
    full = np.full(len(DAYS), 9000.0)
    cut, short = 900.0 * stage, np.where(level < 30.0, 2000.0, 0.0)
    return DryRun(name, level, stage, full - cut - short, cut, short)


@pytest.fixture(scope="module", params=["first_town", "long_river", "five_towns"])
def run(request):
    scenario = hl.read_scenario(request.param)
    record = hl.simulate(scenario)
    return record, hl.measures(record, scenario)


def test_the_map_can_be_read(run):
    """No label of the map touches another, leaves the page or is hard to read."""
    picture = river_map(*run)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_the_map_has_every_town_and_reservoir(run):
    """Each town, each intake out of the river, each outfall and each reservoir is drawn once."""
    record, table = run
    drawn = [patch.get_gid() for patch in river_map(record, table).sheet.patches]
    river = np.isin(record["role"].sel(store=record["store"]).values, ("reach", "reservoir"))
    waters = record["store"].values[river]
    taking = {
        str(target).split("/")[0]
        for target, source in zip(
            record["target"].values[flow_mask(record, kind="intake")],
            record["source"].values[flow_mask(record, kind="intake")],
            strict=True,
        )
        if source in waters
    }
    assert drawn.count("town") == table.sizes["town"]
    assert drawn.count("intake") == len(taking)
    assert drawn.count("outfall") == int(flow_mask(record, kind="outfall").sum())
    assert drawn.count("reservoir") == int((record["role"] == "reservoir").sum())


def test_each_town_shows_where_its_water_comes_from(run):
    """A town has an arrow from the river or words for what it lives on, and no arrow goes behind
    the box of another town."""
    record, table = run
    sheet = river_map(record, table).sheet
    boxes = [patch.get_extents() for patch in sheet.patches if patch.get_gid() == "town"]
    arrows = [
        patch.get_extents() for patch in sheet.patches if patch.get_gid() in ("intake", "outfall")
    ]
    taking = sum(patch.get_gid() == "intake" for patch in sheet.patches)
    told = [words.get_text() for words in sheet.texts if words.get_text().startswith("from ")]
    assert taking + len(told) == table.sizes["town"]
    for arrow in arrows:
        middle = 0.5 * (arrow.x0 + arrow.x1)
        crossed = [
            box for box in boxes if box.x0 < middle < box.x1 and arrow.y0 < box.y0 < arrow.y1
        ]
        assert len(crossed) <= 1
        assert all(arrow.y1 < box.y1 for box in crossed)


def test_a_record_without_a_river_has_no_map():
    """Where there is no reach, that is said."""
    record = hl.simulate(hl.read_scenario("first_town"))
    with pytest.raises(AskError, match="no river"):
        river_map(
            record.assign(role=("store", np.full(record.sizes["store"], "tank"))),
            hl.measures(record),
        )


def test_the_river_below_the_last_town_has_the_share_of_its_water(run):
    """What leaves the map was used by the share that all the river's own water was."""
    record, table = run
    last = str(record["source"].values[flow_mask(record, kind="downstream")][0])
    share = table["season_used_share_in_river"]
    assert 0.0 < float(share.sel(store=last)) < 1.0
    assert bool(share.sel(store=record["role"] == "mains").isnull().all())


@pytest.mark.parametrize("names", [[""], ["without", "with"]])
def test_the_drought_can_be_read(names):
    """No label of the drought touches another or is hard to read, with one run and with two."""
    picture = drought(DAYS, LAKE, [dry(name) for name in names], caption="Dry.")
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_stages_stand_where_they_were_in_force():
    """The strip of each stage is as long as the stage was the hardest one in force."""
    picture = drought(DAYS, LAKE, [dry()], caption="Dry.")
    strips = {
        patch.get_gid(): patch.get_data().values
        for axes in picture.axes
        for patch in axes.patches
        if patch.get_gid() in ("watch", "warning")
    }
    assert {name: int(values.sum()) for name, values in strips.items()} == {
        "watch": int((dry().stage == 1).sum()),
        "warning": int((dry().stage == 2).sum()),
    }


def test_marks_that_differ_are_those_of_each_run():
    """Where two runs have other marks, no band lies behind both levels: each mark is a line in the
    look of its run, and both are named."""
    lake = Watched(
        "the Kelmere reservoir", "%", (("watch", 90.0), ("emergency", 75.0)), (70.0, 50.0)
    )
    picture = drought(DAYS, lake, [dry("without"), dry("with")], caption="Dry.")
    assert_labels_are_apart(picture)
    (level,) = [axes for axes in picture.axes if any(p.get_gid() == "level" for p in axes.patches)]
    assert not [patch for patch in level.patches if patch.get_gid() == "band"]
    looks = {patch.get_edgecolor() for patch in level.patches if patch.get_gid() == "level"}
    marks = [line for line in level.lines if line.get_gid() == "mark"]
    assert {line.get_ydata()[0] for line in marks} == {90.0, 75.0, 70.0, 50.0}
    assert {to_rgba(line.get_color()) for line in marks} == looks
    assert "watch: 90, not 70 %" in [text.get_text() for text in picture.sheet.texts]


def test_a_drought_needs_stages():
    """Without stages there is nothing to draw, and that is said."""
    with pytest.raises(AskError, match="0 stages"):
        drought(DAYS, Watched("the Wren", "ft³/s", ()), [dry()], caption=".")
