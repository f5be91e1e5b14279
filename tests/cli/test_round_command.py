"""`hydroloop round`: a day of readings on the command line."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner
from small_scenarios import ONE_TOWN

from hydroloop.cli.main import main
from hydroloop.plants.readings import INVENTED, TESTS


def test_a_day_of_readings_as_json():
    """24 readings of each test, the same for the same seed, and what is invented is named."""
    words = ["round", "first_town", "penhollow", "2031-08-15", "--seed", "3", "--json"]
    first, again = (CliRunner().invoke(main, words) for _ in range(2))
    assert first.exit_code == 0, first.output
    assert first.stdout == again.stdout
    found = json.loads(first.stdout)
    readings = found["tables"]["readings"]
    assert set(readings[0]) == {
        "hour",
        *(test.lower().replace(" ", "_") for test in TESTS),
        "far_end",
    }
    assert len(readings) == 24
    assert found["facts"]["invented"] == list(INVENTED)
    assert found["facts"]["day"] == "2031-08-15"


@pytest.mark.parametrize(
    "words",
    [
        ["first_town", "penholow"],
        ["first_town", "penhollow", "2040-01-01"],
        ["first_town", "--seed", "-1"],
        ["first_town", "--set", "quality.iron_mg_per_l=-1"],
    ],
)
def test_bad_input_gets_a_message(words):
    """An unknown town, a date outside the season, a seed below zero, a negative amount."""
    done = CliRunner().invoke(main, ["round", *words])
    assert done.exit_code == 2
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr


def test_an_aim_is_not_called_a_limit():
    """0.7 mg/L of fluoride is what a dose aims at: the table says from where it is flagged."""
    done = CliRunner().invoke(main, ["round", "first_town", "--full"])
    assert "about 0.7 mg/L, flagged from 15 % above" in done.stdout
    assert "at most 0.7 mg/L" not in done.stdout


@pytest.mark.parametrize(
    "sets",
    [
        ["town.larkmill.yards.area_per_person=100000 m2"],
        [
            "town.larkmill.yards.area_per_person=100000 m2",
            "town.larkmill.people=20000000",
            "river.wren.inflow=1e-9 m3/s",
        ],
        [
            "town.larkmill.homes.use_per_person=0 L/person/day",
            "town.larkmill.yards.area_per_person=0 m2",
        ],
    ],
)
def test_readings_are_numbers_however_odd_the_town(tmp_path, sets):
    """Yards at the end of their bounds, a river that is next to nothing, homes that use nothing."""
    (tmp_path / "mill.toml").write_text(ONE_TOWN.replace("2031-08-31", "2031-05-03"))
    words = [word for change in sets for word in ("--set", change)]
    done = CliRunner().invoke(main, ["round", str(tmp_path / "mill.toml"), "larkmill", *words])
    assert done.exit_code == 0, done.output
    assert not set(re.findall(r"[a-z]+", done.output.lower())) & {"inf", "nan"}
