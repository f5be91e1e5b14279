"""Keys that look like a program's own marks are told with their own name, never misread."""

from __future__ import annotations

import tomllib

import pytest
from small_scenarios import ONE_TOWN

from hydroloop.errors import ScenarioError
from hydroloop.scenario import read_toml

ODD = [
    "list[x]",
    "list[",
    "function(x)",
    "function-plain[validate()]",
    "FlowFile",
    "River",
    "(",
    "[",
    "]",
    "{x}",
    "a.b",
    "a b",
    "'",
    '"',
    "\\",
    "\n",
    "\t",
    "\x1b[31m",
    "\u202eabc",
    "",
    " ",
    "*",
    "0",
    "-1",
    "é",
    "水",
    "%s",
    "{}",
    "__class__",
    "title\x00",
    "x" * 500,
]
PLACES = {
    "": "",
    "season": "[season]",
    "weather": "[weather]",
    "river": "[river]",
    "river.wren": "[river.wren]",
    "town": "[town]",
    "town.larkmill": "[town.larkmill]",
    "town.larkmill.homes": "[town.larkmill.homes]",
    "quality": "[quality]",
    "stage": "[stage]",
    "town.larkmill.plant.basins.filters": "[town.larkmill.plant.basins.filters]",
}


def quoted(key: str) -> str:
    """A key as TOML writes it."""
    plain = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
    return (
        '"' + "".join(plain.get(c, c if c.isprintable() else f"\\u{ord(c):04x}") for c in key) + '"'
    )


def with_key(place: str, key: str, value: str) -> str:
    """The one-town file with a key more."""
    line = f"{quoted(key)} = {value}\n"
    heading = PLACES[place]
    if not heading:
        return line + ONE_TOWN
    if heading in ONE_TOWN:
        return ONE_TOWN.replace(heading, f"{heading}\n{line}")
    return f"{ONE_TOWN}\n{heading}\n{line}"


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("key", ODD)
def test_an_odd_key_is_refused_by_its_own_name(place, key):
    """The message says where the key stands and what it is called, in one printable line."""
    for value in ("1", '"x"', "{ y = 1 }", "[1, 2]"):
        text = with_key(place, key, value)
        assert tomllib.loads(text)
        with pytest.raises(ScenarioError) as caught:
            read_toml(text)
        assert caught.value.problems
        for problem in caught.value.problems:
            assert str(problem).isprintable(), str(problem)
            assert len(str(problem)) < 1200
        above = f"{place}." if place else ""
        own = [problem for problem in caught.value.problems if problem.key.startswith(above)]
        assert own, str(caught.value)
        if key.isalnum() and len(key) < 20:
            assert any(problem.key.startswith(f"{above}{key}") for problem in own)


def test_marks_as_keys_are_named_among_those_that_may_be_written_in_several_ways():
    """Under an inflow file, too, the key is told and not taken for a mark."""
    text = ONE_TOWN.replace('"3 m3/s"', '{ file = "x.csv", "list[x]" = 1 }')
    with pytest.raises(ScenarioError) as caught:
        read_toml(text)
    assert 'river.wren.inflow."list[x]"' in [problem.key for problem in caught.value.problems]
