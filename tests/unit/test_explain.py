"""Explaining keys: meaning, unit, default, usual range and source of each."""

from __future__ import annotations

import pytest

from hydroloop.errors import AskError
from hydroloop.scenario import all_keys, explain
from hydroloop.scenario.schema_town import Homes


def lines_of(key):
    """The title, each fact, and each key below."""
    found = explain(key)
    return [
        found.title,
        *(f"  {word:<8} {words}" for word, words in found.facts),
        *(f"    {name}: {words}" for name, words in found.keys),
    ]


VALUES = [one for one in all_keys() if not one.is_table]


def test_a_key_is_explained_in_full():
    """Meaning, what it takes, unit, default, range and source come in one block of lines."""
    lines = lines_of("town.larkmill.homes.use_per_person")
    assert lines[0] == "town.NAME.homes.use_per_person"
    text = "\n".join(lines)
    field = Homes.model_fields["use_per_person"]
    assert field.description in text
    assert f"default  {field.default}" in text
    assert "usual    25 gal/person/day to 120 gal/person/day" in text
    assert "held in  m3/person/day" in text
    assert "DeOreo et al. 2016" in text
    assert '"220 L/person/day"' in text


@pytest.mark.parametrize(
    "key",
    [
        "town.larkmill.homes.baths",
        "town.NAME.homes.baths",
        "homes.baths",
        "baths",
        " town.x.homes.baths. ",
    ],
)
def test_a_key_may_be_asked_for_in_several_ways(key):
    """The whole key with any name, or its last words, lead to the same explanation."""
    assert explain(key).title == "town.NAME.homes.baths"


def test_a_word_that_ends_several_keys_lists_them():
    """A word in several tables gives the list of keys with their meanings."""
    lines = lines_of("capacity")
    assert lines[0].endswith("keys end in capacity:")
    assert any("town.NAME.plant.capacity" in line for line in lines)
    assert any("reservoir.NAME.capacity" in line for line in lines)


def test_a_table_lists_its_keys():
    """A table is explained by what it holds, one level down."""
    text = "\n".join(lines_of("town"))
    assert "people: people who live there" in text
    assert "homes: water used inside homes" in text
    assert "toilets" not in text


def test_a_default_that_is_worked_out_says_how():
    """Where there is no fixed default, the rule stands in its place."""
    assert any(
        "2 times the town's average demand" in line for line in lines_of("town.NAME.plant.capacity")
    )


def test_other_words_for_a_key_are_understood():
    """What people call leaks and population leads to our keys."""
    assert explain("leakage").title == "town.NAME.mains.real_losses"
    assert explain("population").title == "town.NAME.people"


@pytest.mark.parametrize(
    ("key", "offered"),
    [
        ("homes.toilet", "town.NAME.homes.toilets"),
        ("town.larkmill.plant.capasity", "town.larkmill.plant.capacity"),
        ("town.larkmill.hoems", "town.larkmill.homes"),
        ("wether", "weather"),
    ],
)
def test_an_unknown_key_offers_the_nearest(key, offered):
    """A misspelt key is an AskError with the nearest key."""
    with pytest.raises(AskError) as caught:
        explain(key)
    assert f'Did you mean "{offered}"?' in str(caught.value)


@pytest.mark.parametrize("key", ["", "zzz", "a" * 5000, "town.x.y.z.q", "*", "9**9**9"])
def test_what_is_no_key_at_all_is_refused(key):
    """Anything else is one line, without a guess."""
    with pytest.raises(AskError):
        explain(key)


@pytest.mark.parametrize("one", all_keys(), ids=lambda one: one.key)
def test_every_key_can_be_explained(one):
    """Each key of the schema has a meaning, and explains under its own name."""
    assert one.meaning
    assert explain(one.key).title == one.key


@pytest.mark.parametrize("one", VALUES, ids=lambda one: one.key)
def test_every_default_has_a_source_or_a_rule(one):
    """A value that we chose says where it comes from; one that is worked out says how."""
    assert one.default
    assert one.source or one.default in ("needed", "none") or " " in one.default


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("poeple", 'Did you mean "town.NAME.people"?'),
        ("resevoir", 'Did you mean "reservoir.NAME"?'),
        ("detention", "hydroloop explain lists all keys"),
        ("water short", "hydroloop explain lists all keys"),
        ("thunder", "hydroloop explain lists all keys"),
        ("pavement", "The word stands in what is said of"),
    ],
)
def test_only_what_is_near_is_offered(word, told):
    """A slip of the pen is offered its key; a word that no key is like is offered none by chance,
    but those in whose meaning it stands."""
    with pytest.raises(AskError) as caught:
        explain(word)
    assert told in str(caught.value)
    assert ("Did you mean" in str(caught.value)) is told.startswith("Did you mean")
