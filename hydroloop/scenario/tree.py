"""The tree of keys: which dotted key is which field of the schema."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from types import UnionType
from typing import Any, NamedTuple, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from hydroloop.scenario.key import Part
from hydroloop.scenario.quantities import dimension_of
from hydroloop.scenario.schema import ScenarioFile

Path = tuple[str | int, ...]
DEEPEST = 6
"""No key of the schema has more words than this."""


class Node(NamedTuple):
    """A place in the tree of keys."""

    field: FieldInfo  # what the schema says of it
    holder: type[Part]  # the table it stands in
    table: type[Part] | None  # the table it is itself, if any
    named: bool  # whether it holds tables by name, as `town` does
    dimension: str  # dimension of a quantity, else empty
    forms: int  # in how many ways it may be written: a number or a list, a number or a table


@lru_cache(maxsize=1024)
def node(holder: type[Part], name: str) -> Node | None:
    """The key `name` of a table, or None if it has no such key."""
    field = holder.model_fields.get(name)
    if field is None:
        return None
    table, named = _table_in(field.annotation)
    return Node(field, holder, table, named, dimension_of(field), _forms(field.annotation))


def _forms(annotation: Any) -> int:
    if get_origin(annotation) not in (Union, UnionType):
        return 1
    return sum(one is not type(None) for one in get_args(annotation))


def _table_in(annotation: Any) -> tuple[type[Part] | None, bool]:
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation, False
    if get_origin(annotation) is dict:
        return get_args(annotation)[1], True
    for inner in get_args(annotation):
        found, named = _table_in(inner)
        if found is not None:
            return found, named
    return None, False


def find(path: Sequence[str | int]) -> Node | None:
    """The field that a dotted key belongs to, names of towns and rivers in it; or None."""
    holder: type[Part] | None = ScenarioFile
    here: Node | None = None
    named = False
    for word in path:
        if isinstance(word, int):
            continue
        if named:
            named = False
            continue
        if holder is None:
            return None
        here = node(holder, word)
        if here is None:
            return None
        holder, named = here.table, here.named
    return here


def table_at(path: Sequence[str | int]) -> type[Part] | None:
    """The table that stands at a path; the whole scenario at the empty one."""
    if not path:
        return ScenarioFile
    here = find(path)
    if here is None or (here.named and len(path) == 1):
        return None
    return here.table


def leaves(data: Mapping[str, Any], above: Path = ()) -> Iterator[tuple[Path, Any]]:
    """All values given, with their paths, in file order; a list is one value."""
    for name, value in data.items():
        path = (*above, name)
        if isinstance(value, dict) and value and len(path) < DEEPEST:
            yield from leaves(value, path)
        else:
            yield path, value


def dotted(path: Sequence[str | int]) -> str:
    """A path written with dots; words that are no plain keys stand in quotes, as in the file."""
    return ".".join(map(_written, path))


def _written(word: str | int) -> str:
    text = str(word)
    if text and (text == "*" or all(c.isalnum() or c in "_-" for c in text)):
        return text
    return quoted(text)


def quoted(text: str) -> str:
    """A text as a file has it."""
    # TOML knows the escapes of JSON, but for the one control character that JSON lets pass.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
