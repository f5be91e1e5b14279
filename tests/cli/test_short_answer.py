"""The short answer: few lines in plain words, and every number found in the record another way."""

from __future__ import annotations

import re
from contextlib import chdir

import numpy as np
import pytest
import textstat
from cli.commands import call, told

import hydroloop as hl

GRADE = 8
MOST = {"first_town": 20, "long_river": 20, "old_town": 20, "five_towns": 30, "no rain": 20}
"""Runs, and how many lines each may print; no rain is the first town."""
DRIEST = ("--set", "dry_season.method=driest_year")
RIVERS = {
    "first_town": ("wren",),
    "old_town": ("tarrow",),
    "long_river": ("tessle",),
    "five_towns": ("wren", "fenlow"),
}
DRY = [
    *((name, 0.05, DRIEST) for name in RIVERS),
    *((name, 0.5, ()) for name in RIVERS),
    ("old_town", 0.0, ()),
    ("five_towns", 0.0, ()),
    ("long_river", 1.0, DRIEST),
    ("five_towns", 1.0, ("--set", "dry_season.rain_scale=0")),
]
"""Droughts: scenario, part of the rivers' inflow that is left, and what else is changed."""


@pytest.fixture(scope="module")
def runs(tmp_path_factory):
    """What each run printed, and its folder."""
    made = {}
    place = tmp_path_factory.mktemp("runs")
    with chdir(place):
        for name in MOST:
            words = (
                ["first_town", "--set", "dry_season.rain_scale=0"] if name == "no rain" else [name]
            )
            out = ["--out", "dry"] if name == "no rain" else []
            done = call("run", *words, "--no-pictures", *out)
            assert done.exit_code == 0, done.output
            made[name] = done.stdout, place / (out[1] if out else f"{name}-results")
    return made


def sentences(printed: str) -> str:
    """The answer alone, without the head and what stands below it."""
    answer = printed.split("\n- A teaching model")[0].split("\n\n", 1)[1]
    return (
        " ".join(answer.split("\n\n")[-1].split())
        if "changed" in answer
        else " ".join(answer.split())
    )


def used_by_hand(record, town: str) -> float:
    """Share of what ran into a town's homes that had been in a home, flow by flow [-]."""
    homes = record.isel(flow=(record["kind"] == "home_use").values)
    mine = homes.isel(flow=[str(name).startswith(f"{town}/") for name in homes["target"].values])
    never = hl.count_uses(record)["share"].sel(use=0)
    unused, whole = 0.0, 0.0
    for flow in range(mine.sizes["flow"]):
        rate = mine["rate"].isel(flow=flow).values
        share = never.sel(store=str(mine["source"].values[flow])).values[1:]
        unused += float(np.nansum(rate * share))
        whole += float(rate.sum())
    return 1.0 - unused / whole


@pytest.mark.parametrize("name", list(MOST))
def test_a_short_answer_is_short(runs, name):
    """At most 20 lines for a town or two and 30 for five, none wider than a screen; the folder has
    all of it."""
    printed, folder = runs[name]
    lines = printed.splitlines()
    assert len(lines) <= MOST[name], printed
    assert max(map(len, lines)) <= 96
    assert len((folder / "answer.txt").read_text().splitlines()) > 2 * len(lines)


@pytest.mark.parametrize(("name", "left", "more"), DRY)
def test_a_drought_is_told_as_shortly(name, left, more, tmp_path, monkeypatch):
    """Whatever is short, cut, low or spilled in a drought, its answer is no longer, and as easy."""
    monkeypatch.chdir(tmp_path)
    scales = [
        word for river in RIVERS[name] for word in ("--scale", f"river.{river}.inflow={left}")
    ]
    done = call("run", name, *more, *(scales if left != 1.0 else []), "--no-pictures")
    assert done.exit_code == 0, done.output
    lines = done.stdout.splitlines()
    assert len(lines) <= MOST[name], done.stdout
    assert max(len(line) for line in lines if " hydroloop " not in line) <= 96
    assert textstat.flesch_kincaid_grade(sentences(done.stdout)) <= GRADE, done.stdout
    assert "hydroloop compare" in done.stdout


@pytest.mark.parametrize("name", list(MOST))
def test_a_short_answer_is_easy_to_read(runs, name):
    """Its sentences ask for eight years of school at most, by Flesch and Kincaid's formula."""
    text = sentences(runs[name][0])
    assert textstat.flesch_kincaid_grade(text) <= GRADE, text
    assert not re.search(r"\b[fmS]\b(?!')|resilience|turnover|parcel", text)


def test_used_shares_are_those_of_the_record(runs):
    """Each town's share in the short answer is that of its water, flow by flow."""
    printed, folder = runs["five_towns"]
    text, record = sentences(printed), hl.read_record(folder / "record.nc")
    said = dict(re.findall(r"(\w+): ([\d.]+) % of the season's tap water had been", text))
    assert list(said) == ["Osselby", "Larkmill", "Quillford", "Tamberly"]
    for town, share in said.items():
        assert float(share) / 100.0 == pytest.approx(used_by_hand(record, town.lower()), abs=0.006)
    assert "None of Brackenhythe's tap water had been through a home" in text
    assert used_by_hand(record, "brackenhythe") < 0.0005


def test_a_drought_leads_with_who_ran_short(runs):
    """Without rain the shortage comes first, with the share that the record's flows give."""
    printed, folder = runs["no rain"]
    text, record = sentences(printed), hl.read_record(folder / "record.nc")
    found = re.search(
        r"Larkmill ran short of water on (\d+) days.*?over the season it got "
        r"([\d.]+) % of what it asked for",
        text,
    )
    assert found is not None, text
    assert text.index("ran short") < text.index("tap water")
    asked = record["demand"].sel(town="larkmill").sum("purpose")
    into = record.isel(
        flow=[
            str(target).startswith("larkmill/") and kind in ("home_use", "work_use", "yard_use")
            for target, kind in zip(record["target"].values, record["kind"].values, strict=True)
        ]
    )["rate"].sum("flow")
    assert float(found[2]) / 100.0 == pytest.approx(float(into.sum() / asked.sum()), abs=0.006)
    assert int(found[1]) == int((into.values < asked.values * (1 - 1e-9)).sum())


def test_what_is_suggested_changes_something(runs):
    """What a run suggests next, of the river and the town above, moves the used share."""
    changes = re.findall(r"compare first_town --scale (\S+)", runs["first_town"][0])
    assert [one.split(".")[0] for one in changes] == ["river", "town"]
    for change in changes:
        parts = told("compare", "first_town", "--scale", change)["tables"]["contributions"]
        assert (
            abs(next(one["season_used_share"] for one in parts if one["town"] == "penhollow"))
            > 0.005
        )
