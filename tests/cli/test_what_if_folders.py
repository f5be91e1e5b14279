"""Folders of `spread`, `sweep` and `compare`, and runs that take a plan."""

from __future__ import annotations

import json
import os

import pytest
import xarray as xr
from cli.commands import call, process, row, told

from hydroloop.files.listing import LIST
from hydroloop.scenario import read_scenario

SHORT = ("--set", "season.end=2031-05-31")
RANGE = ("--members", "6", "--set", "river.wren.inflow=12 cfs to 25 cfs", *SHORT)
SPREAD = ("spread", "first_town", *RANGE)
SWEEP = ("sweep", "first_town", "--factors", "river.wren.inflow=1,0.5", *SHORT)
COMPARE = ("compare", "first_town", "--set", "town.larkmill.people=30000")
ALWAYS = {"answer.txt", "answer.html", "cautions.txt", "inputs", "tables", "pictures", LIST}
PLAN = """\
[plan]
title = "Less lost"
by = "the Herons"
points = 60

[[step]]
what = "Mend the mains"
why = "a sixth leaks"
points = 40
measure = "repair_leaks"
town = "larkmill"
to = "5 %"
"""


@pytest.fixture(autouse=True)
def _in_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.toml").write_text(PLAN)


@pytest.mark.parametrize(
    ("words", "more", "pictures"),
    [
        (SPREAD, {"members.nc"}, {"penhollow_bands"}),
        (SWEEP, {"grid.nc"}, {"season_used_share"}),
        (COMPARE, set(), {"season_used_share", "glass"}),
    ],
)
def test_a_folder_is_whole(tmp_path, words, more, pictures):
    """Answer, cautions, tables, inputs and pictures with captions: all listed, all there."""
    done = call(*words, "--out", "out")
    assert done.exit_code == 0, done.output
    assert set(os.listdir("out")) == ALWAYS | more
    assert set(os.listdir("out/pictures")) == {
        "captions.txt",
        *(f"{name}.{ending}" for name in pictures for ending in ("png", "svg")),
    }
    captions = (tmp_path / "out/pictures/captions.txt").read_text()
    assert all(f"{name}\n  " in captions for name in pictures)
    answer = (tmp_path / "out/answer.txt").read_text()
    assert answer.startswith(done.stdout[: done.stdout.index("\n- A teaching")].split("\n\n")[0])
    assert len(answer) > 1.2 * len(done.stdout)
    assert "Written to out/" in done.stdout
    named = "before" if "compare" in words else "scenario"
    assert call("check", f"out/inputs/{named}.toml").exit_code == 0


@pytest.mark.parametrize("words", [SPREAD, SWEEP, COMPARE])
def test_nothing_is_written_unasked(words):
    """Without --out the answer is words on screen, and no file."""
    done = call(*words)
    assert done.exit_code == 0
    assert os.listdir() == ["plan.toml"]
    assert "Written to" not in done.stdout


@pytest.mark.parametrize("words", [SPREAD, SWEEP, COMPARE])
def test_a_folder_is_refused_before_anything_is_run(tmp_path, words):
    """A folder that is there, a file's name and a file in the way: code 2, nothing half-written."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/notes.txt").write_text("mine")
    (tmp_path / "file").write_text("mine")
    before = sorted(path.name for path in tmp_path.rglob("*"))
    for out, cure in (
        ("mine", "Add --force"),
        ("bands.csv", "Name a folder"),
        ("file", "is no folder"),
    ):
        done = call(*words, "--out", out)
        assert done.exit_code == 2
        assert done.stdout == ""
        assert cure in done.stderr
        assert len(done.stderr.strip().splitlines()) <= 2
    assert call(*words, "--out", "mine", "--force").exit_code == 2
    inside = call(*words, "--out", "file/inside")
    assert inside.exit_code == 2
    assert inside.stderr.startswith("file/inside: cannot be written (file is a file).")
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_force_replaces_what_was_written(tmp_path):
    """A second folder in other units takes the place of the first."""
    assert call(*SWEEP, "--out", "out").exit_code == 0
    assert call(*SWEEP, "--out", "out").exit_code == 2
    assert (
        call(*SWEEP, "--out", "out", "--force", "--units", "metric", "--pictures", "none").exit_code
        == 0
    )
    assert "ML" in (tmp_path / "out/answer.txt").read_text()
    assert not (tmp_path / "out/pictures").exists()


def test_a_grid_alone_is_a_file(tmp_path):
    """--out with .nc writes the grid and nothing else; a file that is there is kept."""
    assert call(*SWEEP, "--out", "grid.nc").exit_code == 0
    assert sorted(os.listdir()) == ["grid.nc", "plan.toml"]
    grid = xr.load_dataset("grid.nc", engine="h5netcdf")
    assert grid["river.wren.inflow"].values.tolist() == [1.0, 0.5]
    written = (tmp_path / "grid.nc").read_bytes()
    again = call(*SWEEP, "--out", "grid.nc")
    assert again.exit_code == 2
    assert "Add --force" in again.stderr
    assert (tmp_path / "grid.nc").read_bytes() == written
    assert call(*SWEEP, "--out", "nowhere/grid.nc").exit_code == 2


def test_a_grid_needs_a_key():
    """Factors alone are enough; neither values nor factors gets a message with an example."""
    assert call(*SWEEP).exit_code == 0
    done = call("sweep", "first_town")
    assert done.exit_code == 2
    assert "--factors river.wren.inflow=1,0.8" in done.stderr


def test_json_tells_the_files():
    """With --json stdout is one object that names the folder and what is in it."""
    done = process(*SPREAD, "--out", "out", "--json")
    assert done.returncode == 0, done.stderr
    files = json.loads(done.stdout)["written"]["files"]
    assert json.loads(done.stdout)["written"]["place"] == "out/"
    assert {"members.nc", "tables/bands.csv", "pictures/penhollow_bands.png"} <= set(files)
    assert all(os.path.isfile(os.path.join("out", name)) for name in files)


def test_units_are_those_asked_for():
    """Values of a key and of the measures stand in the units asked for, on screen and in files."""
    words = ("sweep", "first_town", "--over", "river.wren.inflow=25 cfs,12 cfs", *SHORT, "--full")
    us, metric = (call(*words, "--units", units).stdout for units in ("us", "metric"))
    assert "river.wren.inflow [ft3/s]" in us
    assert "river.wren.inflow [m3/s]" in metric
    assert "Mgal" in us
    assert "Mgal" not in metric


def test_a_run_takes_a_plan(tmp_path):
    """The plan stands at the top with its points, its steps act, and the inputs keep them."""
    done = call("run", "first_town", *SHORT, "--plan", "plan.toml", "--no-pictures", "--out", "out")
    assert done.exit_code == 0, done.output
    lines = done.stdout.splitlines()
    assert " ".join(lines[3:5]).startswith(
        'The plan "Less lost" by the Herons: Mend the mains. It costs 40 of the 60 points'
    )
    lines = (tmp_path / "out/answer.txt").read_text().splitlines()
    plan = lines.index("Plan: Less lost, by the Herons")
    assert lines[plan + 1] == "  1. Mend the mains. Why: a sixth leaks. 40 points."
    assert lines[plan + 2] == "  It costs 40 of the 60 points that there are."
    kept = read_scenario("out/inputs/scenario.toml")
    assert kept.town["larkmill"].mains.real_losses == 0.05
    assert str(kept.season.end) == "2031-05-31"


def test_a_run_tells_what_was_changed():
    """Keys of --set and --scale stand in the answer with the value before and the value now."""
    words = ("run", "first_town", *SHORT, "--scale", "river.wren.inflow=0.6", "--no-pictures")
    said = " ".join(call(*words).stdout.split())
    assert (
        "Changed: end of the season 2031-05-31, not 2031-09-30; inflow of the Wren 15 ft3/s, "
        "not 25 ft3/s." in said
    )
    done = call(*words, "--full")
    assert "Run with 2 inputs changed" in done.stdout
    (line,) = [one for one in done.stdout.splitlines() if "river.wren.inflow " in one]
    assert line.split() == ["river.wren.inflow", "25", "ft3/s", "15", "ft3/s"]
    assert "changed" not in call("run", "first_town", "--no-pictures", "--out", "b").stdout


def test_a_plan_is_told_to_scripts():
    """With --json the plan and the changes are values."""
    told = json.loads(
        call("run", "first_town", *SHORT, "--plan", "plan.toml", "--no-pictures", "--json").stdout
    )
    assert [(one["title"], one["points"], one["budget"]) for one in told["ran"]["plans"]] == [
        ("Less lost", 40, 60)
    ]
    assert "town.larkmill.mains.real_losses" in {row["key"] for row in told["ran"]["changes"]}


def test_the_impossible_gets_the_same_message(tmp_path):
    """A plan for a town that there is not: `run` says what `compare` says, and writes nothing."""
    (tmp_path / "plan.toml").write_text(PLAN.replace("larkmill", "larkhill"))
    ran, compared = (call(name, "first_town", "--plan", "plan.toml") for name in ("run", "compare"))
    assert ran.exit_code == compared.exit_code == 2
    assert ran.stderr.splitlines()[0] == compared.stderr.splitlines()[0]
    assert 'step "Mend the mains"' in ran.stderr
    assert os.listdir() == ["plan.toml"]


def test_compare_tells_the_plan():
    """The plan stands at the top of a comparison too."""
    done = call("compare", "first_town", "--plan", "plan.toml")
    assert done.exit_code == 0, done.output
    assert done.stdout.splitlines()[3].startswith('The plan "Less lost" by the Herons: Mend')


def test_runs_of_different_places_can_be_compared(tmp_path):
    """Towns that only one run has are told so; the picture is of those in both."""
    done = call("compare", "first_town", "five_towns", "--out", "out")
    assert done.exit_code == 0, done.output
    text = " ".join(done.stdout.split())
    assert "Penhollow has water only without the change:" in text
    assert "Quillford has water only with the change:" in text
    caption = (tmp_path / "out/pictures/captions.txt").read_text()
    assert "Larkmill: 11.1 % with the change, 0 % without" in caption
    assert "Osselby" not in caption
    assert {"before.toml", "after.toml", "five_towns_flow.csv"} <= set(os.listdir("out/inputs"))


def test_drought_stages_of_one_run_alone_can_be_compared():
    """Of two scenarios only one of which has drought stages no measure is lost but theirs."""
    found = told("compare", "five_towns", "long_river")
    used = {
        (town, run): row(found, "measures", town=town, run=run)["season_used_share"]
        for town in ("velderby", "osselby")
        for run in ("before", "after")
    }
    assert used["velderby", "before"] is None
    assert used["osselby", "after"] is None
    assert used["osselby", "before"] > 0.0
