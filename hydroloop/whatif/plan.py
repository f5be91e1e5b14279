"""A plan: steps that somebody wants to take, each with its reason and its price in points."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from hydroloop import units
from hydroloop.errors import InputError, Problem, ScenarioError
from hydroloop.opening import file_bytes
from hydroloop.scenario import Scenario
from hydroloop.scenario.nearest import nearest, offer
from hydroloop.scenario.quantities import shown
from hydroloop.scenario.size import too_much
from hydroloop.scenario.toml_text import tables_of
from hydroloop.whatif.ready_made import READY_MADE, changes_of

PLAN_KEYS = {
    "title": "what the plan is called",
    "by": "whose it is",
    "about": "a few words on it",
    "points": "most points that its steps may cost together",
}
STEP_KEYS = {
    "what": "what is done",
    "why": "for what reason",
    "who": "by whom",
    "points": "what it costs; the points are the reader's own",
    "set": 'keys of the scenario with their new values: { "town.larkmill.people" = 30000 }',
    "scale": 'keys of the scenario with factors: { "river.wren.inflow" = 0.8 }',
    "measure": "name of a ready-made measure; its options stand beside it",
}
"""Keys of the table [plan], and of each [[step]], with their meaning."""
_LARGEST_BYTES, _MOST_STEPS, _MOST_CHANGES, _MOST_PLACED = 500_000, 200, 500, 200


@dataclass(frozen=True)
class Step:
    """One step of a plan."""

    # what is done, for what reason, and by whom
    what: str
    why: str = ""
    who: str = ""
    points: float = 0.0  # what it costs
    # values and factors by dotted key
    sets: Mapping[str, Any] = field(default_factory=dict)
    scales: Mapping[str, Any] = field(default_factory=dict)
    measure: str = ""  # name of a ready-made measure; empty if there is none
    options: Mapping[str, Any] = field(default_factory=dict)  # what the ready-made measure is told
    where: str = "plan"  # file and line, for messages
    number: int = 0  # its place in the file, from 1

    @property
    def called(self) -> str:
        """What messages call it: by what is done, or by its place."""
        return f'step "{self.what}"' if self.what else f"step {self.number}"

    def taken(self, scenario: Scenario) -> Scenario:
        """The scenario after this step, checked as a whole; problems name this step's file and
        line."""
        try:
            changes = changes_of(self.measure, self.options, scenario) if self.measure else {}
            self._check_once(changes)
            if changes:
                scenario = scenario.changed(changes)
            if self.scales:
                scenario = scenario.scaled(dict(self.scales))
            return scenario.changed(dict(self.sets)) if self.sets else scenario
        except InputError as error:
            raise ScenarioError([self._placed(problem) for problem in error.problems]) from error

    def _check_once(self, changes: Mapping[str, Any]) -> None:
        """Refuse a key that a step changes in two ways: which of them would come first?"""
        cure = "Leave one out, or make two steps of it."
        problems = [
            Problem("", f"is changed by {self.measure} already.", cure, key)
            for key in [*self.sets, *self.scales]
            if any(_meet(key, other) for other in changes)
        ]
        problems += [
            Problem("", "is both set and scaled.", cure, key)
            for key in self.scales
            if any(_meet(key, other) for other in self.sets)
        ]
        if problems:
            raise InputError(problems)

    def _placed(self, problem: Problem) -> Problem:
        return Problem(f"{self.where}: {self.called}", problem.what, problem.cure, problem.key)


@dataclass(frozen=True)
class Plan:
    """Steps in the order in which they are taken."""

    # what it is called, whose it is, what it is about
    title: str
    steps: tuple[Step, ...]  # in the order of the file
    by: str = ""
    about: str = ""
    budget: float | None = None  # most points that may be spent

    @property
    def points(self) -> float:
        """What all steps cost together."""
        return sum(step.points for step in self.steps)

    def taken(self, scenario: Scenario) -> Scenario:
        """The scenario after all steps, checked as a whole, or the problems of every step that
        fails."""
        problems: list[Problem] = []
        for step in self.steps:
            try:
                scenario = step.taken(scenario)
            except InputError as error:
                problems += error.problems
        if problems:
            raise ScenarioError(problems)
        return scenario


def read_plan(path: str | os.PathLike[str]) -> Plan:
    """Read a plan, a TOML file with a title and steps. Everything is checked at once, but for what
    depends on the scenario that the plan is taken to."""
    return read_plan_text(text_of(path), name=Path(path).name)


def text_of(path: str | os.PathLike[str]) -> str:
    """The text of a plan's file."""
    try:
        return file_bytes(path, _LARGEST_BYTES, "a plan").decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            Problem(str(path), "is not a text in UTF-8.", "Save it as UTF-8 text.")
        ) from None


def read_plan_text(text: str, *, name: str = "plan") -> Plan:
    """Read a plan from a TOML text, called `name` in messages."""
    plan, problems = plan_in(text, name)
    if problems:
        raise InputError(problems)
    return plan


def plan_in(
    text: str, name: str, measures: Collection[str] = READY_MADE
) -> tuple[Plan, list[Problem]]:
    """The plan of a TOML text, without steps whose changes cannot be read, and all that is wrong in
    it; refused where the text is no TOML. `measures` are those that are offered."""
    data = tables_of(text, name)
    if large := too_much(data):
        raise InputError([finding.problem(name) for finding in large])
    reading = _Reading(name, text, measures)
    return reading.plan(data), reading.problems


class _Reading:
    """Reads the tables of a plan and notes what is wrong."""

    def __init__(self, name: str, text: str, measures: Collection[str]):
        self.name, self.problems, self.measures = name, list[Problem](), measures
        self.lines = text.splitlines()
        self.heads = [
            number
            for number, line in enumerate(self.lines, 1)
            if re.match(r"\s*\[\[\s*step\s*\]\]", line)
        ]

    def plan(self, data: dict[str, Any]) -> Plan:
        for key in data:
            if key not in ("plan", "step"):
                self.wrong(0, key, "is no part of a plan.", "Write [plan] and [[step]].")
        head, steps = data.get("plan", {}), data.get("step", [])
        if not isinstance(head, dict):
            self.wrong(0, "plan", "is not a table.", "Write [plan], and its keys below.")
            head = {}
        for key in head:
            if key not in PLAN_KEYS:
                self.wrong(0, f"plan.{key}", "there is no such key.", offer(key, PLAN_KEYS))
        title = self.text(0, "plan.title", head.get("title"), needed=True)
        if not isinstance(steps, list) or not steps or not all(isinstance(s, dict) for s in steps):
            self.wrong(0, "step", "there is no step.", "Write [[step]] with what is done below.")
            steps = []
        if len(steps) > _MOST_STEPS:
            self.wrong(
                0, "step", f"there are {len(steps):,} steps.", f"Write at most {_MOST_STEPS}."
            )
            steps = []
        budget = None if "points" not in head else self.points(0, "plan.points", head["points"])
        plan = Plan(
            title,
            tuple(one for number, step in enumerate(steps, 1) if (one := self.step(number, step))),
            self.text(0, "plan.by", head.get("by", "")),
            self.text(0, "plan.about", head.get("about", "")),
            budget,
        )
        if budget is not None and plan.points > budget:
            self.wrong(
                0,
                "plan.points",
                f"the steps cost {plan.points:g} points together, which is more than {budget:g}.",
                "Leave a step out.",
            )
        return plan

    def step(self, number: int, given: dict[str, Any]) -> Step | None:
        """A step; None where what it changes cannot be read."""
        measure = given.get("measure", "")
        options = {key: value for key, value in given.items() if key not in STEP_KEYS}
        for key in () if measure else options:
            self.wrong(number, key, "there is no such key.", offer(key, STEP_KEYS))
        is_read = not measure or self.ready_made(number, measure, options)
        before = len(self.problems)
        tables = [self.table(number, name, given.get(name, {})) for name in ("set", "scale")]
        if not measure and not any(tables):
            self.wrong(
                number,
                "",
                "changes nothing.",
                "Name a measure, or write set = { ... } or scale = { ... }.",
            )
        is_read = is_read and len(self.problems) == before
        step = Step(
            self.text(number, "what", given.get("what"), needed=True),
            self.text(number, "why", given.get("why", "")),
            self.text(number, "who", given.get("who", "")),
            self.points(number, "points", given.get("points", 0)),
            tables[0],
            tables[1],
            str(measure),
            options,
            self.where(number),
            number,
        )
        return step if is_read else None

    def ready_made(self, number: int, measure: Any, options: dict[str, Any]) -> bool:
        """Whether the options of a ready-made measure can be read; those that it has not go."""
        known = READY_MADE.get(measure) if isinstance(measure, str) else None
        if known is None:
            self.wrong(
                number,
                "measure",
                f'there is no ready-made measure "{measure}".',
                offer(str(measure), self.measures),
            )
            return False
        is_read = True
        choices = [*known.options, *STEP_KEYS]
        for key in [key for key in options if key not in known.options]:
            del options[key]
            self.wrong(number, key, f"{measure} has no such option.", offer(key, choices))
            is_read = is_read and nearest(key, choices) in STEP_KEYS
        return is_read

    def table(self, number: int, name: str, given: Any) -> dict[str, Any]:
        if not isinstance(given, dict):
            self.wrong(number, name, "is not a table.", f'Write {name} = {{ "key" = value }}.')
            return {}
        pairs = list(_flat(given))
        if len(pairs) > _MOST_CHANGES:
            self.wrong(
                number,
                name,
                f"changes {len(pairs):,} keys.",
                f"Change at most {_MOST_CHANGES:,} in a step.",
            )
            return {}
        for key, times in Counter(key for key, _ in pairs).items():
            if times > 1:
                self.wrong(number, key, f"is there twice in {name}.", "Write it once.")
        return dict(pairs)

    def text(self, number: int, key: str, given: Any, *, needed: bool = False) -> str:
        if given is None and needed:
            self.wrong(number, key, "is missing.", "Write a line of text in quotes.")
        elif given is not None and (not isinstance(given, str) or (needed and not given.strip())):
            self.wrong(
                number, key, f"{shown(given)} is no text.", "Write a line of text in quotes."
            )
        return given.strip() if isinstance(given, str) else ""

    def points(self, number: int, key: str, given: Any) -> float:
        good = isinstance(given, int | float) and not isinstance(given, bool) and 0 <= given < 1e9
        if not good:
            self.wrong(
                number,
                key,
                f"{shown(given)} is no number of points.",
                "Write a number from 0 up, without quotes.",
            )
        return float(given) if good else 0.0

    def wrong(self, number: int, key: str, what: str, cure: str) -> None:
        if len(self.problems) >= _MOST_PLACED:
            key = ""  # to look for its line takes longer than anybody reads
        what, cure, key = (units.one_line(part, 200) for part in (what, cure, key))
        self.problems.append(Problem(self.where(number, key), what, cure, key))

    def where(self, number: int, key: str = "") -> str:
        """File and line of a key; of the head of its step if the key is not there."""
        begin = self.heads[number - 1] if 0 < number <= len(self.heads) else 0
        later = [head for head in self.heads if head > begin]
        end = later[0] - 1 if later else len(self.lines)
        word = re.escape(key.split(".")[-1])
        for line in range(begin, end) if key else ():
            if re.match(rf'\s*\[*"?{word}"?\s*[=\].]', self.lines[line]):
                return f"{self.name}:{line + 1}"
        return f"{self.name}:{begin}" if begin else self.name


def _meet(key: str, other: str) -> bool:
    """Whether two dotted keys name the same place; a star stands for every name."""
    pairs = [key.split("."), other.split(".")]
    return len(pairs[0]) == len(pairs[1]) and all(
        one == two or "*" in (one, two) for one, two in zip(*pairs, strict=True)
    )


def _flat(given: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    """Dotted keys of tables; a table under a key in quotes with dots is one value: a new town."""
    for key, value in given.items():
        if isinstance(value, dict) and value and "." not in key:
            yield from _flat(value, f"{above}{key}.")
        else:
            yield f"{above}{key}", value
