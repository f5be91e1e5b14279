"""Messages: every wrong value in one line that says what to do.

pydantic finds what does not fit the schema; here its findings become sentences about the key,
with the value that was given and the nearest name.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, get_args

from pydantic_core import ErrorDetails

from hydroloop import units
from hydroloop.scenario.draft import Finding
from hydroloop.scenario.key import Part
from hydroloop.scenario.nearest import ALIASES, nearest, offer
from hydroloop.scenario.quantities import shown
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.tree import Node, Path, find, node, table_at

_KINDS = {
    "string_type": ("a text", 'Put it in quotes: "wren".'),
    "int_type": ("a whole number", "Write for example 7, without quotes."),
    "float_type": ("a number", "Write for example 0.8, without quotes."),
    "finite_number": ("a number that can be used", "Write a finite number, without quotes."),
    "date_type": ("a date", "Write for example 2031-04-01."),
    "date_from_datetime_inexact": ("a date", "Write for example 2031-04-01."),
    "list_type": ("a list", "Write it in square brackets."),
    "dict_type": ("a table", "Give it a name: [town.larkmill]."),
    "bool_type": ("true or false", ""),
}
_STAGE = "river = 'wren', at = '20 km', flow_below = '20 cfs'"
_MOST_CURED = 200  # far more than are told one by one; a nearest name takes its time
_EXAMPLES: dict[Path | str, str] = {  # by the words of the key, or by its last word
    ("season",): "[season] with start and end",
    ("river",): "[river.NAME] with length and inflow",
    ("town",): "[town.NAME] with people, intake and outfall",
    ("title",): 'title = "A town on its river"',
    "outfall": 'outfall = { river = "wren", at = "26 km" }',
    "river": 'river = "wren"',
    "start": "start = 2031-04-01",
    "end": "end = 2031-09-30",
    "file": 'file = "inflow.csv"',
}


def findings_of(errors: Sequence[ErrorDetails], data: dict[str, Any]) -> list[Finding]:
    """Turn what pydantic found into sentences, one for each thing that is wrong."""
    placed = [(error, *_place(error["loc"], data)) for error in errors]
    fitting = [(error, path) for error, path, fits in placed if fits]
    # Whatever is refused is told: if no way to write a value was plainly chosen, all are.
    fitting = fitting or [(error, path) for error, path, _ in placed]
    unknown = [path for error, path in fitting if error["type"] == "extra_forbidden"]
    misspelt = {_near(path) for path in unknown[:_MOST_CURED]}
    found: dict[tuple[Path, str], Finding] = {}
    for error, path in fitting:
        if error["type"] == "missing" and path in misspelt:
            continue  # said already, where it stands misspelt
        finding = (
            _sentence(error, path)
            if len(found) < _MOST_CURED
            else Finding(path, f"{error['msg']}.")
        )
        found.setdefault((path, finding.what), finding)
    return list(found.values())


def _near(path: Path) -> Path:
    """Path of the key that an unknown key was probably meant to be."""
    table = table_at(path[:-1])
    return (*path[:-1], nearest(str(path[-1]), table.model_fields)) if table else path


def _place(loc: tuple[int | str, ...], data: Any) -> tuple[Path, bool]:
    """Path without the marks that pydantic sets for the ways to write a value, and whether it
    counts: only the report for the way that was chosen does. Which words are marks follows from the
    schema alone, as a user's key may be called anything."""
    path: Path = ()
    here: Any = data
    table: type[Part] | None = ScenarioFile
    place: Node | None = None
    is_named = False
    for word in loc:
        if place is not None and place.forms > 1:
            if not _is_chosen(str(word), here, place):
                return path, False
            place = None
            continue
        path = (*path, word)
        here = here[word] if _has(here, word) else None
        if is_named or isinstance(word, int):
            is_named = False
            continue
        place = node(table, word) if table is not None else None
        table, is_named = (place.table, place.named) if place else (None, False)
    return path, True


def _is_chosen(mark: str, given: Any, place: Node) -> bool:
    """Whether a mark stands for the way in which a value was written."""
    if isinstance(given, list):
        return mark.startswith("list[")
    if isinstance(given, dict):
        return place.table is not None and mark == place.table.__name__
    return mark.startswith("function")


def _has(here: Any, word: int | str) -> bool:
    if isinstance(here, dict):
        return word in here
    return isinstance(here, list) and isinstance(word, int) and word < len(here)


def _sentence(error: ErrorDetails, path: Path) -> Finding:
    kind, context = error["type"], error.get("ctx", {})
    if kind == "quantity":
        return Finding(path, context["what"], context["cure"])
    if kind == "extra_forbidden":
        return unknown_key(path)
    if kind == "missing":
        return _missing(path)
    here = find(path)
    given = shown(error["input"])
    if kind == "literal_error" and here:
        choices = _choices(here)
        listed = " or ".join([", ".join(f'"{c}"' for c in choices[:-1]), f'"{choices[-1]}"'])
        near = nearest(str(error["input"]), choices)
        return Finding(
            path,
            f"{given} is not one of the choices.",
            f"Write {listed}." + (f' Did you mean "{near}"?' if near else ""),
        )
    if kind in ("too_short", "too_long"):
        return Finding(
            path,
            f"the list has {context['actual_length']} values.",
            "Write twelve, January to December.",
        )
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return Finding(path, f"{given} stands where a table is wanted.", _table_cure(path, here))
    wanted, cure = _KINDS.get(kind, ("what this key takes", f"{error['msg']}."))
    return Finding(path, f"{given} is not {wanted}.", cure)


def _choices(here: Node) -> list[str]:
    return [str(choice) for choice in get_args(here.field.annotation)]


def _table_cure(path: Path, here: Node | None) -> str:
    table = here.table if here else None
    if here and here.named and len(path) == 1:
        return f"Write [{path[0]}.NAME] and its keys below."
    keys = ", ".join(table.model_fields) if table else ""
    return f"Its keys are: {keys}." if keys else "Write a table."


def _missing(path: Path) -> Finding:
    here = find(path)
    name = str(path[-1])
    meaning = (here.field.description if here else None) or ""
    example = _EXAMPLES.get(path) or _EXAMPLES.get(name) or f'{name} = "..."'
    if here and here.dimension:
        sample = units.DIMENSIONS[here.dimension].examples[0]
        example = f"{name} = {sample}" if here.dimension == "count" else f'{name} = "{sample}"'
    what = f"is missing ({meaning})." if meaning else "is missing."
    return Finding(path, what, f"Write for example {example}.")


def whole_table(kind: str, name: str) -> str:
    """How a place or a stage is added by one change, as a command line takes it."""
    inside = _STAGE if kind == "stage" else "KEY = VALUE, ..."
    return f'--set "{kind}.{name}={{{inside}}}"'


def unknown_key(path: Path) -> Finding:
    """Say that a key does not exist, and which one was probably meant."""
    above, name = path[:-1], str(path[-1])
    table = table_at(above)
    if table is None:
        return Finding(path, "there is no such key.", "See hydroloop explain.")
    return Finding(path, "there is no such key.", _meant(table, name))


def _meant(table: type[Part], name: str) -> str:
    alias = ALIASES.get(name.lower(), "")
    if alias.split(".")[0] in table.model_fields:
        return f'Did you mean "{alias}"?'
    if near := nearest(name, table.model_fields):
        return f'Did you mean "{near}"?'
    for part in table.model_fields:
        below = node(table, part)
        if below and below.table and not below.named and name in below.table.model_fields:
            return f'Did you mean "{part}.{name}"?'
    return offer(name, table.model_fields).replace("There are:", "The keys here are:")
