"""`new`, `check` and `explain`: a first scenario without a manual."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from cli.commands import call

from hydroloop.cli.new import _asked
from hydroloop.outputs.scenario.starter import Beginning, key_of, scenario_text
from hydroloop.scenario import all_keys, read_scenario, read_toml
from hydroloop.whatif import PLAN_KEYS, READY_MADE, STEP_KEYS, read_plan_text


@pytest.fixture(autouse=True)
def _in_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def uncommented(text: str) -> str:
    """The text with every commented key put to use."""
    return re.sub(r"(?m)^# (?=[a-z_.]+ = )", "", text)


def values(table, above=""):
    """Every value of a table by its dotted key."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from values(value, f"{above}{key}.")
        else:
            yield f"{above}{key}", value


def test_a_new_file_has_one_system_of_units_and_no_word_to_be_replaced():
    """Values to put to use are in the units asked for, and nothing that a page would show stands
    for what somebody is still to write."""
    us, metric = (scenario_text(Beginning(system=system)) for system in ("us", "metric"))
    offered = [re.findall(r"(?m)^# [a-z_.]+ = (.*)$", text) for text in (us, metric)]
    assert len(offered[0]) == len(offered[1]) > 15
    assert not [value for value in offered[0] if re.search(r"\b(m|m2|m3|km|L|ML)\b", value)]
    assert not [value for value in offered[1] if re.search(r"\b(ft|ft2|ft3|gal|mi|Mgal)\b", value)]
    assert read_toml(us).about == ""


def test_new_writes_what_check_passes(tmp_path):
    """A scenario from flags alone has no problem and nothing unusual."""
    result = call("new", "--town", "Mill Valley", "--people", "12,000", "--river", "Tarn")
    assert result.exit_code == 0
    assert "hydroloop run mill_valley.toml" in result.stdout
    scenario = read_scenario(tmp_path / "mill_valley.toml")
    assert scenario.town["mill_valley"].people == 12000.0
    assert list(scenario.river) == ["tarn"]
    assert not scenario.warnings
    checked = call("check", "mill_valley.toml")
    assert checked.exit_code == 0
    assert "No problems. Nothing unusual." in checked.stdout


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("upstream", ["0", "50000"])
def test_comments_are_true(system, upstream):
    """Keys in comments, put to use, change nothing: they are the defaults, spelt right; in other
    units than those of their source to half of the last of three figures."""
    text = scenario_text(Beginning(system=system, upstream=upstream))
    used = read_toml(uncommented(text))
    plain = read_toml(text)
    assert len(used.given) > len(plain.given) + 15
    said, meant = (dict(values(one.model.model_dump())) for one in (used, plain))
    assert said.keys() == meant.keys()
    for key, value in meant.items():
        is_number = isinstance(value, float)
        assert said[key] == (pytest.approx(value, rel=5e-3) if is_number else value), key
    assert len(plain.town) == (1 if upstream == "0" else 2)


def test_new_needs_no_answers_where_nobody_can_answer(tmp_path):
    """Without flags and without a terminal it takes the defaults and asks nothing."""
    result = call("new")
    assert result.exit_code == 0
    assert result.stderr.startswith("note: nobody was asked; taken by default: --town Larkmill")
    assert (tmp_path / "larkmill.toml").is_file()


def test_questions_are_asked_again_until_they_can_be_used(monkeypatch):
    """A wrong answer is explained and asked again; Enter takes what is offered."""
    typed = iter(["Hill Top", "many", "30000", "", "0", "2 apples", "60 cfs"])
    monkeypatch.setattr("click.termui.visible_prompt_func", lambda text: next(typed))
    answers = _asked("us")
    assert answers == {
        "town": "Hill Top",
        "people": "30000",
        "river": "Wren",
        "upstream": "0",
        "flow": "60 cfs",
    }


def test_all_wrong_answers_are_told_at_once(tmp_path):
    """Each flag that cannot be used gets one line, and nothing is written."""
    result = call("new", "--town", "9", "--people", "lots", "--flow", "12 ML", "--start", "spring")
    assert result.exit_code == 2
    lines = result.stderr.splitlines()
    assert [line.split(":")[0] for line in lines[:-1]] == [
        "--people",
        "--flow",
        "--start",
        "--town",
    ]
    assert lines[-1] == "4 problems found; nothing was written."
    assert not list(tmp_path.iterdir())


def test_new_never_writes_over_a_file(tmp_path):
    """A file that is there stays; with force one goes that `new` wrote and nobody changed."""
    (tmp_path / "a.toml").write_text("mine")
    result = call("new", "a.toml")
    assert result.exit_code == 2
    assert "Add --force" in result.stderr
    assert (tmp_path / "a.toml").read_text() == "mine"
    assert call("new", "a.toml", "--force").exit_code == 2
    assert (tmp_path / "a.toml").read_text() == "mine"
    (tmp_path / "a.toml").unlink()
    assert call("new", "a.toml").exit_code == 0
    assert call("new", "a.toml", "--force").exit_code == 0
    assert read_scenario(tmp_path / "a.toml").town


def test_out_and_path_are_one(tmp_path):
    """--out names the file as PATH does; two names are refused."""
    assert call("new", "--out", "b.toml").exit_code == 0
    assert (tmp_path / "b.toml").is_file()
    assert call("new", "c.toml", "--out", "d.toml").exit_code == 2


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Mill Valley", "mill_valley"),
        ("St. Mary-on-Wren", "st_mary_on_wren"),
        ("  A  b ", "a_b"),
        ("Grünau", "grünau"),
    ],
)
def test_names_become_keys(name, key):
    """Spaces and dashes become underscores, other signs go."""
    assert key_of(name) == key


def test_names_in_other_letters_work():
    """A town or river may be written in any letters."""
    assert "grünau" in read_toml(scenario_text(Beginning(town="Grünau", river="Ähre"))).town


def test_check_lists_all_problems_with_lines(tmp_path):
    """Every problem has file, line and key; the last line counts them; the exit code is 2."""
    text = (
        scenario_text(Beginning())
        .replace('"24 mi"', '"24 gal"')
        .replace("people = 24000", "people = -1")
    )
    (tmp_path / "bad.toml").write_text(text)
    result = call("check", "bad.toml")
    assert result.exit_code == 2
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    assert all(re.match(r"bad\.toml:\d+: town\.larkmill\.", line) for line in lines[:2])
    assert lines[2] == "bad.toml: 2 problems found."


def test_check_reads_the_files_too(tmp_path):
    """What is wrong in a CSV file is told by check, with its line, before anything is run."""
    scenario = Path(read_scenario("long_river").folder)
    for name in ("long_river.toml", "long_river_weather.csv", "long_river_flow.csv"):
        shutil.copy(scenario / name, tmp_path)
    flow = tmp_path / "long_river_flow.csv"
    lines = flow.read_text().splitlines()
    lines[499] = f"{lines[499].split(',')[0]},much"
    flow.write_text("\n".join(lines))
    told = call("check", "long_river.toml")
    assert told.exit_code == 2
    assert re.search(r'long_river_flow\.csv:500: .*"much" is not a number', told.stderr)
    assert json.loads(call("check", "long_river.toml", "--json").stdout)["facts"]["ok"] is False


def test_keys_of_the_dry_season_that_do_nothing_are_told():
    """A key that its method does not ask for is pointed out, with the methods that do."""
    told = call(
        "check",
        "long_river",
        "--set",
        "dry_season.method=driest_year",
        "--set",
        "dry_season.years=20",
        "--set",
        "dry_season.generate=30",
    )
    assert told.exit_code == 0
    assert 'dry_season.years: does nothing with method = "driest_year"' in told.stderr
    assert "It goes with one_in_years." in told.stderr
    assert "dry_season.generate: does nothing where there is a weather file." in told.stderr
    quiet = call(
        "check",
        "long_river",
        "--set",
        "dry_season.method=one_in_years",
        "--set",
        "dry_season.years=20",
    )
    assert "does nothing" not in quiet.stderr


def test_python_runs_the_package():
    """`python -m hydroloop` is the command, for where its own is not on the path."""
    done = subprocess.run(
        [sys.executable, "-m", "hydroloop", "--version"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.startswith("hydroloop ")


def test_check_in_json_tells_problems_too(tmp_path):
    """With --json problems stand on stdout as one object, and the exit code is still 2."""
    (tmp_path / "bad.toml").write_text("title = 3")
    result = call("check", "bad.toml", "--json")
    assert result.exit_code == 2
    told = json.loads(result.stdout)
    assert told["facts"]["ok"] is False
    assert all(problem["what"] for problem in told["tables"]["problems"])


def test_check_points_out_what_is_unusual():
    """An allowed but unusual value is told on stderr with the usual range; the exit code is 0."""
    result = call("check", "first_town", "--set", "town.larkmill.mains.real_losses=60 %")
    assert result.exit_code == 0
    assert result.stderr.startswith("unusual: ")
    assert "3 % to 40 %" in result.stderr
    assert "1 unusual value" in result.stdout


def test_check_lists_what_is_given_and_counts_the_rest():
    """Given keys are listed, defaults only when asked for."""
    short, long = (call("check", "first_town", *more).stdout for more in ((), ("--full",)))
    assert "town.larkmill.people" in short
    assert "town.larkmill.homes.toilets" not in short
    assert re.search(r"town\.larkmill\.homes\.toilets +24 %  \(default\)", long)
    told = json.loads(call("check", "first_town", "--json").stdout)
    given = [one for one in told["tables"]["inputs"] if one["origin"] == "given"]
    assert f"{len(given)} are given" in short


def test_explain_tells_a_key_with_its_source():
    """Meaning, default, usual range and source of a key."""
    text = call("explain", "real_losses").stdout
    assert text.startswith("town.NAME.mains.real_losses")
    assert all(word in text for word in ("default  12 %", "usual", "source   EPA 2013"))


def test_explain_finds_a_key_without_the_name_of_its_place():
    """river.minimum_flow is the key of every river, not a river called so."""
    assert call("explain", "river.minimum_flow").stdout.startswith("river.NAME.minimum_flow\n")
    assert call("explain", "town.homes.toilets").stdout == call("explain", "homes.toilets").stdout
    assert call("explain", "river.wren").stdout.startswith("river.NAME\n")


def test_explain_plan_tells_all_that_a_plan_may_hold():
    """Every key of a plan and of a step, and every ready-made measure with its options, is told;
    the example at the end is a plan that can be read."""
    text = call("explain", "plan").stdout
    told = json.loads(call("explain", "plan", "--json").stdout)
    options = [one["key"] for one in told["tables"]["options"]]
    for key in (*PLAN_KEYS, *STEP_KEYS, *READY_MADE, *options):
        assert re.search(rf"^ +{key}[: ]", text, flags=re.MULTILINE), key
    example = text.partition("For example:")[2]
    assert read_plan_text(f'[plan]\ntitle = "A plan"\n{example}').steps[0].measure in READY_MADE


def test_explain_without_a_key_lists_all():
    """Every key stands in the list, under its table."""
    text = call("explain").stdout
    for note in all_keys():
        if not note.is_table:
            assert re.search(rf"(?m)^  \S*\b{note.key.rsplit('.', 1)[-1]}\b", text), note.key
    assert max(map(len, text.splitlines())) <= 100


def test_explain_of_no_key_offers_the_nearest():
    """A key that does not exist is one line with the nearest, and exit code 2."""
    result = call("explain", "homes.toilet")
    assert result.exit_code == 2
    assert 'Did you mean "town.NAME.homes.toilets"?' in result.stderr


def test_explain_in_json():
    """With --json the notes come as values; a word that ends several keys gives all of them."""
    one = json.loads(call("explain", "homes.toilets", "--json").stdout)["tables"]["keys"]
    assert [note["key"] for note in one] == ["town.NAME.homes.toilets"]
    several = json.loads(call("explain", "capacity", "--json").stdout)["tables"]["keys"]
    assert {"reservoir.NAME.capacity", "town.NAME.plant.capacity"} <= {n["key"] for n in several}
    assert len(json.loads(call("explain", "--json").stdout)["tables"]["keys"]) == len(all_keys())


def test_a_river_without_water_is_refused_by_its_option():
    """A flow of zero is told where it was answered, not by a line of a file nobody has seen."""
    result = call("new", "dry.toml", "--flow", "0")
    assert result.exit_code == 2
    assert result.stderr.startswith("--flow: a river without water feeds no town.")


def test_new_says_what_nobody_was_asked(tmp_path):
    """Where nobody can answer, each default that was taken is told with the option for it."""
    done = call("new", "--town", "St. Mary's")
    assert '--people 24000, --river Wren, --upstream 9000, --flow "40 ft3/s"' in done.stderr
    assert "--town" not in done.stderr
    assert 'title = "St. Mary\'s on the Wren"' in (tmp_path / "st_marys.toml").read_text()


@pytest.mark.parametrize(
    ("units", "shown", "written"),
    [("us", "0 ft2 to 3,230 ft2", '"431 ft2"'), ("metric", "0 m2 to 300 m2", '"40 m2"')],
)
def test_keys_are_told_in_the_units_asked_for(tmp_path, units, shown, written):
    """A starter file and explain have one unit system: 300 m2 are 3,229 ft2 of 0.3048 m."""
    call("new", "a.toml", "--units", units)
    text = (tmp_path / "a.toml").read_text()
    words = " ".join(text.replace("#", " ").split())
    assert written in words
    assert f"usual {shown}" in words
    assert call("check", "a.toml").exit_code == 0
    assert shown in call("explain", "yards.area_per_person", "--units", units).stdout
