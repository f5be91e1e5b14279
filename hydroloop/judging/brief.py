"""The brief of a challenge: what may be changed, what it costs, and what shall be reached."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from hydroloop import units
from hydroloop.errors import InputError, Problem
from hydroloop.opening import file_bytes
from hydroloop.scenario import Scenario, read_scenario
from hydroloop.scenario.locate import line_numbers, line_of
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.quantities import read, shown
from hydroloop.scenario.size import too_much
from hydroloop.scenario.toml_text import tables_of
from hydroloop.whatif import READY_MADE, Step
from hydroloop.whatif.ready_made import changes_of

NAME = "brief.toml"
"""What the brief is called in the folder of a challenge."""
_LARGEST_BYTES, _MOST_POINTS = 500_000, 1e6

Measured = Literal["used_share", "shortage", "minimum_flow", "overflow", "capacity"]
Points = Annotated[float, Field(ge=0, le=_MOST_POINTS)]
_DIMENSION = {"used_share": "share", "shortage": "share", "overflow": "flow"}


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class _Head(_Table):
    title: Annotated[str, Field(min_length=1, max_length=200)]
    scenario: Annotated[str, Field(min_length=1)]
    points: Points
    about: str = ""


class _Drought(_Table):
    about: str = ""
    set: dict[str, Any] = {}
    scale: dict[str, float] = {}


class Allowed(_Table):
    """A change that teams may make: a ready-made measure or a key, its range and its price."""

    what: Annotated[str, Field(min_length=1, max_length=200)]
    measure: str = ""
    option: str = ""
    also: dict[str, Any] = {}
    key: str = ""
    least: str | float | int | None = None
    most: str | float | int | None = None
    towns: list[str] = []
    points: Points | Annotated[list[Points], Field(min_length=2, max_length=2)]

    @property
    def prices(self) -> tuple[float, float]:
        """Points at the least and at the most [-]."""
        if isinstance(self.points, list):
            return self.points[0], self.points[1]
        return self.points, self.points

    def towns_of(self, scenario: Scenario) -> list[str]:
        """Towns in which it may be made."""
        return self.towns or list(scenario.town)

    def keys_in(self, town: str) -> str:
        """Its key with the name of a town for the star."""
        return self.key.replace("town.*.", f"town.{town}.")

    def range_in(self, town: str, scenario: Scenario) -> tuple[dict[str, Any], dict[str, Any]]:
        """What it changes in a town at its least and at its most, by dotted key."""
        if self.key:
            return ({self.keys_in(town): self.least}, {self.keys_in(town): self.most})
        ends = ({} if not self.option else {self.option: end} for end in (self.least, self.most))
        low, high = (
            changes_of(self.measure, {**self.also, **end, "town": town}, scenario) for end in ends
        )
        return low, high


class Target(_Table):
    """What plans shall reach; the worst of its towns counts."""

    measure: Measured
    town: str = "*"
    at_most: str | float | int | None = None
    until: int | None = None
    during: Literal["season", "drought"] = "season"
    weight: Annotated[float, Field(gt=0, le=1000)] = 1.0
    what: Annotated[str, Field(max_length=200)] = ""

    @property
    def limit(self) -> float:
        """Greatest value that meets it: share [-], flow [m3/d], days [d]; the least year for
        capacity [a]."""
        if self.measure == "capacity":
            return float(self.until or 0)
        if self.at_most is None:
            return 0.0
        if self.measure == "minimum_flow":
            return float(self.at_most)
        return read(self.at_most, _DIMENSION[self.measure]).value

    def towns_of(self, scenario: Scenario) -> list[str]:
        """Towns that are looked at."""
        return list(scenario.town) if self.town == "*" else [self.town]

    def is_met(self, value: float) -> bool:
        """Whether a value reaches it."""
        if self.measure == "capacity":
            return value >= self.limit
        return value <= self.limit * (1.0 + 1e-9) + 1e-9


class _Brief(_Table):
    challenge: _Head
    drought: _Drought = _Drought()
    allow: Annotated[dict[str, Allowed], Field(min_length=1, max_length=100)]
    target: Annotated[dict[str, Target], Field(min_length=1, max_length=30)]


@dataclass(frozen=True, eq=False)
class Brief:
    """A challenge as the teacher wrote it."""

    # its heading, and a few words
    title: str
    about: str
    points: float  # most points that a plan may cost
    # the town as it is, in the season of its file and in the drought of the brief
    season: Scenario
    drought: Scenario
    drought_about: str  # what the drought is, in words
    # what may be changed, and what shall be reached, by name
    allow: Mapping[str, Allowed] = field(default_factory=dict)
    target: Mapping[str, Target] = field(default_factory=dict)
    source: str = NAME  # name of its file


def read_brief(path: Path) -> Brief:
    """Read a brief, with its scenario, and check all of it at once."""
    try:
        text = file_bytes(path, _LARGEST_BYTES, "a brief").decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            Problem(path.name, "is not a text in UTF-8.", "Save it as UTF-8 text.")
        ) from None
    data = tables_of(text, path.name)
    if large := too_much(data):
        raise InputError([finding.problem(path.name) for finding in large])
    reading = _Reading(path, text)
    return reading.brief(data)


class _Reading:
    """Notes what is wrong, at its line."""

    def __init__(self, path: Path, text: str):
        self.path, self.lines, self.problems = path, line_numbers(text), list[Problem]()

    def wrong(self, path: tuple[str | int, ...], what: str, cure: str) -> None:
        line = line_of(self.lines, path)
        where = f"{self.path.name}:{line}" if line else self.path.name
        self.problems.append(
            Problem(
                where,
                units.one_line(what, 300),
                units.one_line(cure, 300),
                ".".join(map(str, path)),
            )
        )

    def brief(self, data: dict[str, Any]) -> Brief:
        try:
            written = _Brief.model_validate(data)
        except ValidationError as error:
            found = error.errors()
            for one in found:
                self.wrong(*_sentence(one))
            self._rest(data, {one["loc"][:depth] for one in found for depth in (1, 2)})
            raise InputError(self.problems) from None
        season = self._scenario(written.challenge.scenario)
        drought = self._checked(season, written.drought, written.allow, written.target)
        if self.problems:
            raise InputError(self.problems)
        return Brief(
            written.challenge.title,
            written.challenge.about.strip(),
            written.challenge.points,
            season,
            drought,
            written.drought.about.strip(),
            written.allow,
            written.target,
            self.path.name,
        )

    def _rest(self, data: dict[str, Any], wrong: set[tuple[str | int, ...]]) -> None:
        """Check what a brief with wrong parts has beside them."""
        head = data.get("challenge")
        if not isinstance(head, dict) or not isinstance(head.get("scenario"), str):
            return
        try:
            season = self._scenario(head["scenario"])
        except InputError as error:
            self.problems += error.problems
            return
        kinds = {
            kind: {name: one for name, one in there.items() if (kind, name) not in wrong}
            for kind in ("allow", "target")
            if isinstance(there := data.get(kind), dict)
        }
        drought = {} if ("drought",) in wrong else data.get("drought", {})
        self._checked(
            season,
            _Drought.model_validate(drought),
            {name: Allowed.model_validate(one) for name, one in kinds.get("allow", {}).items()},
            {name: Target.model_validate(one) for name, one in kinds.get("target", {}).items()},
        )

    def _checked(
        self,
        season: Scenario,
        drought: _Drought,
        allow: Mapping[str, Allowed],
        target: Mapping[str, Target],
    ) -> Scenario:
        """Hold everything against the scenario; the scenario in the drought."""
        dry = self._drought(season, drought)
        for name, allowed in allow.items():
            self._allowed(("allow", name), allowed, season)
        for name, one in target.items():
            self._target(("target", name), one, season)
        return dry

    def _scenario(self, name: str) -> Scenario:
        beside = self.path.parent / name
        try:
            return read_scenario(beside if beside.is_file() else name)
        except InputError as error:
            where = line_of(self.lines, ("challenge", "scenario"))
            at = f"{self.path.name}:{where}: challenge.scenario: "
            raise InputError(
                [Problem(at + one.where, one.what, one.cure, one.key) for one in error.problems]
            ) from error

    def _drought(self, season: Scenario, drought: _Drought) -> Scenario:
        try:
            return Step(
                "the drought", sets=drought.set, scales=drought.scale, where=self.path.name
            ).taken(season)
        except InputError as error:
            for one in error.problems:
                self.wrong(
                    ("drought",), f"{one.key}: {one.what}" if one.key else one.what, one.cure
                )
            return season

    def _allowed(self, at: tuple[str, str], one: Allowed, season: Scenario) -> None:
        before = len(self.problems)
        if bool(one.measure) == bool(one.key):
            self.wrong(at, "must have one of measure and key.", "Write the one, not the other.")
        elif one.measure and one.measure not in READY_MADE:
            self.wrong(
                (*at, "measure"),
                f"there is no ready-made measure {shown(one.measure)}.",
                offer(one.measure, READY_MADE),
            )
        elif one.measure:
            options = [name for name in READY_MADE[one.measure].options if name != "town"]
            for name in [one.option] if one.option else []:
                if name not in options:
                    self.wrong(
                        (*at, "option"),
                        f"{one.measure} has no option {shown(name)}.",
                        offer(name, options),
                    )
        for town in one.towns:
            if town not in season.town:
                self.wrong(
                    (*at, "towns"), f"there is no town {shown(town)}.", offer(town, season.town)
                )
        if (one.key or one.option) and (one.least is None or one.most is None):
            self.wrong(at, "has no range.", "Write least and most.")
        if len(self.problems) > before:
            return
        for town in one.towns_of(season):
            try:
                for end in one.range_in(town, season):
                    season.changed(end)
            except InputError as error:
                for problem in error.problems:
                    self.wrong(
                        at,
                        f"cannot be made in {town}: {problem.what}",
                        problem.cure or "Change the range, or write towns = [...].",
                    )
                return

    def _target(self, at: tuple[str, str], one: Target, season: Scenario) -> None:
        if one.town != "*" and one.town not in season.town:
            self.wrong(
                (*at, "town"),
                f"there is no town {shown(one.town)}.",
                offer(one.town, [*season.town, "*"]),
            )
            return
        for problem in _limit_problems(one):
            self.wrong((*at, problem[0]), *problem[1:])
        towns = [season.town[name] for name in one.towns_of(season)]
        if one.measure == "minimum_flow" and not any(town.intake for town in towns):
            self.wrong(
                at,
                "nobody can meet it: no river intake is looked at.",
                "Name a town that takes from a river.",
            )
        if one.measure == "capacity" and one.until is not None:
            first = season.season.start.year
            last = first + round(min(town.growth.years for town in towns))
            if not first < one.until <= last:
                self.wrong(
                    (*at, "until"),
                    f"nobody can meet or miss it: {one.until} is not among "
                    f"the years that are looked at, {first + 1} to {last}.",
                    "Write one of them, or a longer town.NAME.growth.years.",
                )


def _limit_problems(one: Target) -> Iterator[tuple[str, str, str]]:
    if one.measure == "capacity":
        if one.until is None:
            yield "until", "is missing.", "Write the year that is to be reached: until = 2045."
        if one.at_most is not None:
            yield "at_most", "does not go with capacity.", "Write until, a year."
        return
    if one.until is not None:
        yield "until", f"does not go with {one.measure}.", "Write at_most."
    if one.measure == "used_share" and one.at_most is None:
        yield "at_most", "is missing.", 'Write for example at_most = "25 %".'
        return
    try:
        limit = one.limit
    except (InputError, ValueError) as error:
        told = (
            error.problems[0]
            if isinstance(error, InputError)
            else Problem("", f"{shown(one.at_most)} is no number of days.", "Write for example 5.")
        )
        yield "at_most", told.what, told.cure
        return
    if limit < 0.0:
        yield "at_most", "nobody can meet it: nothing is less than 0.", "Write 0 or more."
    if one.measure == "used_share" and limit >= 1.0:
        yield "at_most", "everybody meets it: no share is above 100 %.", "Write less."


def _sentence(error: Any) -> tuple[tuple[str | int, ...], str, str]:
    """A finding of the schema: its place, what is wrong, what to do."""
    kind, given = error["type"], shown(error["input"])
    path = tuple(
        word
        for word in error["loc"]
        if not (isinstance(word, str) and word.startswith(("constrained", "list[")))
    )
    path = tuple(word for word in path if word not in ("float", "int", "str"))
    if kind == "extra_forbidden":
        return path, "there is no such key.", offer(str(path[-1]), _keys_at(path[:-1]))
    if kind == "missing":
        return path, "is missing.", f"Write {_EXAMPLE.get(str(path[-1]), str(path[-1]) + ' = ...')}"
    if kind == "literal_error":
        return (
            path,
            f"{given} is not one of the choices.",
            offer(
                str(error["input"]),
                [
                    word.strip("'")
                    for word in error["ctx"]["expected"].replace(" or ", ", ").split(", ")
                ],
            ),
        )
    if kind in ("greater_than_equal", "greater_than", "less_than_equal"):
        return (
            path,
            f"{given} is out of bounds.",
            {
                "greater_than_equal": "Write 0 or more.",
                "greater_than": "Write more than 0.",
                "less_than_equal": "Write a smaller number.",
            }[kind],
        )
    if kind in ("too_short", "too_long", "string_too_short", "string_too_long"):
        return path, f"{given} is too short or too long.", "See the page on challenges."
    wanted = {
        "string_type": "text in quotes",
        "float_type": "a number without quotes",
        "int_type": "a whole number without quotes",
        "dict_type": "a table",
        "model_type": "a table",
        "list_type": "a list in square brackets",
        "finite_number": "a finite number",
    }.get(kind, "something else")
    return path, f"{given} stands where {wanted} is wanted.", f"Write {wanted}."


_EXAMPLE = {
    "title": 'title = "A drier summer"',
    "scenario": 'scenario = "five_towns"',
    "points": "points = 100",
    "challenge": "[challenge] with title, scenario and points.",
    "allow": "[allow.NAME] for each change that may be made.",
    "target": "[target.NAME] for each target.",
    "what": 'what = "Mend the mains"',
    "measure": 'measure = "used_share"',
}


def _keys_at(path: tuple[str | int, ...]) -> list[str]:
    tables: dict[str, type[_Table]] = {
        "challenge": _Head,
        "drought": _Drought,
        "allow": Allowed,
        "target": Target,
    }
    return list((tables[str(path[0])] if path else _Brief).model_fields)
