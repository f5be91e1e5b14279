"""Which published checks count: what of the program each one runs, found from its code.

A check counts if it runs a function that works its number out and that a command, a measure or a
public name uses. Of one formula so many count as `MOST_OF_ONE`: more of them make it no surer.
"""

from __future__ import annotations

import dis
import re
import types
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from house.reached import Place, reached
from published_checks import Check

MOST_OF_ONE = 20
LOOKS_UP = {"standard", "Standard", "limits_of", "climate_named", "Climate"}
"""Find what is kept, and compute nothing."""
CARRIES = {"read_toml", "read_scenario", "edges_of", "flow_mask", "Network"}
"""Only hand on what others work out."""
LAYERS = ("scenario", "weather", "waterworks", "record", "tracing", "measures", "plants", "outputs")
THROUGH = ("scenario", "record", "tracing", "measures")
"""Layers whose checks go through a whole scenario, a record, the operator or a measure."""
_OUTER = ("studies", "charts", "outputs", "whatif", "draw", "cli")


def entries(check: Check) -> set[Place]:
    """Functions of hydroloop that a check calls itself, as module and name."""
    found: set[Place] = set()
    _look(check.ours, found, set())
    return found


def live(check: Check) -> set[Place]:
    """Those of them that compute and that are used."""
    return {
        place
        for place in entries(check)
        if place[1] not in LOOKS_UP | CARRIES and place in reached()
    }


def layer(check: Check) -> str:
    """The layer that a check is of: that of the last thing that it asks, a scenario if it runs one
    and looks into the record."""
    found = live(check)
    parts = {module.split(".")[1] for module, _ in found}
    if parts & set(_OUTER):
        return "outputs"
    for part in ("measures", "tracing"):
        if part in parts:
            return part
    if any(name == "simulate" for _, name in found):
        return "scenario"
    for part in ("plants", "record", "waterworks", "weather"):
        if part in parts:
            return part
    return ""


def counted(checks: Iterable[tuple[str, Check]]) -> Counter[str]:
    """Live checks by layer, of modules' names and checks; one formula, or one module's way through
    a record, counts so often and no more."""
    of_one: Counter[tuple] = Counter()
    found: Counter[str] = Counter()
    for module, check in checks:
        part = layer(check)
        if not part:
            continue
        formula = (module if part in THROUGH else "", frozenset(live(check)))
        of_one[formula] += 1
        if of_one[formula] <= MOST_OF_ONE:
            found[part] += 1
    return found


_PLACE = re.compile(
    r"(, | \(|:| Examples? | Table | Eq\. | Fig\. | Box | chapter | ch\. | s\. | p\. | App\."
    r"|(?<=\d)\.\d).*"
)


def works(checks: Iterable[Check]) -> set[str]:
    """The works that checks are taken from, without page or table."""
    return {_PLACE.sub("", check.source).strip() for check in checks}


def _look(thing: Any, found: set[Place], seen: set[int]) -> None:
    if id(thing) in seen:
        return
    seen.add(id(thing))
    if isinstance(thing, dict | list | tuple):
        for one in thing.values() if isinstance(thing, dict) else thing:
            if callable(one):
                _look(one, found, seen)
        return
    if isinstance(thing, types.ModuleType):  # one that can be called, as `hydroloop.measures`
        thing = getattr(thing, thing.__name__.rpartition(".")[2])
    named = thing if hasattr(thing, "__qualname__") else type(thing)
    home = getattr(named, "__module__", None) or ""
    if home.partition(".")[0] == "hydroloop":
        found.add((home, named.__qualname__.partition(".")[0]))
    elif hasattr(thing, "__wrapped__"):
        _look(thing.__wrapped__, found, seen)
    elif isinstance(thing, types.FunctionType):
        for one in _used_by(thing):
            _look(one, found, seen)


def _used_by(function: types.FunctionType) -> Iterator[Any]:
    """What a function's code names: globals, attributes of modules, defaults, closures."""
    yield from function.__defaults__ or ()
    yield from (cell.cell_contents for cell in function.__closure__ or ())
    codes = [function.__code__]
    while codes:
        code = codes.pop()
        codes += [one for one in code.co_consts if isinstance(one, types.CodeType)]
        holder: Any = None
        for step in dis.get_instructions(code):
            if step.opname in ("LOAD_GLOBAL", "LOAD_NAME"):
                holder = function.__globals__.get(step.argval)
            elif step.opname in ("LOAD_ATTR", "LOAD_METHOD") and isinstance(
                holder, types.ModuleType
            ):
                holder = getattr(holder, step.argval, None)
            else:
                continue
            if not isinstance(holder, types.ModuleType) or (
                callable(holder) and holder.__name__.startswith("hydroloop.")
            ):
                yield holder
