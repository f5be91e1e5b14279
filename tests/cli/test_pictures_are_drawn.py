"""Pictures of a run: which are drawn, and none after a failure."""

from __future__ import annotations

from functools import partial

import pytest
from small_scenarios import one_town

from hydroloop.errors import OutputError
from hydroloop.files.folder import whole_folder
from hydroloop.measures import measures
from hydroloop.outputs.document import Document, Picture
from hydroloop.outputs.document.drawing import draw_pictures
from hydroloop.outputs.run.pictures import Wanted, figure_of, pictures_of
from hydroloop.outputs.run.result import Result
from hydroloop.waterworks import simulate


@pytest.fixture(scope="module")
def run() -> Result:
    """A short run of one town."""
    scenario = one_town(season__end="2031-05-10")
    record = simulate(scenario)
    return Result(scenario, record, measures(record, scenario))


def document(run, *wanted) -> Document:
    """A document of some pictures alone."""
    return Document(
        "run", "Pictures", [Picture(one.name, partial(figure_of, run, one)) for one in wanted]
    )


def test_how_many_pictures(run):
    """None, those of one town, or those of all."""
    assert pictures_of(run, "none") == []
    assert {one.name for one in pictures_of(run, "few")} == {
        "map",
        "because",
        *(f"larkmill_{kind}" for kind in ("glass", "loop", "season", "parcel")),
    }
    assert len(pictures_of(run, "all")) == 6


def test_a_picture_without_anything_to_show_is_left_out(run, tmp_path):
    """Where no water reached a town there is no picture of it, and no error."""
    table = run.table.assign(
        use_share=run.table["use_share"] * 0.0, unknown_share=run.table["unknown_share"] * 0.0
    )
    dry = Result(run.scenario, run.record, table)
    assert not draw_pictures(document(dry, Wanted("glass", "larkmill")), tmp_path)
    assert not list((tmp_path / "pictures").iterdir())


def test_a_disk_that_fills_up_while_pictures_are_drawn_is_told_plainly(run, tmp_path):
    """Of the folder that was asked for, with what the system said, and no name within it."""
    limits = pytest.importorskip("resource")
    usual, out = limits.getrlimit(limits.RLIMIT_FSIZE), tmp_path / "out"
    limits.setrlimit(limits.RLIMIT_FSIZE, (1000, usual[1]))
    try:
        with pytest.raises(OutputError) as told, whole_folder(out) as folder:
            draw_pictures(document(run, Wanted("glass", "larkmill")), folder)
    finally:
        limits.setrlimit(limits.RLIMIT_FSIZE, usual)
    assert str(told.value).startswith(f"{out}: cannot be written (file too large).")
    assert not list(tmp_path.iterdir())
