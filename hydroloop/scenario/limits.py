"""Limits: numbers given that lie outside what they can mean."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from hydroloop.bounds import Bound, bound_of
from hydroloop.errors import InputError
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.quantities import called, ends_of, read, shown
from hydroloop.scenario.tree import Node, Path, find, leaves


def limit_checks(draft: Draft) -> Iterator[Finding]:
    """Find numbers given that lie outside what they can mean."""
    for path, value in leaves(draft.data):
        here = find(path)
        if here is None or path in draft.wrong:
            continue
        bound = bound_of([str(word) for word in path], here.dimension)
        members = enumerate(value) if isinstance(value, list) else [(None, value)]
        for place, member in members if bound else ():
            full = path if place is None else (*path, place)
            if bound and full not in draft.wrong:
                yield from _outside(full, member, here, bound)


def _outside(path: Path, value: Any, here: Node, bound: Bound) -> Iterator[Finding]:
    name = next(str(word) for word in reversed(path) if isinstance(word, str))
    ends = _ends(value, here.dimension, name)
    if ends is None or bound.holds(*ends):
        return
    allowed = f"Write {bound.words(here.dimension)}."
    if ends[0] <= 0 and bound.cure:
        yield Finding(path, f"{shown(value)}: {called(name)} must lie above zero.", bound.cure)
    else:
        yield Finding(path, f"{shown(value)} is out of bounds.", allowed)


def _ends(value: Any, dimension: str, name: str) -> tuple[float, float] | None:
    """Ends of a value in its held unit; None where it is no number."""
    if not dimension:
        return ends_of(value)
    try:
        quantity = read(value, dimension, name)
    except InputError:
        return None
    return quantity.low, quantity.high
