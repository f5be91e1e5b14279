"""What a stranger's file can and cannot do: the sentences of docs/explanation/trust.md, held.

Limits stand in test_limits_of_what_is_read.py, records in test_record_files.py, terminals in
tests/cli/test_odd_arguments.py, long seasons in test_scenario_plausible.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from small_scenarios import ONE_TOWN

from hydroloop import read_scenario
from hydroloop.errors import InputError
from hydroloop.scenario import read_toml
from hydroloop.whatif.plan import read_plan_text

PROGRAMS = ["__import__('os').system('touch ran')", "{{7*7}}", "$(touch ran)", "`touch ran`",
            "%s%s%n", "${HOME}", "!!python/object/apply:os.system ['touch ran']",
            "=cmd|' /C calc'!A0"]


@pytest.mark.parametrize("text", PROGRAMS)
@pytest.mark.parametrize("key", ["weather.warmer_by", "season.start", "river.wren.inflow",
                                 "town.larkmill.people", "town.larkmill.mains.real_losses"])
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
    for change in ("'__class__' = 1", "'source.folder' = '/'", "'weather.file' = '/etc/passwd'",
                   "'river.wren.inflow' = { file = '../x.csv' }"):
        plan = read_plan_text(f'[plan]\ntitle = "x"\n[[step]]\nwhat = "y"\nset = {{ {change} }}\n')
        with pytest.raises(InputError):
            plan.taken(read_toml(ONE_TOWN))


def test_the_page_names_its_tests():
    """Every test file that this page leans on exists."""
    here = Path(__file__).parent
    for name in ("unit/test_limits_of_what_is_read.py", "unit/test_record_files.py",
                 "cli/test_odd_arguments.py", "unit/test_scenario_plausible.py"):
        assert (here.parent / name).is_file()
