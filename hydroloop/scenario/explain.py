"""Explaining: what a key means, its unit, default, usual range and source."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Literal, NamedTuple, get_args, get_origin

from pydantic_core import PydanticUndefined

from hydroloop import units
from hydroloop.bounds import bound_of
from hydroloop.errors import AskError, Problem
from hydroloop.glossary.rows import TERMS
from hydroloop.scenario.key import Part, note
from hydroloop.scenario.messages import whole_table
from hydroloop.scenario.nearest import ALIASES, nearest
from hydroloop.scenario.quantities import is_plain
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.tree import Node, dotted, find, node, table_at

# Of the letters; among so many keys and terms some are like a single word by chance.
_ALIKE, _ALIKE_DOTTED = 0.8, 0.6

NAME = "NAME"
"""Stands for the name of a town or river in the key of a general explanation."""


class KeyNote(NamedTuple):
    """All that the schema says of one key, in words."""

    key: str  # dotted key, `NAME` in place of the name of a town or river
    meaning: str  # what it says
    takes: str  # what may be written: `a flow`, `a whole number`, `"separate" or "combined"`
    examples: tuple[str, ...]  # ways to write it; empty where `takes` says enough
    held: str  # unit in which it is held inside; empty where it has none
    # value when it is left out, or how that is worked out; `needed` if it must be given
    default: str
    usual: str  # usual range; empty where there is none
    bounds: str  # ends beyond which a value is refused; empty where it is no number
    source: str  # where default and usual range come from
    is_table: bool  # whether it is a table with keys of its own


@lru_cache(maxsize=1)
def all_keys() -> tuple[KeyNote, ...]:
    """Every key that a scenario file may hold, in the order of the schema."""
    return tuple(_below(ScenarioFile, ()))


class Explained(NamedTuple):
    """What is known of a key, or of all keys that end in a word."""

    title: str
    notes: tuple[KeyNote, ...]  # of the keys that are meant
    facts: tuple[tuple[str, str], ...] = ()  # of the one key: a word, and what is said of it
    keys: tuple[tuple[str, str], ...] = ()  # those that it holds, or all that are meant


def explain(key: str) -> Explained:
    """Explain a key; it may be whole, with NAME, or its last words."""
    notes = tuple(_matching(key.strip().strip(".")))
    if len(notes) == 1:
        above = notes[0].key
        held = [one for one in all_keys() if _is_child(one.key, above)]
        return Explained(
            above,
            notes,
            tuple(_facts(notes[0])),
            tuple((one.key.removeprefix(above + "."), one.meaning) for one in held),
        )
    return Explained(
        f"{len(notes)} keys end in {key.strip()}:",
        notes,
        keys=tuple((one.key, one.meaning) for one in notes),
    )


def _below(table: type[Part], above: tuple[str, ...]) -> Iterator[KeyNote]:
    for name in table.model_fields:
        here = node(table, name)
        if here is None:
            continue
        path = (*above, name, NAME) if here.named else (*above, name)
        yield _note(path, here)
        if here.table is not None:
            yield from _below(here.table, path)


def _note(path: tuple[str, ...], here: Node) -> KeyNote:
    usual = note(here.field, "usual")
    spec = units.DIMENSIONS.get(here.dimension)
    bound = bound_of(path, here.dimension)
    return KeyNote(
        key=dotted(path),
        meaning=_meaning(here),
        takes=_takes(here),
        examples=spec.examples if spec else (),
        held=spec.held if spec else "",
        default=_default(here),
        usual=f"{_plain(usual[0])} to {_plain(usual[1])}" if usual else "",
        bounds=bound.words(here.dimension) if bound else "",
        source=note(here.field, "source") or "",
        is_table=here.table is not None,
    )


def _meaning(here: Node) -> str:
    if here.field.description:
        return here.field.description
    doc = (here.table.__doc__ or "") if here.table else ""
    first = doc.strip().split("\n")[0].rstrip(".")
    return first[:1].lower() + first[1:]


def _takes(here: Node) -> str:
    annotation = here.field.annotation
    if here.table is not None and not here.dimension:
        return "a table"
    if here.dimension:
        phrase = units.DIMENSIONS[here.dimension].phrase
        listed = ", or a list of them" if _is_list(annotation) else ""
        return phrase + listed + (", or a table" if here.table is not None else "")
    if is_plain(here.field):
        return 'a number, or a range such as "0.7 to 0.9"'
    choices = _literals(annotation)
    if choices:
        return ", ".join(f'"{c}"' for c in choices[:-1]) + f' or "{choices[-1]}"'
    words = {str: "a text", int: "a whole number", float: "a number"}
    options = [annotation, *get_args(annotation)]
    return next((words[option] for option in options if option in words), "a date")


def _literals(annotation: Any) -> tuple[Any, ...]:
    return get_args(annotation) if get_origin(annotation) is Literal else ()


def _is_list(annotation: Any) -> bool:
    return get_origin(annotation) is list or any(map(_is_list, get_args(annotation)))


def _default(here: Node) -> str:
    if here.field.is_required():
        return "needed"
    if here.field.default is PydanticUndefined or here.field.default_factory:
        return "none" if here.named else "the defaults of its keys"
    if here.field.default is None:
        return note(here.field, "computed") or "none"
    return _plain(here.field.default) or "empty"


def _plain(value: Any) -> str:
    return (
        f"{value:,}"
        if isinstance(value, int)
        else f"{value:g}"
        if isinstance(value, float)
        else str(value)
    )


def _matching(key: str) -> list[KeyNote]:
    words = _with_name(key.split("."))
    here = find(words)
    if here is not None:
        general = _general(words)
        found = [one for one in all_keys() if one.key == general]
        if found:
            return found
    wanted = [key, ALIASES.get(key.lower(), key)]
    found = [one for one in all_keys() if one.key.endswith(tuple(f".{w}" for w in wanted))]
    if found:
        return found
    raise AskError(Problem(key or "explain", "there is no such key or term.", _offer(key)))


def _with_name(words: list[str]) -> list[str]:
    """A key that was asked for without the name of its place: river.minimum_flow."""
    first = find(words[:1])
    if first is None or not first.named or first.table is None or len(words) < 2:
        return words
    return [words[0], NAME, *words[1:]] if words[1] in first.table.model_fields else words


def _general(words: list[str]) -> str:
    """The key with NAME in place of the name of a town or river."""
    first = find(words[:1])
    if first is None or not first.named:
        return dotted(words)
    return dotted([words[0], NAME, *words[2:]])


def _offer(key: str) -> str:
    words = key.split(".")
    if len(words) > 1 and (table := table_at(words[:-1])):
        if near := nearest(words[-1], table.model_fields):
            return f'Did you mean "{dotted([*words[:-1], near])}"?'
        return f"The keys there are: {', '.join(table.model_fields)}."
    known = {one.key: one.key for one in all_keys()}
    known.update({one.key.rsplit(".", 1)[-1]: one.key for one in all_keys()})
    known.update({one.key.removesuffix(f".{NAME}"): one.key for one in all_keys() if one.is_table})
    known.update({said: said for row in TERMS for said in (row.name, row.plain) if said})
    alike = _ALIKE if len(words) == 1 else _ALIKE_DOTTED
    if near := nearest(key, known, alike) or nearest(words[-1], known, alike):
        return f'Did you mean "{known[near]}"?'
    every = "hydroloop explain lists all keys, and hydroloop explain terms all terms."
    if key.strip() and (told := _told_under(key)):
        return f"The word stands in what is said of {', '.join(told[:3])}. {every}"
    return every


def _told_under(word: str) -> list[str]:
    """Keys and terms in whose meaning a word stands."""
    asked = re.compile(rf"\b{re.escape(word.strip().lower())}\b")
    said = [(one.key, one.meaning) for one in all_keys()]
    said += [(row.plain or row.name, row.meaning) for row in TERMS]
    return [f'"{name}"' for name, meaning in said if asked.search(meaning.lower())]


def _facts(one: KeyNote) -> Iterator[tuple[str, str]]:
    yield "meaning", one.meaning
    has_value = not one.is_table or bool(one.examples)
    if one.key.count(".") == 1 and one.key.endswith(f".{NAME}"):
        kind = one.key.partition(".")[0]
        yield "added by", f"[{kind}.{NAME}] and its keys in the file, or {whole_table(kind, NAME)}"
    if has_value:
        yield (
            "takes",
            one.takes
            + (
                ", for example " + ", ".join(f'"{e}"' for e in one.examples) if one.examples else ""
            ),
        )
    told = (
        ("held in", one.held),
        ("default", one.default if has_value else ""),
        ("usual", one.usual),
        ("bounds", one.bounds),
        ("source", one.source),
    )
    yield from ((word, words) for word, words in told if words)


def _is_child(key: str, above: str) -> bool:
    rest = key.removeprefix(above + ".")
    return rest != key and rest.removesuffix("." + NAME).count(".") == 0
