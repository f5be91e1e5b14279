"""`hydroloop capacity`: plants against demand, years, remedies and the separation table."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from hydroloop.cli.main import main


def asked(*words):
    """Values of the command as a script gets them."""
    done = CliRunner().invoke(main, ["capacity", *words, "--no-pictures", "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def test_more_people_reach_every_limit_earlier():
    """With twice the growth no limit is reached later, and the demand of today is the same."""
    slow, fast = (
        asked("first_town", "larkmill", "--set", f"town.larkmill.growth.people_per_year={share} %")
        for share in (1, 2)
    )
    assert slow["facts"]["water_demand"] == fast["facts"]["water_demand"]
    years = [
        {one["limit"]: one["years"] for one in found["tables"]["reached"]} for found in (slow, fast)
    ]
    for limit, later in years[0].items():
        if later is not None:
            assert years[1][limit] is not None
            assert years[1][limit] <= later


def test_an_added_filter_is_seen():
    """One filter more, all else equal, raises the flow at which the filters are the limit."""
    basins = ["--set", "town.larkmill.plant.basins.filters.volume=60 m3", "--set"]
    few, more = (
        asked(
            "first_town", "larkmill", *basins, f"town.larkmill.plant.basins.filters.count={count}"
        )
        for count in (4, 5)
    )
    flow = [
        one["flow"]
        for found in (few, more)
        for one in found["tables"]["reached"]
        if one["limit"] == "plant: filters"
    ]
    # With one out three filters are left, or four.
    assert flow[1] / flow[0] == pytest.approx(4.0 / 3.0)


def test_the_separation_table_closes():
    """What settling and filters catch is the particles' share that the scenario gives."""
    found = asked("first_town", "larkmill")
    assert found["facts"]["gap_of_mass"] <= 1e-12
    caught = {one["step"]: one["particles"] for one in found["tables"]["caught"]}
    settled, filtered = caught["sedimentation"], caught["filters"]
    # 93 % settle, and 95 % of the other 7 % are filtered, but for the 2 % of the water that washes
    # the filters and takes its particles along.
    assert filtered / settled == pytest.approx(0.95 * 0.07 / 0.93 * 0.98, rel=1e-6)


def test_words_and_cautions():
    """One page answers first, tabulates, and says what it is not for and how to see more."""
    done = CliRunner().invoke(main, ["capacity", "first_town", "--no-pictures"])
    assert done.exit_code == 0, done.output
    for words in (
        "Larkmill's water plant, as assumed here,",
        "no limit of the supply is reached",
        "A teaching model",
        "Chlorine and other",
        "--full each limit",
    ):
        assert words in " ".join(done.stdout.split())
    assert len(done.stdout.splitlines()) <= 25
    assert "step by step" not in done.stdout


def test_every_step_on_request():
    """With --full come the steps, contact by month, the sewers and what is taken out."""
    done = CliRunner().invoke(main, ["capacity", "first_town", "--no-pictures", "--full"])
    assert done.exit_code == 0, done.output
    for words in (
        "The water plant, step by step",
        "What buys how many years",
        "Chlorine contact in the clearwell",
        "The wastewater plant, step by step",
        "What the sewers carry",
        "What each step takes",
        "A teaching model",
    ):
        assert words in " ".join(done.stdout.split())
    assert "--full each" not in done.stdout


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_rule_stands_in_the_unit_of_its_value(units):
    """Value and rule of a row can be compared at sight: the value is in the rule's unit."""
    done = CliRunner().invoke(
        main, ["capacity", "five_towns", "larkmill", "--no-pictures", "--full", "--units", units]
    )
    shown = [line for line in done.stdout.splitlines() if "overflow rate" in line]
    assert shown
    for line in shown:
        value, rule = line.split("at most")
        assert ("m/day" if units == "metric" else "gpd/ft2") in rule
        on_average, limit = (
            float(re.findall(r"[\d,.]+", words.split("rate")[-1])[0].replace(",", ""))
            for words in (value, rule)
        )
        assert on_average < 2.0 * limit
    # 0.5 gpm/ft2 is 720 gpd/ft2, and 720 x 0.0407458 = 29.3 m/day.
    assert ("at most 29.3 m/day" if units == "metric" else "at most 720 gpd/ft2") in done.stdout
    assert "at least 90 min" in done.stdout  # printed as 1.5 h, beside a value in minutes


def test_a_unit_more_is_asked_of_every_step_that_limits():
    """Two steps that limit at one flow: one more unit of both buys years, and says so."""
    found = asked("five_towns", "larkmill", "--set", "town.larkmill.growth.people_per_year=3 %")
    bought = {one["remedy"]: one["years"] for one in found["tables"]["bought"]}
    name = "one more unit of flocculation and sedimentation, and the plant rated for it"
    assert bought[name] is None or bought[name] > 1.0


def test_a_rated_capacity_can_be_raised():
    """Where the plant has no units of its own, the remedy is a larger rated capacity."""
    found = asked("five_towns", "tamberly")
    assert found["facts"]["water_limited_by"] == "the plant as a whole"
    bought = {one["remedy"]: one["years"] for one in found["tables"]["bought"]}
    raised = bought["a rated capacity half as large again"]
    assert raised is None or raised > 1.0


def test_limits_of_wastewater_are_not_passed_over():
    """The sentence on the first limit tells of supply and of wastewater, each by name."""
    small = "town.larkmill.wastewater.design_flow=1.5 Mgal/day"
    words = [
        "capacity",
        "five_towns",
        "larkmill",
        "--no-pictures",
        "--set",
        small,
        "--set",
        "town.larkmill.plant.capacity=5 Mgal/day",
    ]
    told = " ".join(CliRunner().invoke(main, words).stdout.split())
    assert "the first limit of the supply, flocculation at" in told
    assert re.search(r"that of wastewater, [a-z ]+ at [\d.]+ Mgal/day, is reached already", told)


def test_no_alum_is_not_worth_a_sentence():
    """A town of wells clumps nothing, and the page does not speak of alum."""
    for town, is_told in (("tamberly", False), ("larkmill", True)):
        done = CliRunner().invoke(main, ["capacity", "five_towns", town, "--no-pictures", "--full"])
        assert ("The alum that" in done.stdout) is is_told


@pytest.mark.parametrize(
    "words",
    [
        ["first_town", "larkmil"],
        ["first_town", "--units-out", "9"],
        ["first_town", "--set", "town.larkmill.plant.disinfection.ph=11"],
        ["first_town", "--set", "town.larkmill.growth.years=0"],
    ],
)
def test_bad_input_gets_a_message(words):
    """An unknown town, more units out than there are, pH outside the tables, no years."""
    done = CliRunner().invoke(main, ["capacity", *words, "--no-pictures"])
    assert done.exit_code == 2
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(("out", "code"), [("0", 0), ("4", 0), ("5", 2), ("-1", 2)])
def test_any_number_of_units_out_is_answered(out, code):
    """None or all of the units out is a question like any other; more than there are is refused."""
    done = CliRunner().invoke(main, ["capacity", "first_town", "--no-pictures", "--units-out", out])
    assert done.exit_code == code, done.output


def test_a_town_without_demand_is_told():
    """No use, no plant to judge: the command says so and ends as on any wrong question."""
    nothing = [
        word
        for key in ("homes", "workplaces")
        for word in ("--set", f"town.larkmill.{key}.use_per_person=0 m3/person/day")
    ]
    nothing += ["--set", "town.larkmill.yards.area_per_person=0 m2"]
    done = CliRunner().invoke(main, ["capacity", "first_town", "larkmill", *nothing])
    assert done.exit_code == 2
    assert "uses no water" in done.output


def test_a_town_may_shrink():
    """Where demand falls no limit is said to be reached in a year, one that is passed is left again
    where it is, and growth out of bounds is refused with the bounds that explain prints."""

    def told(*sets):
        words = [word for one in sets for word in ("--set", f"town.larkmill.{one}")]
        done = CliRunner().invoke(
            main, ["capacity", "first_town", "larkmill", "--no-pictures", *words]
        )
        return " ".join((done.stdout + done.stderr).split())

    shrinks = "growth.people_per_year=-1 %"
    assert (
        "no limit of supply or wastewater is reached within 30 years: demand falls every "
        "year, from "
    ) in told(shrinks)
    assert re.search(
        r"is reached already \(a falling demand is below it again from 20\d\d\)",
        told("growth.people_per_year=-5 %", "plant.capacity=4 Mgal/day"),
    )
    assert '-60 %" is out of bounds. Write -50 to 50 %.' in told("growth.people_per_year=-60 %")
    explained = CliRunner().invoke(main, ["explain", "town.NAME.growth.people_per_year"]).stdout
    assert re.search(r"bounds +-50 %? ?to 50 %", explained)


def test_the_note_on_bands_names_a_key_that_works():
    """What the note says to write can be written."""
    done = CliRunner().invoke(
        main, ["capacity", "first_town", "penhollow", "--no-pictures", "--full"]
    )
    found = re.search(r'--set "(town\.penhollow\.growth[^"]*)"', " ".join(done.stdout.split()))
    assert found, done.stdout
    again = asked("first_town", "penhollow", "--set", found[1])
    assert again["facts"]["ranged"] == ["town.penhollow.growth.people_per_year"]
