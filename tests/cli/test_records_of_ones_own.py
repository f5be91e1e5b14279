"""Glass, drops and pictures of a water record that somebody made from tables of their own."""

from __future__ import annotations

import numpy as np
import pytest
from cli.commands import call, told

import hydroloop as hl
from hydroloop.record import Network, build_record, edges_of

DAYS = 30


@pytest.fixture
def own():
    """A town that draws 40 of a river of 100 m3/d and returns 36 of them above its own intake."""
    ends = (
        ["upstream", "river", "town/homes", "town/homes", "river"],
        ["river", "town/homes", "river", "sky", "downstream"],
        ["upstream", "home_use", "outfall", "evaporation", "downstream"],
    )
    rates = np.tile([100.0, 40.0, 36.0, 4.0, 96.0], (DAYS, 1))
    volume = np.tile([50.0, 2.0], (DAYS + 1, 1))
    return build_record(
        Network(["river", "town/homes"], *ends),
        edges_of("2031-07-01", DAYS),
        volume,
        rates,
        title="By hand",
    )


def test_a_record_file_has_a_glass_and_drops(own, tmp_path, monkeypatch):
    """The glass of a record file is that of the record: 36 of 136 in the river were used."""
    monkeypatch.chdir(tmp_path)
    hl.write_record(own, "own.nc")
    glass = told("glass", "own.nc", "town")
    assert glass["ran"]["scenario"] == "By hand"
    assert glass["facts"]["used_share"] == pytest.approx(36.0 / 136.0, abs=0.02)
    assert (tmp_path / glass["written"]["place"]).is_file()
    drops = call("drops", "own.nc", "town", "--backward")
    assert drops.exit_code == 0, drops.output
    assert "Town" in drops.output


def test_another_use_may_be_counted_in_a_record(own, tmp_path):
    """--count-as home-or-workplace tells of the same water here, where all use is that of homes."""
    hl.write_record(own, tmp_path / "own.nc")
    home, either = (
        told("glass", str(tmp_path / "own.nc"), "--no-pictures", *more)["facts"]
        for more in ((), ("--count-as", "home-or-workplace"))
    )
    assert either["used_share"] == home["used_share"]


@pytest.mark.parametrize("name", ["run", "check", "compare", "spread", "report", "lesson", "page"])
def test_a_record_is_told_from_a_scenario(name, own, tmp_path):
    """Where a scenario is wanted, a record is called what it is, and who takes it is told."""
    hl.write_record(own, tmp_path / "own.nc")
    other = ["first_town"] if name == "compare" else []
    done = call(name, str(tmp_path / "own.nc"), *other)
    assert done.exit_code == 2
    assert "own.nc: is a water record, not a scenario" in done.stderr
    assert "hydroloop glass" in done.stderr
    with pytest.raises(hl.ScenarioError, match="read_record"):
        hl.read_scenario(tmp_path / "own.nc")


def test_what_has_run_cannot_be_changed(own, tmp_path):
    """--set on a record file is refused in words."""
    hl.write_record(own, tmp_path / "own.nc")
    done = call("glass", str(tmp_path / "own.nc"), "--set", "town.a.people=2")
    assert done.exit_code == 2
    assert "what has run cannot be changed" in done.stderr


def test_drawing_functions_take_a_record(own):
    """Each function hands back a figure with a title, a caption and words for the blind."""
    for draw in (hl.draw.glass, hl.draw.season, hl.draw.parcel):
        picture = draw(own)
        assert picture.axes
        assert picture.title in picture.alternative
        assert picture.caption in picture.alternative
