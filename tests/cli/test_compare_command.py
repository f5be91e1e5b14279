"""`hydroloop compare`: two runs, what differs and why."""

from __future__ import annotations

import re

import pytest
from cli.commands import call, row, told
from click.testing import CliRunner

from hydroloop.cli.main import main

LEAKS = ["--set", "town.larkmill.mains.real_losses=5 %", "--set", "town.larkmill.people=30000"]


def test_parts_add_up_to_the_difference():
    """What each change contributes adds up to after less before, for every measure and town."""
    found = told("compare", "first_town", *LEAKS)
    assert {one["key"] for one in found["tables"]["changed"]} == {
        "town.larkmill.mains.real_losses",
        "town.larkmill.people",
    }
    for town in ("larkmill", "penhollow"):
        before, after = (row(found, "measures", town=town, run=run) for run in ("before", "after"))
        parts = [one for one in found["tables"]["contributions"] if one["town"] == town]
        assert len(parts) == 2
        for measure in found["units"]["measures"]:
            if before[measure] is None:
                continue
            together = sum(one[measure] for one in parts)
            scale = max(abs(before[measure]), abs(after[measure]), 1.0)
            assert together == pytest.approx(after[measure] - before[measure], abs=1e-9 * scale)


def test_the_answer_comes_in_words():
    """The page names the inputs that differ, and says what did most of it."""
    done = CliRunner().invoke(main, ["compare", "first_town", *LEAKS])
    assert done.exit_code == 0, done.output
    words = " ".join(done.stdout.split())
    assert "Changed: people of Larkmill 30,000, not 24,000; real losses of" in words
    assert "What did it: people of Larkmill (+" in words
    full = call("compare", "first_town", *LEAKS, "--full").stdout
    assert "What differs: 2 inputs" in full


def test_a_shortage_has_its_causes_in_the_sentence():
    """Where the changes leave a town short, the sentence splits the shortage over them, in the unit
    it is told in."""
    drought = ["--set", "dry_season.method=driest_year", "--set", "stage.*.storage_below=0 %"]
    done = CliRunner().invoke(main, ["compare", "long_river", *drought])
    assert done.exit_code == 0, done.output
    words = " ".join(done.stdout.split())
    told = re.search(
        r"Velderby runs short of water only with the change: .*? it lacks ([\d.]+) Mgal .*?"
        r"What did it: (.*?\))\. ",
        words,
    )
    assert told, words
    parts = [float(part) for part in re.findall(r"\(\+([\d.]+) Mgal\)", told[2])]
    assert len(parts) == 2  # the star is one change
    # Three figures each: half a unit of the last of them, three times.
    assert sum(parts) == pytest.approx(float(told[1]), abs=3 * 0.05)


def test_a_shortage_that_stays_is_told_once():
    """Where the changes do nothing about a shortage, it is no contrast."""
    done = CliRunner().invoke(main, ["compare", "five_towns", *LEAKS])
    words = " ".join(done.stdout.split())
    assert re.search(r"Brackenhythe is short of [\d.]+ Mgal of water over the season", words)


@pytest.mark.parametrize(("units", "volume"), [("us", "[Mgal]"), ("metric", "[ML]")])
def test_units_keep_their_capitals(units, volume):
    """Water short is split in Mgal or ML, as it is shown above: a millilitre is another thing."""
    words = [
        "compare",
        "first_town",
        "--scale",
        "river.wren.inflow=0.05",
        "--units",
        units,
        "--full",
    ]
    done = CliRunner().invoke(main, words)
    heads = [
        line for line in done.stdout.splitlines() if "water short" in line.lower() and "[" in line
    ]
    assert len(heads) == 2
    assert all(line.endswith(volume) for line in heads)


def test_a_plan_is_judged_under_changes_of_both_runs(tmp_path):
    """Beside a plan, --set and --scale hold before and after; only the plan's steps are shared."""
    plan = tmp_path / "plan.toml"
    plan.write_text(
        '[plan]\ntitle = "Grow"\n[[step]]\nwhat = "Grow"\nwhy = "more"\n'
        'set = { "town.larkmill.people" = 30000 }\n'
    )
    dry = ["--scale", "river.wren.inflow=0.5"]
    found = told("compare", "first_town", "--plan", str(plan), *dry)
    alone = told("compare", "first_town", *dry)
    used = [
        row(one, "measures", town="penhollow", run=run)["season_used_share"]
        for one, run in ((found, "before"), (alone, "after"))
    ]
    assert used[0] == used[1]
    assert {one["change"] for one in found["tables"]["contributions"]} == {"Grow"}
    assert [one["key"] for one in found["ran"]["changes"]] == ["river.wren.inflow"]
    words = call("compare", "first_town", "--plan", str(plan), *dry).stdout
    assert "Changed in both runs: inflow of the Wren 12.5 ft3/s, not 25 ft3/s." in words


def test_what_stands_still_is_one_line():
    """A measure with one value in both runs and all towns has no table, but is told."""
    done = CliRunner().invoke(main, ["compare", "first_town", *LEAKS, "--full"])
    assert "Time with enough water [%]" not in done.stdout
    assert "The same in every run and town: time with enough water (100 %)" in done.stdout
    same = CliRunner().invoke(main, ["compare", "first_town", "first_town"])
    assert same.exit_code == 0
    assert "\n\nNothing differs between the two runs.\n" in same.stdout
    assert "Ask next" not in same.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["compare", "first_town", "--set", "river.wren.inflow=12 cfs to 25 cfs"], True),
        (
            [
                "sweep",
                "first_town",
                "--set",
                "river.wren.inflow=12 cfs to 25 cfs",
                "--over",
                "weather.seed=1,2",
            ],
            True,
        ),
        (
            [
                "sweep",
                "first_town",
                "--set",
                "river.wren.inflow=12 cfs to 25 cfs",
                "--over",
                "river.wren.inflow=12 cfs,25 cfs",
            ],
            False,
        ),
    ],
)
def test_a_range_that_is_not_drawn_from_is_told(words, said):
    """A comparison and a grid take the middle of a range, and do not do so in silence."""
    done = call(*words)
    assert done.exit_code == 0, done.output
    assert ("at the middle of its range: river.wren.inflow." in done.stderr) is said


PLAN = '[plan]\ntitle = "{title}"\n[[step]]\nwhat = "{title}"\nset = {{ "{key}" = "{value}" }}\n'


@pytest.fixture
def plans(tmp_path):
    """Options that name two plans, of leaks and of people."""
    for title, key, value in (
        ("mend", "town.larkmill.mains.real_losses", "5 %"),
        ("grow", "town.larkmill.people", "30000"),
    ):
        (tmp_path / f"{title}.toml").write_text(PLAN.format(title=title, key=key, value=value))
    return ["--plan", str(tmp_path / "mend.toml"), "--plan", str(tmp_path / "grow.toml")]


def test_several_runs_are_each_held_against_the_first(plans):
    """Each of several plans has the numbers that it has by itself, under changes of all runs."""
    dry = ["--scale", "river.wren.inflow=0.6"]
    found = told("compare", "first_town", *plans, *dry)
    assert found["facts"]["runs"] == ["before", "mend", "grow"]
    for place, name in enumerate(("mend", "grow")):
        alone = told("compare", "first_town", *plans[2 * place : 2 * place + 2], *dry)
        for table in ("measures", "contributions", "changed"):
            own = [one for one in alone["tables"][table] if one["run"] == "after"]
            assert own
            assert [
                {**one, "run": "after"} for one in found["tables"][table] if one["run"] == name
            ] == own


def test_several_runs_stand_side_by_side(plans):
    """A table has a row for each run with the values that each has, and each run has its why."""
    shown = call("compare", "first_town", *plans, "--full").stdout
    assert "3 runs: without the change, mend and grow." in shown
    for name, option in (("mend", plans[:2]), ("grow", plans[2:])):
        assert f"{name}, against the run without the change" in shown
        alone = call("compare", "first_town", *option, "--full").stdout
        used = alone[alone.index("Used share [") :].splitlines()[3].split()
        assert used[0] == "with"
        first = shown[shown.index("Used share [") :].splitlines()
        assert next(row.split()[1:] for row in first if row.split()[:1] == [name]) == used[1:]
    assert shown.count("Why: what each change adds to the used share") == 2
    assert shown.count("averaged over all orders") == 1


def test_runs_of_other_places_stand_side_by_side():
    """Towns come in the order of the files, and a run without drought stages is not cut by any."""
    season = ["--set", "season.start=2047-07-01", "--set", "season.end=2047-09-30"]
    shown = call(
        "compare",
        "first_town",
        "first_town",
        "long_river",
        *season,
        "--set",
        "dry_season.rain_scale=40 %",
        "--full",
    ).stdout
    cut = shown[shown.index("Share of the use that drought") :].splitlines()
    table = [row.split() for row in cut[1:5]]
    assert table[0] == ["Larkmill", "Penhollow", "Velderby", "Ottermarsh"]
    assert table[1] == ["without", "0", "0", "-", "-"]
    assert table[3][:3] == ["long_river", "-", "-"]
    assert all(float(cell) > 0.0 for cell in table[3][3:])
    days = [row.split() for row in shown[shown.index("Drought stages") :].splitlines()[1:5]]
    assert days[1] == ["without", "0", "0", "0"]


def test_changes_of_a_town_that_one_run_lacks_do_not_add_up_to_zero():
    """What cannot be told of a town has no sum either."""
    shown = call("compare", "first_town", "--set", "town.larkmill=default", "--full").stdout
    rows = shown[shown.index("Why: what each change adds to the used share") :].splitlines()
    assert rows[1].split() == ["Larkmill", "Penhollow"]
    assert [row.split()[-2] for row in rows[2:4]] == ["-", "-"]
    assert rows[3].split()[0] == "together"
    assert float(rows[3].split()[-1]) < 0.0


def test_a_folder_of_several_runs(plans, tmp_path):
    """Tables name the run, and each run has its picture and its scenario."""
    done = call("compare", "first_town", *plans, "--out", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert {file.name for file in (tmp_path / "out/inputs").iterdir()} == {
        "before.toml",
        "mend.toml",
        "grow.toml",
    }
    assert {file.name for file in (tmp_path / "out/pictures").glob("*.png")} == {
        f"{run}_{what}.png" for run in ("mend", "grow") for what in ("season_used_share", "glass")
    }
    rows = (tmp_path / "out/tables/contributions.csv").read_text().splitlines()
    assert rows[0].startswith("run,town,change,")
    assert {row.split(",")[0] for row in rows[1:]} == {"mend", "grow"}
    assert len(rows) == 1 + 2 * 2  # two runs of one change each, in two towns


def test_runs_of_one_name_are_refused(plans):
    """Two runs that would be called the same cannot be told apart in a table."""
    done = call("compare", "first_town", *plans, *plans[:2])
    assert done.exit_code == 2
    assert 'two runs would be called "mend"' in done.stderr


def test_all_impossible_plans_at_once(plans, tmp_path):
    """Of several plans every problem is told, and nothing is run."""
    text = PLAN.format(title="x", key="town.nowhere.people", value="3000")
    for name in ("one", "two"):
        (tmp_path / f"{name}.toml").write_text(text)
    done = call(
        "compare",
        "first_town",
        *plans,
        "--plan",
        str(tmp_path / "one.toml"),
        "--plan",
        str(tmp_path / "two.toml"),
    )
    assert done.exit_code == 2
    assert "one.toml:3" in done.stderr
    assert "two.toml:3" in done.stderr


@pytest.mark.parametrize("words", [[], ["five_towns", "--plan", "plan.toml"]])
def test_one_thing_to_compare_with(words):
    """Nothing to compare with, or two things at once, gets one clear message."""
    done = CliRunner().invoke(main, ["compare", "first_town", *words])
    assert done.exit_code == 2
    assert "one thing to compare with" in done.stderr


def test_what_drought_stages_do_is_told():
    """Where reliability stays, the days in force and the share cut tell how it was kept."""
    dry = ["compare", "long_river", "--set", "dry_season.method=driest_year"]
    found = told(*dry)
    stages = [one["stage"] for one in found["tables"]["stages"] if one["run"] == "after"]
    assert stages == ["watch", "warning", "emergency"]
    before, after = (
        [row(found, "stages", stage=stage, run=run)["days"] for stage in stages]
        for run in ("before", "after")
    )
    assert before == [0, 0, 0]
    assert after[0] >= after[1] >= after[2] > 0
    cut = [
        row(found, "measures", town="velderby", run=run)["cut_share"] for run in ("before", "after")
    ]
    parts = [
        one["cut_share"] for one in found["tables"]["contributions"] if one["town"] == "velderby"
    ]
    assert cut[0] == 0.0 < cut[1] == pytest.approx(sum(parts))
    assert "Drought stages cut" in CliRunner().invoke(main, dry).stdout
    words = CliRunner().invoke(main, [*dry, "--full"]).stdout
    assert "Drought stages in force [days]" in words
    assert (
        "what each change adds to the share of the use that drought stages cut [percentage points]"
        in words
    )


def test_a_stage_that_one_run_lacks_is_never_in_force_there():
    """Taking the strictest stage out is told as no day of it, beside what the others do."""
    words = [
        "compare",
        "long_river",
        "--set",
        "dry_season.method=driest_year",
        "--set",
        "stage.emergency=default",
    ]
    found = told(*words)
    assert [
        row(found, "stages", stage="emergency", run=run)["days"] for run in ("before", "after")
    ] == [0, 0]
    assert row(found, "stages", stage="watch", run="after")["days"] > 0
    taken, driest = (
        row(found, "contributions", town="velderby", change=change)["cut_share"]
        for change in ("stage.emergency taken out", "dry_season.method")
    )
    assert taken < 0.0 < driest


STAGE = 'stage.alert={river="wren",at="12 km",flow_below="8 cfs",flow_above="10 cfs",yards="60 %"}'


def test_what_a_helping_change_saves_is_that_of_a_run_without_it():
    """A part is averaged over orders; how short a town would be without the change that helps is
    said too, and is what that run gives."""
    dry = ["--scale", "river.wren.inflow=0.2"]
    words = " ".join(call("compare", "first_town", *dry, "--set", STAGE).stdout.split())
    alone = row(told("compare", "first_town", *dry), "measures", town="larkmill", run="after")
    (lacked,) = re.findall(r"Without stage alert it would lack ([\d.]+) Mgal", words)
    unit = told("compare", "first_town", *dry)["units"]["measures"]["unmet"]
    assert float(lacked) == pytest.approx(
        alone["unmet"] / (3785.411784 if unit == "m3" else 1.0), rel=5e-3
    )
