"""Thrown-in values: whatever stands in a file, it is taken or refused in words, and then it runs.

Short and seeded here. The long form: HYDROLOOP_LONG_FUZZ=1 pytest tests/unit/test_thrown_in.py -s
tries every value at every key and prints how many held.
"""

from __future__ import annotations

import os
import random
from collections import Counter

import pytest
from small_scenarios import ONE_TOWN

from hydroloop import simulate
from hydroloop.errors import HydroloopError, InputError
from hydroloop.scenario import all_keys, read_toml
from hydroloop.scenario.explain import NAME
from hydroloop.weather import read_weather
from hydroloop.whatif.plan import read_plan_text

LONG = bool(os.environ.get("HYDROLOOP_LONG_FUZZ"))
PLACES = {
    "river": "wren",
    "town": "larkmill",
    "reservoir": "lake",
    "aquifer": "deep",
    "stage": "one",
}
VALUES = [
    0,
    1,
    -1,
    2,
    0.5,
    -0.0,
    1e-300,
    1e300,
    float("nan"),
    float("inf"),
    10**19,
    10**400,
    -(10**400),
    True,
    None,
    "",
    " ",
    "0",
    "-1",
    "nan",
    "inf",
    "1e999",
    "1e-999",
    "100 %",
    "99.999999 %",
    "0 %",
    "101 %",
    "-5 %",
    "1 m",
    "1 km",
    "1e9 km",
    "1 m3/s",
    "1e-9 m3/day",
    "1e14 m3/day",
    "1 person",
    "1 to 2",
    "2 to 1",
    "1 % to 99 %",
    "1 day",
    "0 day",
    "1 s",
    "1e6 day",
    "1 mm",
    "1e9 mm",
    "-40 C",
    "1 m3/person/day",
    "1e-12 L/person/day",
    "90 N",
    "91 N",
    "9000 m",
    "-600 m",
    "x",
    "x" * 9000,
    "9" * 9000,
    "9" * 9000 + " x",
    "1 " * 4000,
    "\x00",
    "\x1b[31m",
    "\u202e",
    "list[x]",
    "..",
    "../../etc/passwd",
    "/dev/zero",
    "wren",
    "larkmill",
    "2031-05-01",
    [],
    [1],
    ["1 m3/s"] * 12,
    [[]],
    ["x"] * 2000,
    {},
    {"x": 1},
    {"list[x]": 1},
    {"file": "x.csv"},
    {"river": "wren"},
    {"file": {"x": {}}},
    [{}],
    "true",
    "½",
    "٣",
    "1,5",
    "1.000,5",
    "1_000",
    "0x10",
    "1e",
    "+",
    "%",
]


def keys():
    """Every key, and the tables that hold them, with names put in."""
    for note in all_keys():
        words = note.key.split(".")
        yield ".".join(
            PLACES[words[k - 1]] if word == NAME else word for k, word in enumerate(words)
        )


def outcome(act, *given) -> str:
    """``taken`` or ``refused``; anything else is a fault and gets out."""
    try:
        act(*given)
    except HydroloopError as error:
        lines = str(error).splitlines()
        assert 1 <= len(lines) <= 21
        assert all(line.strip() and line.isprintable() and len(line) < 1500 for line in lines)
        return "refused"
    return "taken"


def some(cases, number, seed):
    """A part of the cases that is the same every time; all of them in the long form."""
    cases = list(cases)
    return cases if LONG else random.Random(seed).sample(cases, min(number, len(cases)))


def told(name, found):
    """How many of what, for the long form."""
    if LONG:
        print(f"{name}: {sum(found.values()):,} tried, {dict(found)}")


def test_any_value_at_any_key_is_taken_or_refused():
    """Every key of the schema by a table of odd values."""
    base = read_toml(ONE_TOWN)
    told(
        "values at keys",
        Counter(
            outcome(base.changed, {key: value})
            for key, value in some(((k, v) for k in keys() for v in VALUES), 1500, 1)
        ),
    )


def test_what_passes_the_check_runs():
    """A value that is taken runs, over a few days, or is refused in words."""
    base = read_toml(ONE_TOWN).changed({"season.end": "2031-05-04", "season.warm_up": "none"})
    found = Counter()
    for key, value in some(((k, v) for k in keys() for v in VALUES), 1200, 2):
        if key.startswith("season"):
            continue
        try:
            scenario = base.changed({key: value})
        except InputError:
            continue
        found["ran" if outcome(simulate, scenario) == "taken" else "refused late"] += 1
    told("what passes, run", found)
    assert found["ran"] > 20 * (found["refused late"] - 1)


def test_any_value_in_a_plan_is_taken_or_refused():
    """Every place of a plan by the same values, as TOML can write them."""

    def writable(value):
        return isinstance(value, str) and value.isprintable() and '"' not in value

    texts = [f'"{value}"' for value in VALUES if writable(value)] + [
        "1",
        "-1",
        "1e400",
        "9" * 400,
        "nan",
        "[]",
        "{}",
        "true",
        "2031-05-01",
        '{ "list[x]" = 1 }',
    ]
    places = (
        ["by", "about", "points"],
        ["why", "who", "points", "measure", "set", "scale", "town", '"list[x]"', "''"],
    )
    cases = [(head, "", text) for head in places[0] for text in texts]
    cases += [("", key, text) for key in places[1] for text in texts]

    def take(head, key, text):
        plan = (
            '[plan]\ntitle = "x"\n'
            + (f"{head} = {text}\n" if head else "")
            + '[[step]]\nwhat = "y"\n'
            + (f"{key} = {text}\n" if key else "")
        )
        read_plan_text(plan).taken(read_toml(ONE_TOWN))

    told("values in plans", Counter(outcome(take, *case) for case in some(cases, 250, 3)))


def mutated(text: str, chance: random.Random) -> str:
    """A text with some of its characters lost, doubled, exchanged or made odd."""
    letters = list(text)
    for _ in range(chance.randint(1, 8)):
        place = chance.randrange(len(letters))
        odd = chance.choice(
            [
                "",
                letters[place] * 2,
                "\0",
                "\x1b",
                '"',
                "[",
                "]",
                "{",
                "=",
                "\n",
                "9" * 50,
                "é",
                ".",
                "-",
                ",",
            ]
        )
        letters[place] = odd
    return "".join(letters)


@pytest.mark.parametrize("kind", ["scenario", "plan", "table"])
def test_a_mutated_file_is_taken_or_refused(kind, tmp_path):
    """Slips of the keyboard and of the disk in each kind of file."""
    plan = (
        '[plan]\ntitle = "x"\n[[step]]\nwhat = "y"\nmeasure = "repair_leaks"\ntown = "larkmill"\n'
    )
    table = "date,rain [mm],tmin [C],tmax [C]\n2031-05-01,1,2,3\n2031-05-02,1,2,3\n"

    def read_table(text):
        (tmp_path / "mill.csv").write_text(text, encoding="utf-8")
        read_weather(tmp_path / "mill.csv")

    text, read = {
        "scenario": (ONE_TOWN, read_toml),
        "plan": (plan, read_plan_text),
        "table": (table, read_table),
    }[kind]
    chance = random.Random(4)
    told(
        f"mutated {kind}",
        Counter(outcome(read, mutated(text, chance)) for _ in range(5000 if LONG else 200)),
    )
