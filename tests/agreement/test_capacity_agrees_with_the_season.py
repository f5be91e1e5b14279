"""`capacity` judges plants by rules, `run` tells the season: each says what the other finds."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

import hydroloop as hl
from hydroloop.cli.main import main
from hydroloop.studies.capacity_study import capacity_study


def told(folder, command, *words):
    """Words of a command, and what a script is told."""
    asked = [command, "first_town", *words, "--no-pictures"]
    if command == "run":
        asked += ["--out", str(folder / command), "--force"]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    facts = json.loads(CliRunner().invoke(main, [*asked, "--json"]).stdout)["facts"]
    return " ".join(done.stdout.split()), facts


@pytest.mark.parametrize(
    ("people", "over", "short"),
    [("24000", False, False), ("36383", True, False), ("96000", True, True)],
)
def test_each_says_what_the_other_finds(tmp_path, people, over, short):
    """A town within its limits, one over them in a season that goes well, one that runs short: run
    names the loads that capacity finds and where to ask, capacity names how the season went."""
    change = ["--set", f"town.larkmill.people={people}"]
    rules, found = told(tmp_path, "capacity", "larkmill", *change)
    season, facts = told(tmp_path, "run", *change)
    loads = [
        100.0 * found["water_demand"] / found["water_firm_capacity"],
        100.0 * found["wastewater_demand"] / found["wastewater_capacity"],
    ]
    is_over = max(loads) > 100.0
    assert is_over is over
    assert ("larkmill" in facts["over_design_limits"]) is is_over
    assert ("By published design rules, which ask" in season) is is_over
    assert ("hydroloop capacity first_town larkmill" in season) is is_over
    if is_over:
        assert f"is at {loads[0]:.0f} % and its wastewater plant at {loads[1]:.0f} %" in season
    is_short = "Larkmill ran short of water" in season
    assert is_short is short
    assert ("nobody in Larkmill ran short of water" in rules) is not is_short
    assert ("Both are right" in rules) is (is_over and not is_short)
    if is_short:
        days, got = re.search(
            r"ran short of water on (\d+) days.*? it got (\d+) %", season
        ).groups()
        assert f"got {got} % of the water it asked for, and ran short on {days} days" in rules
        assert f"but taps got only {got} % of the water asked for" in rules
        whole, _ = told(tmp_path, "capacity", "larkmill", *change, "--full")
        assert "that says nothing of the larger flow of today" in whole


def test_time_is_told_as_finely_as_the_steps(tmp_path):
    """In daily steps sewage is lost on days, and both commands count the same ones; no storm is
    blamed."""
    change = ["--scale", "town.larkmill.people=4"]
    rules, _ = told(tmp_path, "capacity", "larkmill", *change)
    season, _ = told(tmp_path, "run", *change)
    (days,) = re.findall(r"went round aeration on (\d+) days", season)
    assert f"On {days} days more came than the" in rules
    assert "torm" not in rules


def test_a_remedy_for_wastewater_is_what_the_changed_town_shows():
    """Efficient fixtures, half of the infiltration: the year in which wastewater reaches its first
    limit is that of a town that has them."""
    before = hl.read_scenario("first_town").changed(
        {"town.larkmill.growth.people_per_year": "7.18 %"}
    )
    town = before.town["larkmill"]
    now = capacity_study(before, hl.simulate(before), "larkmill")
    gained = dict(now.sewage_bought)
    for name, change in (
        (
            "efficient fixtures in all homes",
            {"town.larkmill.homes.use_per_person": 110.0 / 138.0 * town.homes.use_per_person},
        ),
        (
            "half of what seeps into the sewers kept out",
            {"town.larkmill.sewers.infiltration": 0.5 * town.sewers.infiltration},
        ),
        (
            "half of the rain kept out of the sewers",
            {"town.larkmill.sewers.storm_share": 0.01},  # it is 0.02 of a separate sewer
        ),
    ):
        after = before.changed(change)
        then = capacity_study(after, hl.simulate(after), "larkmill")
        years = then.sewage_reached[0].years - now.sewage_reached[0].years
        assert years > 0.3
        assert gained[name] == pytest.approx(years, abs=0.1), name


def test_a_larger_wastewater_plant_is_what_the_file_would_size():
    """Half as large again as a remedy, and as a design flow half as large again, come to the same
    year, but for the number of basins."""
    before = hl.read_scenario("first_town").changed(
        {"town.larkmill.growth.people_per_year": "7.18 %"}
    )
    now = capacity_study(before, hl.simulate(before), "larkmill")
    after = before.changed({"town.larkmill.wastewater.design_flow": 1.5 * now.check.design_flow})
    then = capacity_study(after, hl.simulate(after), "larkmill")
    years = then.sewage_reached[0].years - now.sewage_reached[0].years
    assert dict(now.sewage_bought)["a wastewater plant half as large again"] == pytest.approx(
        years, abs=0.05
    )
