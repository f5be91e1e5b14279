"""Every picture of every bundled scenario, of a drought and of runs side by side, can be read."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from chart_checks import (
    assert_axes_show_something,
    assert_labels_are_apart,
    assert_neighbours_differ_in_grey,
    assert_text_can_be_read,
)

import hydroloop as hl
from hydroloop.charts.words import percent
from hydroloop.outputs.document import Picture
from hydroloop.outputs.document.blocks import every
from hydroloop.outputs.report.report import report_document
from hydroloop.outputs.run.pictures import pictures_of
from hydroloop.outputs.run.result import Result, result_of
from hydroloop.outputs.whatif.changed import changed_run
from hydroloop.outputs.whatif.comparison import Against, comparison
from hydroloop.whatif import compare

DRY = {
    "first_town": {"river.wren.inflow": "5 cfs"},
    "five_towns": {"river.wren.inflow.scale": 0.4, "river.fenlow.inflow.scale": 0.4},
    "old_town": {"river.tarrow.inflow.scale": 0.5},
    "long_river": {"river.tessle.inflow.scale": 0.4},
}
"""A drought of each bundled scenario."""


@cache
def run_of(name: str, is_dry: bool) -> Result:
    """A bundled scenario as it is, or in its drought."""
    scenario = hl.read_scenario(name)
    scenario = scenario.changed(DRY[name]) if is_dry else scenario
    return result_of(scenario, hl.simulate(scenario), "us")


@cache
def pictures_drawn(name: str, is_dry: bool) -> dict[str, hl.draw.charts.Picture]:
    """All pictures of a run and of its report."""
    result = run_of(name, is_dry)
    changed = changed_run(hl.read_scenario(name), result.scenario, None, "us")
    report = report_document(result, result.most_used_town, changed)
    wanted = [
        *(one for one in every(report.blocks) if isinstance(one, Picture)),
        *pictures_of(result, "all"),
    ]
    return {one.name: report.drawn(one) for one in {one.name: one for one in wanted}.values()}


def assert_can_be_read(picture, *, is_pale_looked_for=True):
    """No word touches another, leaves the page, is small or pale; no axes are empty."""
    assert_labels_are_apart(picture)
    if is_pale_looked_for:
        assert_text_can_be_read(picture)
    assert_axes_show_something(picture)
    assert_neighbours_differ_in_grey(picture)


@pytest.mark.parametrize(
    ("name", "is_dry"),
    [*((name, True) for name in DRY), ("first_town", False), ("long_river", False)],
    ids=lambda one: one if isinstance(one, str) else "drought" if one else "as it is",
)
def test_every_picture_of_a_run_can_be_read(name, is_dry):
    """Glass, loop, season and parcel of every town, map, because, drought, stays and capacity."""
    wrong = []
    for title, picture in pictures_drawn(name, is_dry).items():
        try:
            # A drought draws all that a run does, and more.
            assert_can_be_read(picture, is_pale_looked_for=is_dry)
        except AssertionError as error:
            wrong.append(f"{title}: {str(error).splitlines()[0]}")
        if is_dry != bool(picture.under):
            wrong.append(f"{title}: {'not told' if is_dry else 'told'} what was changed")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("name", DRY)
def test_captions_have_the_numbers_of_the_run(name):
    """The used shares in captions, taken anew from the shares by uses."""
    result = run_of(name, True)
    for town in result.towns:
        own = result.table.sel(town=town)
        caption = hl.draw.season(result, town).caption
        delivered = own["use_share"].transpose("use", "time").values
        day = int(np.nanargmax(delivered[1:].sum(axis=0).round(9)))
        if delivered[1:, day].sum() > 5e-4:
            assert percent(delivered[1:, day].sum()) in caption
        whole = (
            1.0
            - float(own["season_use_share"].isel(use=0))
            - float(own.get("season_unknown_share", 0.0))
        )
        if whole > 5e-4:
            assert percent(whole) in caption


@pytest.mark.parametrize("name", ["first_town", "old_town", "long_river", "five_towns"])
def test_every_picture_of_two_runs_can_be_read(name):
    """Glasses, stages and steps of a drought beside the run as it is: all told what was changed."""
    found = compare(run_of(name, False).scenario, run_of(name, True).scenario)
    document = comparison([Against("after", found, None)], "us")
    assert document.pictures()
    wrong = []
    for one in document.pictures():
        picture = document.drawn(one)
        try:
            assert picture.under
            assert_can_be_read(picture)
        except AssertionError as error:
            wrong.append(f"{one.name}: {str(error).splitlines()[0]}")
    assert not wrong, "\n".join(wrong)
