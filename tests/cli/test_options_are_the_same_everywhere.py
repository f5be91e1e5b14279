"""Every command that runs the model takes the same options, and each of them acts."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from cli.commands import call
from click.testing import CliRunner

from hydroloop.cli.main import _COMMANDS, main
from hydroloop.outputs.document.as_json import SCHEMA

# A challenge and a class's page take a folder, whose plans say what is changed.
WITHOUT_MODEL = {"new", "explain", "challenge", "serve"}
# What is written is the page or the print itself, not a folder with an answer.
SHEETS = {"page", "lesson", "report"}
SHARED = {"--plan", "--set", "--scale", "--count-as", "--units", "--json", "--out", "--force",
          "--verbose"}
SHORT = ("--set", "season.end=2031-04-20")
MORE = {"sweep": ("--over", "town.larkmill.mains.real_losses=8 %,12 %"),
        "spread": ("--members", "2", "--set", "town.larkmill.mains.real_losses=8 % to 12 %"),
        "compare": ()}
DOCUMENTS = sorted(set(_COMMANDS) - WITHOUT_MODEL - SHEETS - {"run"})


def options_of(command):
    """Names of a command's options."""
    found = main.get_command(None, command)
    return {name for one in found.params for name in one.opts if name.startswith("--")}


@pytest.mark.parametrize("command", sorted(set(_COMMANDS) - WITHOUT_MODEL))
def test_all_take_the_same_options(command):
    """Plans, changes, units and where to: the same words in every command."""
    assert options_of(command) >= SHARED - ({"--json"} if command == "page" else set())
    assert "--all" not in options_of(command)


@pytest.mark.parametrize("command", DOCUMENTS)
def test_a_plan_is_taken_told_and_written(command, tmp_path, monkeypatch):
    """--plan acts beside --set, one JSON form fits all commands, and --out makes a folder with a
    page, words and tables, whatever the command."""
    monkeypatch.chdir(tmp_path)
    Path("less.toml").write_text('[plan]\ntitle = "Less"\n[[step]]\nwhat = "Fewer people"\n'
                                 'set = { "town.larkmill.people" = 20000 }\n')
    words = (command, "first_town", "--plan", "less.toml", *SHORT, *MORE.get(command, ()))
    done = call(*words, "--json", "--out", "found")
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    jsonschema.validate(told, SCHEMA)
    assert told["command"] == command
    assert told["ran"]["season"] == ["2031-04-01", "2031-04-20"]
    plans = [plan["title"] for plan in told["ran"]["plans"]]
    assert plans == ["Less"] or (command == "compare" and "Less" in done.stdout)
    written = {path.name for path in Path("found").iterdir()}
    assert written >= {"answer.html", "answer.txt", "inputs"}
    assert "Fewer people" in Path("found/answer.html").read_text()
    assert set(told["written"]["files"]) >= {"answer.html", "answer.txt"}


def test_a_date_may_stand_alone():
    """A day without a town is that of the town that is meant by default."""
    words = ("glass", "first_town", "2031-04-18", *SHORT, "--json", "--no-pictures")
    assert json.loads(CliRunner().invoke(main, words).stdout)["facts"]["date"] == "2031-04-18"
