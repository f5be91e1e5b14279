"""`hydroloop week`: a town's week by the hour on the command line."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from hydroloop.cli.main import main
from hydroloop.studies.hourly_week import PURPOSES


def asked(*words):
    """Values of the command as a script gets them."""
    done = CliRunner().invoke(main, ["week", *words, "--no-pictures", "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_the_week_as_json():
    """168 hours of everything, and what was taken and made moves the level."""
    found = asked("first_town", "penhollow", "2031-08-11")
    hours = found["tables"]["hours"]
    assert hours[0]["hour"] == "2031-08-11T00:00"
    assert len(hours) == 168
    full = found["facts"]["tanks_full"]
    for hour in hours:
        change = hour["tanks_after"] - hour["tanks_before"]
        assert change == pytest.approx((hour["made"] - taken(hour)) / 24.0, abs=1e-11 * full)
    assert found["cautions"]


def taken(hour):
    """What all take from the mains in an hour."""
    return sum(hour[who] for who in PURPOSES)


def test_leaks_mended_make_the_peak_lower():
    """With fewer leaks less is taken in the peak hour; --set and --scale reach the run."""
    whole, mended = (
        max(map(taken, asked("first_town", "larkmill", "2031-08-11", *more)["tables"]["hours"]))
        for more in ((), ("--scale", "town.*.mains.real_losses=0.5"))
    )
    assert mended < whole


@pytest.mark.parametrize("units", ["us", "metric"])
def test_words_and_cautions(units):
    """Words first, then days, and what it is not for."""
    done = CliRunner().invoke(main, ["week", "first_town", "--no-pictures", "--units", units])
    assert done.exit_code == 0, done.output
    text = " ".join(done.stdout.split())
    for words in (
        "By the hour: Larkmill",
        "times the average hour",
        "To even out the hours",
        "Without tanks the plant",
        "A teaching model",
        "Licensed operators",
        "Chlorine and other treatment chemicals are dangerous",
    ):
        assert words in text
    assert ("Mgal" in text) == (units == "us")


def test_a_picture_is_written_once(tmp_path):
    """A picture is written whole, and not over another without --force."""
    path = tmp_path / "week.png"
    words = ["week", "first_town", "larkmill", "2031-08-11", "--out", str(path)]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert path.read_bytes().startswith(b"\x89PNG")
    again = CliRunner().invoke(main, words)
    assert again.exit_code == 2
    assert "--force" in again.stderr
    assert CliRunner().invoke(main, [*words, "--force"]).exit_code == 0


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["first_town", "penholow"], "there is no town"),
        (["first_town", "penhollow", "2040-01-01"], "outside the season"),
        (["first_town", "penhollow", "someday"], "is no date"),
        (["first_town", "--set", "town.*.tanks.volume=0 m3"], "no storage tanks"),
        (["first_town", "--set", "season.step=6 hour"], "hides the peaks"),
        (["first_town", "--out", "week.nc"], "ends as a file does that is not written here"),
    ],
)
def test_bad_input_gets_a_message(words, message):
    """An unknown town, a day that is none or outside, no tanks, a long step, a strange ending."""
    done = CliRunner().invoke(main, ["week", *words])
    assert done.exit_code == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr


def test_what_is_bought_is_not_called_made_by_the_plant():
    """A town that buys its water has its sources named; a village is asked for no fire water."""
    words = ["week", "first_town", "larkmill", "--no-pictures"]
    done = CliRunner().invoke(main, words)
    assert "Without tanks the plant would have to follow" in " ".join(done.stdout.split())
    assert "water for fires on top" in " ".join(done.stdout.split())
    both = CliRunner().invoke(main, [*words, "--set", "town.larkmill.imported=30 ML/day"])
    assert "Without tanks the plant and the imports would" in " ".join(both.stdout.split())
    village = CliRunner().invoke(
        main,
        [*words, "--set", "town.larkmill.people=200", "--set", "town.larkmill.land.area=1 km2"],
    )
    assert "Without tanks the plant" in " ".join(village.stdout.split())
    assert "fires" not in village.stdout
