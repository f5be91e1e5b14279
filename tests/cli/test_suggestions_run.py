"""What a command says may be asked next is a command that runs as it is printed."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from cli.commands import call, told

SHORT = ["--set", "season.end=2031-04-20"]
PLAN = """[plan]
title = "Fix the mains"
[[step]]
what = "Fix the mains of Larkmill"
why = "Less water is lost"
set = { "town.larkmill.mains.real_losses" = "5 %" }
"""
LESS = ["--scale", "river.wren.inflow=0.5"]
ASKED = {
    "compare": ["compare", "first_town", *LESS],
    "compare, already with what is offered": [
        "compare",
        "first_town",
        *LESS,
        "--scale",
        "town.larkmill.people=1.5",
        "--set",
        "dry_season.rain_scale=50 %",
    ],
    "compare, short": ["compare", "first_town", "--scale", "river.wren.inflow=0.05"],
    "compare, short, with fewer people": [
        "compare",
        "first_town",
        "--scale",
        "river.wren.inflow=0.05",
        "--scale",
        "town.larkmill.people=0.8",
    ],
    "compare with a plan": ["compare", "first_town", "--plan", "plan.toml"],
    "compare with a plan and a scale": ["compare", "first_town", "--plan", "plan.toml", *LESS],
    "compare two": ["compare", "first_town", "long_river"],
    "run with a plan and a scale": ["run", "first_town", "--plan", "plan.toml", *LESS],
    "sweep of a key that is scaled": [
        "sweep",
        "first_town",
        "--factors",
        "river.wren.inflow=1,2",
        *LESS,
    ],
    "sweep of a key that is set": [
        "sweep",
        "first_town",
        "--over",
        "town.larkmill.people=20000,30000",
        "--set",
        "town.larkmill.people=10000",
    ],
    "spread": ["spread", "first_town", "--members", "3"],
    "spread with leaks that are set": [
        "spread",
        "first_town",
        "--members",
        "3",
        "--set",
        "town.*.mains.real_losses=9 %",
    ],
    "spread with a plan and a range": [
        "spread",
        "first_town",
        "--members",
        "3",
        "--plan",
        "plan.toml",
        "--set",
        "town.larkmill.people=20000 to 30000",
    ],
    "check": ["check", "first_town", *LESS],
    "capacity": ["capacity", "first_town", "larkmill", "--set", "town.larkmill.people=30000"],
    "round": ["round", "first_town", "larkmill", *LESS],
    "week": ["week", "first_town", "larkmill", *LESS],
}


@pytest.mark.parametrize("asked", ASKED.values(), ids=list(ASKED))
def test_what_a_command_offers_next_runs(asked, tmp_path, monkeypatch):
    """Every suggestion, typed as it is printed, is answered, whatever was changed already."""
    monkeypatch.chdir(tmp_path)
    Path("plan.toml").write_text(PLAN)
    short = [] if "long_river" in asked or asked[0] == "week" else SHORT
    offered = [one["command"] for one in told(*asked, *short)["ask_next"]]
    typed = [
        shlex.split(command)[1:]
        for command in offered
        if command.startswith("hydroloop ") and "KEY" not in command
    ]
    if not typed:
        assert offered == ["the same with --full"]
        typed = [[*asked, *short, "--full"]]
    for words in typed:
        done = call(*words, "--json")
        assert done.exit_code == 0, f"{words}\n{done.output}"
