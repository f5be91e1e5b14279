"""A one-town scenario as text, and changes to it, for tests that need a simple world."""

from __future__ import annotations

from hydroloop.scenario import Scenario, read_toml

ONE_TOWN = """
title = "One town"
[season]
start = 2031-05-01
end = 2031-08-31
[weather]
seed = 3
[river.wren]
length = "40 km"
inflow = "3 m3/s"
[town.larkmill]
people = 20000
intake = { river = "wren", at = "10 km" }
outfall = { river = "wren", at = "15 km" }
"""


def one_town(extra: str = "", **changes: object) -> Scenario:
    """The scenario above with more tables and other keys, as if its file said so.

    ``__`` stands for a dot. Works that are not given are built for the town as it then stands.
    """
    scenario = read_toml(ONE_TOWN + extra)
    named = {key.replace("__", "."): value for key, value in changes.items()}
    scenario = scenario.changed(named) if named else scenario
    held = {".".join(map(str, path)): None for path in scenario.held}
    return scenario.changed(held) if held else scenario
