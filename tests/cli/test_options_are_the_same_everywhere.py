"""Every command that runs the model takes the same options, and each of them acts."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from cli.commands import call, give_pages_two_dials
from click.testing import CliRunner

from hydroloop.cli.main import _COMMANDS, main
from hydroloop.outputs.document.as_json import SCHEMA

# A challenge and a class's page take a folder, whose plans say what is changed.
WITHOUT_MODEL = {"new", "explain", "challenge", "serve"}
# What is written is the page or the print itself, not a folder with an answer.
SHEETS = {"page", "lesson", "report"}
SHARED = {
    "--plan",
    "--set",
    "--scale",
    "--count-as",
    "--units",
    "--json",
    "--out",
    "--force",
    "--verbose",
}
SHORT = ("--set", "season.end=2031-04-20")
MORE = {
    "sweep": ("--over", "town.larkmill.mains.real_losses=8 %,12 %"),
    "spread": ("--members", "2", "--set", "town.larkmill.mains.real_losses=8 % to 12 %"),
    "compare": (),
}
DOCUMENTS = sorted(set(_COMMANDS) - WITHOUT_MODEL - SHEETS - {"run"})


def options_of(command):
    """Names of a command's options."""
    found = main.get_command(None, command)
    return {name for one in found.params for name in one.opts if name.startswith("--")}


OWN = {
    "new": {"--units", "--out", "--force", "--json"},
    "explain": {"--units", "--json"},
    "challenge": {"--units", "--out", "--force", "--json", "--verbose"},
    "serve": set(),
}
"""What the commands take that run no scenario of one file."""


@pytest.mark.parametrize("command", sorted(_COMMANDS))
def test_all_take_the_same_options(command):
    """Plans, changes, units and where to: the same words in every command."""
    assert options_of(command) >= OWN.get(command, SHARED)
    assert "--all" not in options_of(command)


def test_every_command_is_tried():
    """A new command is either one that runs the model, or has its own list of options here."""
    assert set(OWN) == WITHOUT_MODEL
    assert set(DOCUMENTS) | SHEETS | WITHOUT_MODEL | {"run"} == set(_COMMANDS)


@pytest.mark.parametrize("command", sorted(SHEETS))
def test_sheets_take_a_folder_or_a_file(command, tmp_path, monkeypatch):
    """A page, a report and a lesson go into a folder, or into one file, and tell scripts which."""
    monkeypatch.chdir(tmp_path)
    give_pages_two_dials(monkeypatch)
    for out, is_file in (("one", False), ("one.html", True)):
        done = call(command, "first_town", *SHORT, "--json", "--out", out)
        assert done.exit_code == 0, done.output
        told = json.loads(done.stdout)
        jsonschema.validate(told, SCHEMA)
        assert told["command"] == command
        assert Path(out).is_file() is is_file
        assert told["written"]["place"] == (out if is_file else f"{out}/")
        assert all(
            (Path() if is_file else Path(out)).joinpath(name).is_file()
            for name in told["written"]["files"]
        )


@pytest.mark.parametrize("command", DOCUMENTS)
def test_a_plan_is_taken_told_and_written(command, tmp_path, monkeypatch):
    """--plan acts beside --set, one JSON form fits all commands, and --out makes a folder with a
    page, words and tables, whatever the command."""
    monkeypatch.chdir(tmp_path)
    Path("less.toml").write_text(
        '[plan]\ntitle = "Less"\n[[step]]\nwhat = "Fewer people"\n'
        'set = { "town.larkmill.people" = 20000 }\n'
    )
    words = (command, "first_town", "--plan", "less.toml", *SHORT, *MORE.get(command, ()))
    done = call(*words, "--json", "--out", "found")
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    jsonschema.validate(told, SCHEMA)
    assert told["command"] == command
    for name, rows in told["tables"].items():
        for row in rows:
            assert all(re.fullmatch(r"[a-z0-9_.*]+", key) for key in row), (name, row)
            numbers = {
                key
                for key, value in row.items()
                if isinstance(value, int | float) and not isinstance(value, bool)
            }
            assert numbers <= set(told["units"].get(name, {})), name
    assert told["ran"]["season"] == ["2031-04-01", "2031-04-20"]
    plans = [plan["title"] for plan in told["ran"]["plans"]]
    assert plans == ["Less"] or (command == "compare" and "Less" in done.stdout)
    written = {path.name for path in Path("found").iterdir()}
    assert written >= {"answer.html", "answer.txt", "inputs"}
    assert "Fewer people" in Path("found/answer.html").read_text()
    assert set(told["written"]["files"]) >= {"answer.html", "answer.txt"}


@pytest.mark.parametrize("command", [*DOCUMENTS, "run"])
def test_what_draws_pictures_can_leave_them_out(command, tmp_path, monkeypatch):
    """A command that writes pictures takes --no-pictures, and then writes none; no other has it."""
    monkeypatch.chdir(tmp_path)
    asked = dict(MORE, compare=("--scale", "river.wren.inflow=0.5"))
    words = (command, "first_town", *SHORT, *asked.get(command, ()))
    assert call(*words, "--out", "drawn").exit_code == 0
    can = "--no-pictures" in options_of(command)
    assert any(Path("drawn").rglob("*.png")) is can
    if can:
        done = call(*words, "--no-pictures", "--json", "--out", "words")
        assert done.exit_code == 0, done.output
        assert json.loads(done.stdout)["pictures"] == []
        assert not [*Path("words").rglob("*.png"), *Path("words").rglob("*.svg")]
        assert "<img" not in Path("words/answer.html").read_text()


def test_a_date_may_stand_alone():
    """A day without a town is that of the town that is meant by default."""
    words = ("glass", "first_town", "2031-04-18", *SHORT, "--json", "--no-pictures")
    assert json.loads(CliRunner().invoke(main, words).stdout)["facts"]["date"] == "2031-04-18"
