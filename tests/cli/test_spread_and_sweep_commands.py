"""`hydroloop spread` and `hydroloop sweep`: bands and grids on the command line."""

from __future__ import annotations

import pytest
import xarray as xr
from cli.commands import row, told
from click.testing import CliRunner

import hydroloop as hl
from hydroloop.cli.main import main
from hydroloop.scenario.sampling import METHODS
from hydroloop.whatif import spread

RANGE = ["--set", "town.larkmill.homes.use_per_person=45 gal/person/day to 75 gal/person/day"]


def test_a_band_encloses_its_median():
    """Levels rise, and the input that was drawn is named with its rank correlation."""
    found = told("spread", "first_town", "--members", "24", *RANGE)
    levels = [
        row(found, "bands", town="penhollow", runs_below=level)["season_used_share"]
        for level in (0.05, 0.25, 0.5, 0.75, 0.95)
    ]
    assert levels == sorted(levels)
    assert levels[0] < levels[-1]
    hangs = row(found, "rank_correlations", town="penhollow")
    assert hangs["key"] == "town.larkmill.homes.use_per_person"
    assert hangs["season_used_share"] > 0.5


def test_the_same_seed_gives_the_same_band():
    """Two calls with one seed print the same; another seed does not."""
    first, again, other = (
        CliRunner().invoke(main, ["spread", "first_town", "--members", "8", "--seed", seed, *RANGE])
        for seed in ("3", "3", "4")
    )
    assert first.stdout == again.stdout
    assert first.stdout != other.stdout


def test_a_point_of_a_grid_is_a_run(tmp_path):
    """Each point of a sweep has the value that the scenario changed so has by itself."""
    out = tmp_path / "grid.nc"
    words = ["sweep", "first_town", "--over", "town.larkmill.people=20000,40000", "--out", str(out)]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert "2 runs: people of Larkmill 20,000, 40,000" in done.stdout
    grid = xr.load_dataset(out, engine="h5netcdf")
    scenario = hl.read_scenario("first_town").changed({"town.larkmill.people": 40000})
    alone = hl.measures(hl.simulate(scenario), scenario)["season_used_share"]
    point = grid["season_used_share"].sel({"town.larkmill.people": 40000.0})
    assert float(point.sel(town="penhollow")) == pytest.approx(
        float(alone.sel(town="penhollow")), abs=1e-12
    )


def test_days_in_drought_stages_are_told():
    """Bands and grids of a drought tell the days of each stage, the milder never the fewer."""
    dry = ["--set", "dry_season.method=driest_year"]
    words = [
        "spread",
        "long_river",
        *dry,
        "--members",
        "20",
        "--set",
        "town.*.mains.real_losses=8 % to 30 %",
    ]
    found = told(*words)
    for level in (0.05, 0.5, 0.95):
        watch, warning, emergency = (
            row(found, "stages", stage=stage, runs_below=level)["days"]
            for stage in ("watch", "warning", "emergency")
        )
        assert watch > warning > emergency > 0
    assert "Drought stages in force [days]" in CliRunner().invoke(main, [*words, "--full"]).stdout
    grid = (
        CliRunner()
        .invoke(
            main,
            [
                "sweep",
                "long_river",
                *dry,
                "--factors",
                "town.*.homes.use_per_person=1,0.5",
                "--full",
            ],
        )
        .stdout.splitlines()
    )
    _, most, least = grid[grid.index("Drought stages in force [days]") + 1 :][:3]
    assert [
        float(a) > float(b) for a, b in zip(most.split()[1:], least.split()[1:], strict=True)
    ] == [True] * 3


def test_a_key_that_is_taken_out_is_called_default():
    """On screen and for a script, a point of a grid without the key is not called None."""
    words = ["sweep", "first_town", "--over", "river.wren.minimum_flow=default,10 cfs"]
    assert "  default  " in CliRunner().invoke(main, words).stdout
    found = told(*words)["tables"]["grid"]
    assert {one["river.wren.minimum_flow"] for one in found} == {"default", "10 cfs"}


def test_a_grid_that_is_kept_goes_on_to_the_same(tmp_path):
    """A grid kept by two processes is the grid of one; asked again it runs nothing anew."""
    words = [
        "sweep",
        "first_town",
        "--over",
        "town.larkmill.people=" + ",".join(str(20000 + 500 * k) for k in range(20)),
    ]
    plain = CliRunner().invoke(main, words)
    kept = [*words, "--keep", str(tmp_path / "kept")]
    first = CliRunner().invoke(main, [*kept, "--workers", "2"])
    assert first.exit_code == 0, first.output
    written = {file: file.stat().st_mtime_ns for file in (tmp_path / "kept").glob("*.nc")}
    assert len(written) == 2
    again = CliRunner().invoke(main, kept)
    assert plain.stdout == first.stdout == again.stdout
    assert {file: file.stat().st_mtime_ns for file in (tmp_path / "kept").glob("*.nc")} == written


@pytest.mark.parametrize(
    "words",
    [
        ["spread", "five_towns", "--set", "town.larkmill.mains.real_losses=20 % to 8 %"],
        ["sweep", "first_town", "--over", "town.larkmill.peple=1,2"],
        ["sweep", "first_town", "--over", "town.larkmill.people"],
        ["sweep", "first_town", "--over", "town.larkmill.people=1,2", "--factors", "x=a"],
    ],
)
def test_bad_input_gets_a_message_and_exit_code_two(words):
    """A range upside down, an unknown key, no values and a factor that is none."""
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr


def test_ways_to_draw():
    """A Sobol sequence is what the same call in Python draws, and not the Latin hypercube."""
    words = ["spread", "first_town", "--members", "8", *RANGE]
    scenario = hl.read_scenario("first_town").changed(dict([RANGE[1].split("=")]))
    for method in METHODS:
        found = told(*words, "--method", method)
        table = spread(scenario, 8, method=method)
        median = row(found, "bands", town="penhollow", runs_below=0.5)["season_used_share"]
        assert median == pytest.approx(
            float(table["season_used_share"].sel(town="penhollow").median()), rel=1e-12
        )


@pytest.mark.parametrize(
    "words", [["spread", "first_town"], ["sweep", "first_town", "--over", "weather.seed=1,2"]]
)
def test_kept_runs_and_results_lie_apart(tmp_path, words):
    """One folder for both is refused before anything is run."""
    both = str(tmp_path / "runs")
    done = CliRunner().invoke(main, [*words, "--keep", both, "--out", f"{both}/"])
    assert done.exit_code == 2
    assert "Name two folders" in done.stderr
    assert not (tmp_path / "runs").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["spread", "first_town", "--members", "1"], '"1" is not a whole number from 2 up.'),
        (["spread", "first_town", "--members", "abc"], '"abc" is not a whole number from 2 up.'),
        (["spread", "first_town", "--workers", "0"], '"0" is not a whole number from 1 up.'),
        (["spread", "first_town", "--seed", "-4", *RANGE], '"-4" is not a whole number from 0 up.'),
        (
            ["sweep", "first_town", "--over", "weather.seed=1", "--over", "weather.seed=2"],
            '"weather.seed" is given twice. Give all its values at once',
        ),
        (["sweep", "first_town", "--over", "weather.seed=1,2,1"], "weather.seed: holds 1 twice."),
        (
            ["run", "first_town", "--set", "weather.seed=1", "--set", "weather.seed=2"],
            '"weather.seed" is given twice. Give it once.',
        ),
    ],
)
def test_what_is_asked_for_is_told_in_one_sentence(words, said):
    """Numbers that are too low or none, and keys or values that are there twice."""
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert said in " ".join(done.stderr.split())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            [
                "sweep",
                "first_town",
                "--over",
                "weather.sed=1",
                "--factors",
                "river.wren.inflow=-1,x",
            ],
            ["weather.sed:", "-1.0 is not a factor", '"x" is not a factor'],
        ),
        (
            ["spread", "first_town", "--set", "weather.sed=1", "--scale", "river.wrenn.inflow=2"],
            ["weather.sed:", 'there is no river "wrenn"'],
        ),
        (["compare", "frist_town", "fife_towns"], ['Did you mean "first_town"?', '"five_towns"']),
        (
            ["compare", "frist_town", "--plan", "no_plan.toml"],
            ['"first_town"?', "no_plan.toml: there is no such file"],
        ),
        (
            ["run", "first_town", "--plan", "no_plan.toml", "--set", "weather.sed=1"],
            ["weather.sed:", "no_plan.toml: there is no such file"],
        ),
    ],
)
def test_problems_of_all_options_and_files_at_once(words, said):
    """Mistakes in several options, or in several files, are told in one go."""
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert f"{len(said)} problems found" in done.stderr
    for one in said:
        assert one in done.stderr


def test_a_measure_that_stands_still_is_one_line():
    """Of grids and bands only what moves has a table; the rest is told in a sentence."""
    for words in (
        ["sweep", "first_town", "--factors", "river.wren.inflow=1,0.8"],
        ["spread", "first_town", "--members", "4", *RANGE],
    ):
        done = CliRunner().invoke(main, [*words, "--full"])
        assert "Used share [%]" in done.stdout
        assert "Time with enough water [%]" not in done.stdout
        assert "The same in every run and town: time with enough water (100 %)" in done.stdout


def test_members_without_ranges_are_not_said_to_be_drawn():
    """Where no input is a range, the page says that only the weather can differ."""
    done = CliRunner().invoke(main, ["spread", "first_town", "--members", "3"])
    assert "only generated weather, or years by lot, can differ" in done.stdout
    assert "drawn from the ranges" not in done.stdout


def test_a_comma_of_thousands_is_no_separator():
    """20,000 would be 20 and 0: it is refused with the way to write it."""
    words = ["sweep", "first_town", "--over", "town.larkmill.people=20,000"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert "Write thousands without one: 20000,30000." in " ".join(done.stderr.split())


@pytest.mark.parametrize(
    "words",
    [
        ["check", "first_town", "--set", "river.wren.inflow=12"],
        ["sweep", "first_town", "--over", "river.wren.inflow=12,25"],
    ],
)
def test_a_unit_left_out_is_asked_for(words):
    """12 is no flow: on the command line as in a file the unit is asked for, not guessed."""
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 2
    assert 'river.wren.inflow: "12" has no unit. Write for example "25 cfs".' in done.stderr


def test_a_range_is_no_point_of_a_grid():
    """A range among the values is refused, not taken at its middle in silence."""
    over = "town.larkmill.mains.real_losses=8 % to 20 %,10 %"
    done = CliRunner().invoke(main, ["sweep", "first_town", "--over", over])
    assert done.exit_code == 2
    assert '"8 % to 20 %" is a range' in done.stderr
    assert "spread" in done.stderr
