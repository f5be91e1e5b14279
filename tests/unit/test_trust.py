"""What a stranger's file can and cannot do: the sentences of docs/explanation/trust.md, held.

Limits stand in test_limits_of_what_is_read.py, records in test_record_files.py, terminals in
tests/cli/test_odd_arguments.py, long seasons in test_scenario_plausible.py.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from random_records import random_record
from small_scenarios import ONE_TOWN

from hydroloop import read_scenario
from hydroloop.cli.main import main
from hydroloop.errors import InputError
from hydroloop.record import read_record, write_record
from hydroloop.scenario import read_toml
from hydroloop.whatif import drawn_job, run_job, running
from hydroloop.whatif.plan import read_plan_text


def call(*words: str) -> Result:
    """Run a command in here."""
    return CliRunner().invoke(main, words)


PROGRAMS = [
    "__import__('os').system('touch ran')",
    "{{7*7}}",
    "$(touch ran)",
    "`touch ran`",
    "%s%s%n",
    "${HOME}",
    "!!python/object/apply:os.system ['touch ran']",
    "=cmd|' /C calc'!A0",
]


@pytest.mark.parametrize("text", PROGRAMS)
@pytest.mark.parametrize(
    "key",
    [
        "weather.warmer_by",
        "season.start",
        "river.wren.inflow",
        "town.larkmill.people",
        "town.larkmill.mains.real_losses",
    ],
)
def test_a_value_that_looks_like_a_program_is_a_text(key, text, tmp_path, monkeypatch):
    """It is refused as a text, and nothing has run."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError):
        read_toml(ONE_TOWN).changed({key: text})
    assert read_toml(ONE_TOWN).changed({"about": text}).about == text
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["../secret.csv", "{whole}", "link.csv", "below/../../secret.csv"])
def test_a_file_outside_the_folder_is_not_read(name, tmp_path):
    """By dots, by a whole path or by a link."""
    secret, folder = tmp_path / "secret.csv", tmp_path / "here"
    folder.mkdir()
    secret.write_text("date,flow [m3/s]\n2031-05-01,1\n")
    (folder / "link.csv").symlink_to(secret)
    (folder / "below").mkdir()
    told = ONE_TOWN.replace('"3 m3/s"', f'{{ file = "{name.format(whole=secret)}" }}')
    (folder / "mill.toml").write_text(told)
    with pytest.raises(InputError, match="lies outside the folder"):
        read_scenario(folder / "mill.toml")


def test_a_plan_changes_keys_and_nothing_else(tmp_path, monkeypatch):
    """A key that is none, or a file outside, is refused when the plan is taken."""
    monkeypatch.chdir(tmp_path)
    for change in (
        "'__class__' = 1",
        "'source.folder' = '/'",
        "'weather.file' = '/etc/passwd'",
        "'river.wren.inflow' = { file = '../x.csv' }",
    ):
        plan = read_plan_text(f'[plan]\ntitle = "x"\n[[step]]\nwhat = "y"\nset = {{ {change} }}\n')
        with pytest.raises(InputError):
            plan.taken(read_toml(ONE_TOWN))


def test_a_change_that_keeps_the_account_closed_is_not_found(tmp_path):
    """Everything doubled: without a seal it is read as it stands, and a new seal may be written."""
    record = random_record(4)
    doubled = record.assign(volume=2 * record["volume"], rate=2 * record["rate"])
    doubled.to_netcdf(tmp_path / "none.nc", engine="h5netcdf")
    write_record(doubled, tmp_path / "new.nc")
    for name in ("none.nc", "new.nc"):
        assert np.array_equal(read_record(tmp_path / name)["rate"], doubled["rate"])


def test_of_pages_and_pictures_nothing_is_read_back(tmp_path, monkeypatch):
    """With everything else in a results folder spoilt, its scenario gives the same answer."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mill.toml").write_text(ONE_TOWN.replace("2031-08-31", "2031-05-03"))
    assert call("run", "mill.toml", "--out", "out", "--no-pictures").exit_code == 0
    asked = ("glass", "out/inputs/scenario.toml", "larkmill", "--no-pictures")
    answer = call(*asked)
    assert answer.exit_code == 0, answer.output
    spoilt = [
        file for file in Path("out").rglob("*") if file.is_file() and file.parent.name != "inputs"
    ]
    assert spoilt
    for file in spoilt:
        file.write_bytes(b"\xff<script>touch('ran')</script>")
    assert call(*asked).output == answer.output


def test_kept_runs_are_taken_for_results(tmp_path, monkeypatch):
    """Nothing is simulated where a folder says that it is done: it must be one's own."""
    scenario = read_toml(ONE_TOWN).changed(
        {"season.end": "2031-05-03", "river.wren.inflow": "2 m3/s to 3 m3/s"}
    )
    work = drawn_job(scenario, 2)
    kept = run_job(work, store=tmp_path / "runs")
    monkeypatch.setattr(running, "run_chunk", None)
    assert run_job(work, store=tmp_path / "runs").identical(kept)


@pytest.mark.parametrize("command", ["spread", "sweep"])
def test_help_says_whose_scheduler_it_must_be(command):
    """It is sent work, and its answers are taken."""
    assert "your own Dask scheduler" in " ".join(call(command, "--help").output.split())


def test_the_page_names_its_tests():
    """Every test file that this page leans on exists."""
    here = Path(__file__).parent
    for name in (
        "unit/test_limits_of_what_is_read.py",
        "unit/test_record_files.py",
        "cli/test_odd_arguments.py",
        "cli/test_planted_words.py",
        "unit/test_scenario_plausible.py",
    ):
        assert (here.parent / name).is_file()
