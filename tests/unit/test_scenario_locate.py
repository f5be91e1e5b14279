"""Lines: each key is found where it stands, however the file is laid out."""

from __future__ import annotations

import tomllib

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.scenario.locate import line_numbers, line_of

LAID_OUT = '''# a comment with title = "no"
title = "a # is no comment here, nor is = a key"

about = """
town = "this is text"
[river]
"""
[season]  # days
start = 2031-05-01
"end" = 2031-08-31

[river.'wren']
length = "40 km"    # length = "7 km"
used_before = [
  "70 %",   # never
  # a comment, with ] in it
  "20 %",
  "10 %",
]
inflow.file = 'a "b" .csv'
inflow . column = "x"

[town.larkmill]
people = 24_000
intake = { river = "wren", at = "10 km" }
outfall = {river="wr{en", at="15 } km"}
plant.capacity = "6 Mgal/day"
[town.larkmill.homes]
toilets = "24 %"
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("about",), 4),
        (("season",), 8),
        (("season", "start"), 9),
        (("season", "end"), 10),
        (("river",), 12),
        (("river", "wren"), 12),
        (("river", "wren", "length"), 13),
        (("river", "wren", "used_before"), 14),
        (("river", "wren", "used_before", 0), 15),
        (("river", "wren", "used_before", 1), 17),
        (("river", "wren", "used_before", 2), 18),
        (("river", "wren", "inflow"), 20),
        (("river", "wren", "inflow", "file"), 20),
        (("river", "wren", "inflow", "column"), 21),
        (("town", "larkmill"), 23),
        (("town", "larkmill", "people"), 24),
        (("town", "larkmill", "intake", "at"), 25),
        (("town", "larkmill", "outfall", "at"), 26),
        (("town", "larkmill", "plant", "capacity"), 27),
        (("town", "larkmill", "homes"), 28),
        (("town", "larkmill", "homes", "toilets"), 29),
    ],
)
def test_each_key_is_found_on_its_line(path, line):
    """Tables, dotted and quoted keys, inline tables, lists and comments are read rightly."""
    tomllib.loads(LAID_OUT)
    assert line_numbers(LAID_OUT)[path] == line


def test_nothing_but_the_keys_is_found():
    """Words in comments and in texts are no keys."""
    found = {path for path in line_numbers(LAID_OUT) if not isinstance(path[-1], int)}
    assert found == set(_paths(tomllib.loads(LAID_OUT)))


def test_a_missing_key_stands_where_its_table_does():
    """What is missing is said at the table that lacks it; without one, nowhere."""
    lines = line_numbers(LAID_OUT)
    assert line_of(lines, ("town", "larkmill", "outfall", "rivr")) == 26
    assert line_of(lines, ("town", "larkmill", "wells", "capacity")) == 23
    assert line_of(lines, ("reservoir",)) == 0


def _paths(data, above=()):
    for name, value in data.items():
        yield (*above, name)
        if isinstance(value, dict):
            yield from _paths(value, (*above, name))


NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=8
)
PLAIN = st.one_of(st.integers(-10, 10), st.booleans(), st.text(max_size=12), st.dates())
LISTS = st.lists(st.one_of(PLAIN, st.lists(PLAIN, max_size=2)), max_size=3)
VALUES = st.recursive(
    st.one_of(PLAIN, LISTS), lambda inner: st.dictionaries(NAMES, inner, max_size=3), max_leaves=8
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(NAMES, VALUES, max_size=4))
def test_the_keys_of_any_toml_are_found(data):
    """Of tables, lists and values of any name, exactly the keys are found, on lines of the text."""
    text = tomlkit.dumps(data)
    lines = line_numbers(text)
    found = {path for path in lines if all(isinstance(word, str) for word in path)}
    assert found == set(_paths(tomllib.loads(text)))
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())


@settings(max_examples=150, deadline=1000)
@given(st.text("[]{}=\"',.#ab \n1", max_size=60))
def test_a_text_that_is_no_toml_never_hangs(text):
    """Any text at all comes to an end."""
    assert all(line >= 1 for line in line_numbers(text).values())
