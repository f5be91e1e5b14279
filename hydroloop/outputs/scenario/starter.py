"""A scenario to start from: what was answered, and the most useful keys as comments."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from hydroloop import units
from hydroloop.charts.words import place_words
from hydroloop.errors import AskError, InputError, Problem
from hydroloop.outputs.document import Ask, Document, Fact, Written
from hydroloop.outputs.scenario.units_of_keys import in_units
from hydroloop.placenames import NO_NAMES
from hydroloop.scenario import all_keys
from hydroloop.scenario.tree import quoted
from hydroloop.units.printing import System

# Keys that people change first, below their table; each is offered with its default.
_OFFERED = {
    "season": ("step", "warm_up"),
    "weather": ("file", "climate", "rain_scale", "warmer_by", "elevation"),
    "river.NAME": ("minimum_flow", "used_before", "speed"),
    "town.NAME": (
        "plant.capacity",
        "mains.real_losses",
        "homes.use_per_person",
        "homes.toilets",
        "homes.septic",
        "yards.area_per_person",
        "sewers.kind",
        "sewers.infiltration",
        "land.area",
        "land.paved",
        "reuse.yards",
        "reuse.plant",
    ),
}
# Places along the river: length, then intake and outfall of the town upstream and of the town.
_PLACES = {
    "us": ("40 mi", "8 mi", "11 mi", "24 mi", "27 mi"),
    "metric": ("60 km", "12 km", "16 km", "36 km", "40 km"),
}
_FLOW_PER_PERSON = 3.0  # m3/d of river for each person: ample, so that nobody runs short


@dataclass(frozen=True)
class Beginning:
    """What `new` asks."""

    # names as people write them
    town: str = "Larkmill"
    # people in the town, and in the town above it; `"0"` if there is none
    people: str = "24000"
    river: str = "Wren"
    upstream: str = "9000"
    flow: str = ""  # what the river brings, with its unit; empty for a flow that suits the people
    # first and last day
    start: str = "2031-04-01"
    end: str = "2031-09-30"
    latitude: str = "45 N"  # for the sun's path
    system: System = "us"  # `"us"` or `"metric"`: the units in which the file is written


def key_of(name: str) -> str:
    """A name as a key of the scenario file: ``Mill Valley`` as ``mill_valley``."""
    kept = "".join(c if c.isalnum() else "_" if c in " _-" else "" for c in name.strip().lower())
    return "_".join(word for word in kept.split("_") if word)


def suitable_flow(people: float, system: System) -> str:
    """A river flow that serves so many people with ease, in two figures."""
    unit = units.display_unit("river_flow", system, largest=people * _FLOW_PER_PERSON)
    shown = float(f"{people * _FLOW_PER_PERSON * unit.factor:.2g}")
    return f"{shown:g} {unit.name}"


def defaults_taken(asked: Beginning, answers: Mapping[str, str]) -> str:
    """What nobody said, with the option that says it; empty where all was said."""
    flow = asked.flow or suitable_flow(
        sum(units.parse(text, "count").value for text in (asked.people, asked.upstream)),
        asked.system,
    )
    said = {
        "town": asked.town,
        "people": asked.people,
        "river": asked.river,
        "upstream": asked.upstream,
        "flow": flow,
        "start": asked.start,
        "end": asked.end,
        "latitude": asked.latitude,
    }
    return ", ".join(
        f"--{name} {quoted(value) if ' ' in value else value}"
        for name, value in said.items()
        if name not in answers
    )


def starter_document(asked: Beginning, file: str) -> Document:
    """What was written, for a script."""
    town = key_of(asked.town)
    return Document(
        "new",
        f"Wrote {file}",
        [],
        asked.system,
        facts={"town": Fact(town)},
        written=Written(file, [file]),
        ask_next=[
            Ask(f"hydroloop check {file}", "is it right, and what is assumed"),
            Ask(f"hydroloop run {file}", "the answer"),
            Ask(f"hydroloop glass {file} {town}", "one glass, with a picture"),
        ],
    )


def scenario_text(asked: Beginning) -> str:
    """A commented scenario file from what was answered, which reads without a problem."""
    people, upstream = _checked(asked)
    town, river = key_of(asked.town), key_of(asked.river)
    flow = asked.flow or suitable_flow(people + upstream, asked.system)
    length, up_in, up_out, take, give = _PLACES[asked.system]
    blocks = [
        _head(asked),
        _table(
            "season",
            "season",
            [f"start = {asked.start}", f"end = {asked.end}                 # itself included"],
            asked.system,
        ),
        _table(
            "weather",
            "weather",
            [
                "seed = 1                         # another seed makes another year",
                f"latitude = {quoted(asked.latitude)}",
            ],
            asked.system,
        ),
        _table(
            f"river.{_bare(river)}",
            "river.NAME",
            [
                *_name_line(river, asked.river),
                f"length = {quoted(length)}",
                f"inflow = {quoted(flow)}                # what enters at its head",
            ],
            asked.system,
        ),
    ]
    if upstream:
        name = f"upper_{town}"
        blocks.append(
            _town((name, f"Upper {asked.town}"), "", upstream, (river, up_in, up_out), asked.system)
        )
    blocks.append(_town((town, asked.town), "town.NAME", people, (river, take, give), asked.system))
    return "\n\n".join(blocks) + "\n"


def _shown(name: str) -> str:
    return place_words(name, NO_NAMES) if name == key_of(name) else " ".join(name.split())


def _name_line(key: str, name: str) -> list[str]:
    """A place's name, where its key does not say it."""
    shown = _shown(name)
    return [] if shown == key.replace("_", " ").title() else [f"name = {quoted(shown)}"]


def _head(asked: Beginning) -> str:
    town, river = _shown(asked.town), _shown(asked.river)
    river = f"the {river[4:] if river.lower().startswith('the ') else river}"
    return "\n".join(
        [
            "# A scenario for hydroloop. What stands behind a # is a comment; take the # away from "
            "a",
            "# key to use it. The values in such lines are the defaults, to three figures.",
            "# Quantities stand in quotes with their unit, American or metric; a range is allowed "
            "too:",
            '# "4.5 Mgal/day", "12 ML/day", "8 % to 14 %". More of any key: hydroloop explain KEY.',
            "",
            f"title = {quoted(f'{town} on {river}')}",
            "# about: a few words on the place, and where the numbers come from",
        ]
    )


def _table(heading: str, general: str, lines: list[str], system: System) -> str:
    return "\n".join([f"[{heading}]", *lines, *_offers(general, system)])


def _town(
    called: tuple[str, str],
    general: str,
    people: float,
    places: tuple[str, str, str],
    system: System,
) -> str:
    river, take, give = places
    name, shown = called
    lines = [
        *_name_line(name, shown),
        f"people = {people:.0f}",
        f"intake = {{ river = {quoted(river)}, at = {quoted(take)} }}    # below the head",
        f"outfall = {{ river = {quoted(river)}, at = {quoted(give)} }}    # treated wastewater",
    ]
    return _table(f"town.{_bare(name)}", general, lines, system)


def _offers(general: str, system: System) -> list[str]:
    """Keys with their defaults as comments, two lines each."""
    notes = {note.key: note for note in all_keys()}
    lines = []
    for key in _OFFERED.get(general, ()):
        note = notes[f"{general}.{key}"]
        usual = f"; usual {in_units(note.usual, note.key, system)}" if note.usual else ""
        value, shown = (
            _offered_value(note.default, note.takes),
            in_units(note.default, note.key, system),
        )
        if value and shown != note.default:
            is_zero = shown.startswith("0 ")
            value = quoted(shown)
            usual = usual if is_zero else f" (rounded from {note.default}){usual}"
        if value:
            lines.append(f"# {key} = {value}")
            lines += _comment(f"{note.meaning}{usual}")
        else:
            lines += _comment(
                f"{key}: {note.meaning}; without it: {note.default.removeprefix('none: ')}", "# "
            )
    return ["", *lines] if lines else []


def _offered_value(default: str, takes: str) -> str:
    """A default as it would be written; empty where it is worked out and not written."""
    if takes.split(",")[0] in ("a number", "a whole number"):
        return default
    if takes.startswith("a share") and default == "0":
        return quoted("0 %")
    words = default.split()
    if takes.startswith('"') or (words and words[0][:1].isdigit() and len(words) <= 2):
        return quoted(default)
    return ""


def _comment(words: str, first: str = "#     ") -> list[str]:
    return textwrap.wrap(words, 96, initial_indent=first, subsequent_indent="#     ")


def _bare(name: str) -> str:
    return name if name.isascii() else quoted(name)


def _checked(asked: Beginning) -> tuple[float, float]:
    """People in the town and above it, after every answer has been looked at."""
    problems: list[Problem] = []
    people = _read("--people", asked.people, "count", problems)
    upstream = _read("--upstream", asked.upstream, "count", problems)
    if people is not None and people < 1:
        problems.append(Problem("--people", "a town needs people.", "Write a number from 1 up."))
    if asked.flow and _read("--flow", asked.flow, "river_flow", problems) == 0.0:
        problems.append(
            Problem("--flow", "a river without water feeds no town.", 'Write for example "25 cfs".')
        )
    _read("--latitude", asked.latitude, "angle", problems)
    problems += [
        Problem(option, f"{units.quoted(text)} is no date.", "Write it as 2031-04-01.")
        for option, text in (("--start", asked.start), ("--end", asked.end))
        if not _is_date(text)
    ]
    names = {key_of(asked.town): "--town"}
    for option, name in (("--town", asked.town), ("--river", asked.river)):
        key = key_of(name)
        if not key[:1].isalpha() or len(key) > 30:
            problems.append(
                Problem(
                    option,
                    f"{units.quoted(name)} is no name that can be used.",
                    "Begin with a letter and write at most 30.",
                )
            )
        elif names.setdefault(key, option) != option:
            problems.append(
                Problem(
                    option,
                    f"{units.quoted(name)} is the town's name already.",
                    "Give each place a name of its own.",
                )
            )
    if problems:
        raise AskError(problems)
    assert people is not None
    assert upstream is not None
    return people, upstream


def _is_date(text: str) -> bool:
    try:
        return dt.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _read(option: str, text: str, dimension: str, problems: list[Problem]) -> float | None:
    try:
        return units.parse(text, dimension).value
    except InputError as error:
        problems += [Problem(option, problem.what, problem.cure) for problem in error.problems]
        return None


def answer_problem(name: str, text: str) -> str:
    """What is wrong with one answer (a field of `Beginning`), for asking again; empty if nothing
    is."""
    answer: dict[str, Any] = {name: text}
    try:
        _checked(Beginning(**answer))
    except AskError as error:
        return "; ".join(f"{problem.what} {problem.cure}" for problem in error.problems)
    return ""
