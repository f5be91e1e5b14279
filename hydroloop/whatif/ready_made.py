"""Ready-made measures of a plan: what each changes in a scenario."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from hydroloop import units
from hydroloop.errors import InputError, Problem
from hydroloop.scenario import Scenario
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.sizes import town_sizes

Changes = dict[str, Any]
_MOST_TIMES = 100
_PLAIN = re.compile(r"\d+(\.\d*)?")


@dataclass(frozen=True)
class ReadyMade:
    """A ready-made measure."""

    meaning: str  # what it does, in a line
    options: Mapping[str, str]  # what it may be told, with the meaning of each
    # takes a town, its name and the options; returns the changes
    act: Callable[[Town, str, _Options], Changes]


class _Options:
    """What a step tells a ready-made measure, read into the held units; what cannot be read is
    noted, and is nan."""

    def __init__(self, measure: str, given: Mapping[str, Any]):
        self.measure, self.given, self.problems = measure, given, list[Problem]()

    def share(self, key: str, default: str | None = None) -> float:
        return self.number(key, "share", default)

    def more(self, key: str) -> float:
        """How much more, as a share of what there is; in percent it may pass the whole."""
        text = str(self.given.get(key, "")).strip()
        number = text.removesuffix("%").rstrip()
        size = float(number) if _PLAIN.fullmatch(number) else 0.0
        if number == text and size > 1.0:  # is 50 half as much more, or fifty times as much?
            return self.noted(
                key,
                f"{text} is more than the whole, and has no percent sign.",
                'Write for example "150 %".',
            )
        if size > 100.0 * _MOST_TIMES:
            return self.noted(
                key,
                f"{text} is more than {_MOST_TIMES} times what there is.",
                'Write for example "150 %".',
            )
        return size / 100.0 if size > 100.0 else self.share(key)

    def number(self, key: str, dimension: str, default: str | None = None) -> float:
        given = self.given.get(key, default)
        if given is None:
            sample = units.DIMENSIONS[dimension].examples[0]
            return self.noted(key, "is missing.", f'Write for example {key} = "{sample}".')
        if isinstance(given, bool):
            return self.noted(key, "is not a quantity.", "Write a number with its unit.")
        try:
            read = units.parse(str(given), dimension)
        except InputError as error:
            return self.noted(key, error.problems[0].what, error.problems[0].cure)
        if read.low != read.high:
            return self.noted(key, "is a range.", "A plan needs one value.")
        if read.value < 0.0:
            return self.noted(key, f"{given} is less than nothing.", "Write 0 or more.")
        return read.value

    def word(self, key: str, choices: tuple[str, ...]) -> str:
        given = str(self.given.get(key, choices[0]))
        if given not in choices:
            self.noted(key, f'"{given}" is not possible.', offer(given, choices))
            return choices[0]
        return given

    def has(self, key: str) -> bool:
        return key in self.given

    def one_of(self, key: str, other: str) -> None:
        if self.has(key) and self.has(other):
            self.noted(other, f"cannot stand beside {key}.", "Write one of the two.")

    def noted(self, key: str, what: str, cure: str) -> float:
        self.problems.append(Problem(self.measure, what, cure, key))
        return math.nan

    def wrong(self, key: str, what: str, cure: str) -> InputError:
        """What does not fit one town."""
        return InputError(Problem(self.measure, what, cure, key))


def changes_of(measure: str, options: Mapping[str, Any], scenario: Scenario) -> Changes:
    """What a ready-made measure changes, by dotted key in held units; the option `town` is a name,
    a list of names, or "*" for all. Refused with all that is wrong in the options."""
    if measure not in READY_MADE:
        what = f'there is no ready-made measure "{measure}".'
        raise InputError(Problem("measure", what, offer(measure, READY_MADE)))
    ready = READY_MADE[measure]
    given = _Options(measure, {key: value for key, value in options.items() if key != "town"})
    names, problems = _towns(measure, options.get("town"), scenario)
    changes: Changes = {}
    for name in names or list(scenario.town)[:1]:
        try:
            own = ready.act(scenario.town[name], name, given)
        except InputError as error:
            problems += error.problems if names else []
            continue
        changes |= {f"town.{name}.{key}": value for key, value in own.items()}
    if problems or given.problems:
        raise InputError(list(dict.fromkeys([*problems, *given.problems])))
    return changes


def _towns(measure: str, given: Any, scenario: Scenario) -> tuple[list[str], list[Problem]]:
    """The towns that are named, and what is wrong with their names."""
    names = list(scenario.town)
    if given is None:
        if len(names) == 1:
            return names, []
        return [], [
            Problem(
                measure,
                "is missing.",
                f'Write for example town = "{names[0]}", or "*" for all.',
                "town",
            )
        ]
    if given == "*":
        return names, []
    asked = [str(name) for name in given] if isinstance(given, list) else [str(given)]
    problems = [
        Problem(measure, f'there is no town "{name}".', offer(name, names), "town")
        for name in asked
        if name not in names
    ]
    if not asked:
        problems = [Problem(measure, "names no town.", "Name one.", "town")]
    return [name for name in asked if name in names], problems


def _repair_leaks(town: Town, _: str, told: _Options) -> Changes:
    told.one_of("by", "to")
    if told.has("by"):
        return {"mains.real_losses": town.mains.real_losses * (1.0 - told.share("by"))}
    goal = told.share("to")
    if goal > town.mains.real_losses:
        now = 100.0 * town.mains.real_losses
        raise told.wrong(
            "to",
            f"{100.0 * goal:.3g} % is more than the {now:.3g} % that are lost now.",
            "Write a lower share.",
        )
    return {"mains.real_losses": goal}


def _efficient_fixtures(town: Town, _: str, told: _Options) -> Changes:
    saved = told.share("saving", "20 %") * told.share("homes", "100 %")
    return {"homes.use_per_person": town.homes.use_per_person * (1.0 - saved)}


def _yard_rules(town: Town, _: str, told: _Options) -> Changes:
    return {"yards.area_per_person": town.yards.area_per_person * (1.0 - told.share("cut"))}


def _storage_tank(town: Town, _: str, told: _Options) -> Changes:
    return {"tanks.volume": town_sizes(town).tanks_volume + told.number("volume", "volume")}


def _reuse_route(town: Town, _: str, told: _Options) -> Changes:
    route = told.word("to", ("yards", "groundwater", "plant", "reservoir"))
    more = {"reuse.into": told.given["into"]} if told.has("into") else {}
    return {f"reuse.{route}": getattr(town.reuse, route) + told.number("flow", "flow"), **more}


def _bigger_intake(town: Town, name: str, told: _Options) -> Changes:
    if town.intake is None:
        raise told.wrong("town", f"{name} has no intake.", "Name a town that has one.")
    now, more = town_sizes(town), 1.0 + told.more("by")
    return {"intake.capacity": now.intake_limit * more, "plant.capacity": now.plant_capacity * more}


def _disconnect_pavement(town: Town, _: str, told: _Options) -> Changes:
    return {"sewers.storm_share": town_sizes(town).storm_share * (1.0 - told.share("share"))}


def _recharge(town: Town, _: str, told: _Options) -> Changes:
    return {"reuse.groundwater": town.reuse.groundwater + told.number("flow", "flow")}


def _growth(town: Town, _: str, told: _Options) -> Changes:
    told.one_of("people", "by")
    people = (
        told.number("people", "count")
        if told.has("people")
        else town.people * (1.0 + told.more("by"))
    )
    if told.word("works", ("stay", "grow")) == "stay":
        return {"people": people}
    # What is taken out is worked out anew; an area that the file gives stays.
    land = {"land.area": None} if town.land.area is None else {}
    return {"people": people, "built_for": None, **land}


_TOWN = {"town": 'name of the town, a list of names, or "*" for all'}

READY_MADE = {
    "repair_leaks": ReadyMade(
        "mends mains, so that less is lost",
        {**_TOWN, "to": "share still lost afterwards", "by": "share of the losses that is mended"},
        _repair_leaks,
    ),
    "efficient_fixtures": ReadyMade(
        "better toilets, showers and machines: less water used in homes",
        {
            **_TOWN,
            "saving": "share of indoor use saved in a home that changes (20 %)",
            "homes": "share of homes that change (100 %)",
        },
        _efficient_fixtures,
    ),
    "yard_rules": ReadyMade(
        "less watered yard for each person",
        {**_TOWN, "cut": "share of the watered area given up"},
        _yard_rules,
    ),
    "storage_tank": ReadyMade(
        "one more tank for treated water",
        {**_TOWN, "volume": "volume of the new tank"},
        _storage_tank,
    ),
    "reuse_route": ReadyMade(
        "treated wastewater is used again before it reaches the river",
        {
            **_TOWN,
            "to": "yards, groundwater, plant or reservoir",
            "flow": "most that is led there",
            "into": "name of the reservoir",
        },
        _reuse_route,
    ),
    "bigger_intake": ReadyMade(
        "a larger intake, and a plant that can treat what it takes",
        {**_TOWN, "by": "how much larger, as a share of what it is now"},
        _bigger_intake,
    ),
    "disconnect_pavement": ReadyMade(
        "street and roof rain no longer runs into the sewers",
        {**_TOWN, "share": "share of what runs in now that no longer does"},
        _disconnect_pavement,
    ),
    "recharge": ReadyMade(
        "treated wastewater seeps into the ground instead of running down the river",
        {**_TOWN, "flow": "most that is led into the ground"},
        _recharge,
    ),
    "growth": ReadyMade(
        "more people come to live there",
        {
            **_TOWN,
            "by": "how many more, as a share of the people now",
            "people": "people then",
            "works": "stay as they are now, or grow with the people (stay)",
        },
        _growth,
    ),
}
"""Ready-made measures by name."""
