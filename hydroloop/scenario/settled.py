"""The scenario as all that follows takes it: complete, checked and held in the inner units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from hydroloop import units
from hydroloop.errors import Problem, ScenarioError
from hydroloop.scenario import locate
from hydroloop.scenario.built_for import DIMENSION, Works, holding, works
from hydroloop.scenario.changing import applied, scaled_values, with_unit, with_value
from hydroloop.scenario.checks import cross_checks
from hydroloop.scenario.checks_river import aquifer_land_checks
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.messages import findings_of
from hydroloop.scenario.plausible import unusual
from hydroloop.scenario.quantities import ends_of, is_plain
from hydroloop.scenario.renumbering import renumbered
from hydroloop.scenario.schema import ScenarioFile, Season, Weather
from hydroloop.scenario.schema_dry import DrySeason
from hydroloop.scenario.schema_quality import Quality
from hydroloop.scenario.schema_river import Aquifer, Reservoir, River
from hydroloop.scenario.schema_stage import Stage
from hydroloop.scenario.schema_town import Town
from hydroloop.scenario.size import too_much
from hydroloop.scenario.tree import Path as KeyPath
from hydroloop.scenario.tree import dotted, find, leaves
from hydroloop.scenario.writing import edited


@dataclass(frozen=True)
class Source:
    """Where a scenario came from, so that messages can point at it."""

    text: str  # the TOML text as read
    folder: Path  # where its CSV files lie
    path: Path | None = None  # the file, if there is one
    # what has been set since, by path; None takes a key out
    changes: Mapping[KeyPath, Any] = field(default_factory=dict)
    # what works are held at that the file does not size, by path
    built_for: Works = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Name of the file, for messages."""
        return self.path.name if self.path else "scenario"

    @cached_property
    def _lines(self) -> dict[KeyPath, int]:
        return locate.line_numbers(self.text)

    def problems(self, findings: Iterable[Finding]) -> list[Problem]:
        """Findings with file and line, in the order of the file; changes come first."""
        placed = [(self._line(finding.path), finding) for finding in findings]
        placed.sort(key=lambda pair: pair[0])
        return [finding.problem(self._where(line)) for line, finding in placed]

    def _line(self, path: KeyPath) -> int:
        if any(path[: len(changed)] == changed for changed in self.changes):
            return -1
        return locate.line_of(self._lines, path)

    def _where(self, line: int) -> str:
        if line < 0:
            return "change"
        return f"{self.name}:{line}" if line else self.name


@dataclass(frozen=True, eq=False)
class Scenario:
    """A complete, checked scenario.

    Nothing in it is changed in place; `changed` and `scaled` give a new one.

    Attributes
    ----------
    title, about : str
        What it is called and what it is about.
    season : Season
        Days that are run.
    weather : Weather
        Where the weather comes from.
    river, reservoir, aquifer, town : dict
        Its places, by name; numbers are held in the inner units.
    given : frozenset of str
        Dotted keys that the user wrote; all others are defaults.
    ranges : dict
        Low and high of every key that was written as a range, in the held unit.
    warnings : tuple of Problem
        Values that are allowed but unusual.
    folder, path : pathlib.Path
        Where its CSV files lie, and the file itself (None if it was never one).
    """

    model: ScenarioFile
    source: Source
    data: dict[str, Any]
    read: ScenarioFile  # the model as the data have it, works not held
    asked: frozenset[KeyPath]  # paths of the keys whose values cross-checks look at

    @property
    def title(self) -> str:
        """One line that stands on every page."""
        return self.model.title

    @property
    def about(self) -> str:
        """A few words on the place."""
        return self.model.about

    @property
    def season(self) -> Season:
        """The days that are run."""
        return self.model.season

    @property
    def weather(self) -> Weather:
        """Where rain and temperature come from."""
        return self.model.weather

    @property
    def dry_season(self) -> DrySeason | None:
        """How the season is made dry; None if it is not."""
        return self.model.dry_season

    @property
    def river(self) -> dict[str, River]:
        """Rivers by name."""
        return self.model.river

    @property
    def reservoir(self) -> dict[str, Reservoir]:
        """Reservoirs by name."""
        return self.model.reservoir

    @property
    def aquifer(self) -> dict[str, Aquifer]:
        """Shared aquifers by name."""
        return self.model.aquifer

    @property
    def stage(self) -> dict[str, Stage]:
        """Drought stages by name."""
        return self.model.stage

    @property
    def quality(self) -> Quality:
        """Materials in the water."""
        return self.model.quality

    @property
    def town(self) -> dict[str, Town]:
        """Towns by name."""
        return self.model.town

    @property
    def folder(self) -> Path:
        """Folder in which CSV files are looked for."""
        return self.source.folder

    @property
    def path(self) -> Path | None:
        """The scenario file; None if it was never one."""
        return self.source.path

    # Not worked out before they are asked for: the members of many runs are never asked.
    @cached_property
    def given(self) -> frozenset[str]:
        """Dotted keys that the user wrote; all others are defaults."""
        return frozenset(dotted(path) for path, _ in leaves(self.data))

    @cached_property
    def names(self) -> dict[str, str]:
        """Names that are given to places, by key."""
        return self.model.names

    @cached_property
    def ranges(self) -> dict[str, tuple[float, float]]:
        """Low and high of every key that was written as a range, in the held unit."""
        return dict(_ranges(leaves(self.data)))

    @cached_property
    def warnings(self) -> tuple[Problem, ...]:
        """Values that are allowed but unusual."""
        draft = Draft(self.data, self.source.folder)
        return tuple(self.source.problems(unusual(draft, leaves(self.data))))

    @cached_property
    def text(self) -> str:
        """The scenario as TOML, comments kept, changes written in."""
        held, data = {}, self.data
        for path in self.held:
            held[path] = with_unit(self.works[path], DIMENSION[str(path[2]), str(path[3])])
            data = with_value(data, path, held[path])
        return edited(self.source.text, {**self.source.changes, **held}, data)

    @cached_property
    def works(self) -> dict[KeyPath, float]:
        """What the works of towns are built for, by path: demand, sewage [m3/d], area [km2]."""
        return works(self.model)

    @cached_property
    def held(self) -> tuple[KeyPath, ...]:
        """Paths of works that are held as the file has them, where changes would resize them."""
        own = works(self.read)
        return tuple(path for path, size in self.works.items() if size != own[path])

    def to_toml(self) -> str:
        """Write the scenario as TOML.

        Returns
        -------
        str
            The text as read, with its comments, and with every change written in.
        """
        return self.text

    def changed(self, changes: Mapping[str, Any]) -> Scenario:
        """A new scenario in which some keys have other values.

        Parameters
        ----------
        changes : mapping
            Values by dotted key, as they would stand in the file, or plain numbers in the held
            unit. ``*`` in place of a name means all of them; None takes a key out.

        Returns
        -------
        Scenario
            Checked as a whole.

        Raises
        ------
        ScenarioError
            With every problem that the changes bring.
        """
        return self._with(*applied(self.data, changes))

    def scaled(self, factors: Mapping[str, float]) -> Scenario:
        """A new scenario in which some keys are multiplied.

        Parameters
        ----------
        factors : mapping
            Factor by dotted key [-]; ``*`` in place of a name means all of them.

        Returns
        -------
        Scenario
            Checked as a whole.

        Raises
        ------
        ScenarioError
            A key has no number to scale, or the result is wrong.
        """
        changes, findings = scaled_values(self, factors)
        if findings:
            raise ScenarioError([finding.problem("change") for finding in findings])
        return self.changed(changes)

    def _with(
        self, data: dict[str, Any], changes: dict[KeyPath, Any], findings: list[Finding]
    ) -> Scenario:
        refused = {finding.path: None for finding in findings}
        before = {
            path: value for path, value in self.source.changes.items() if path not in changes
        }  # what is set again comes last, in its turn
        source = Source(
            self.source.text,
            self.source.folder,
            self.source.path,
            {**before, **changes, **refused},
            self._works_left(changes),
        )
        read = None
        if not findings:
            read = renumbered(self.read, (self.data, data), changes, self.asked)
        if read is not None:
            model = holding(read, source.built_for)
            if not any(aquifer_land_checks(model)):
                return Scenario(model, source, data, read, self.asked)
        return settle(data, source, findings)

    def _works_left(self, changes: Mapping[KeyPath, Any]) -> Works:
        """Works that changes do not touch: they stay as they are, whoever comes to live there."""
        return {
            path: size
            for path, size in self.works.items()
            if not any(path[: len(changed)] == changed for changed in changes)
        }


def settle(data: dict[str, Any], source: Source, findings: Iterable[Finding] = ()) -> Scenario:
    """Check a scenario as a whole and complete it with its defaults."""
    found = list(findings)
    if large := too_much(data):
        raise ScenarioError(source.problems([*found, *large]))
    read = None
    try:
        read = ScenarioFile.model_validate(data)
    except ValidationError as error:
        found += findings_of(error.errors(include_url=False), data)
    draft = Draft(data, source.folder, (finding.path for finding in found))
    found += cross_checks(draft)
    if read is not None:
        # Works can be worked out only from numbers that are within their bounds.
        model = read if found else holding(read, source.built_for)
        found += aquifer_land_checks(model)
    if found or read is None:
        raise ScenarioError(source.problems(found))
    return Scenario(model, source, data, read, frozenset(draft.asked))


def _ranges(given: Iterable[tuple[KeyPath, Any]]) -> Iterable[tuple[str, tuple[float, float]]]:
    """Ends of every value that was written as a range."""
    for path, value in given:
        members = enumerate(value) if isinstance(value, list) else [(None, value)]
        for place, member in members:
            if not isinstance(member, str) or not (" to " in member or "–" in member):
                continue
            here = find(path)
            if here and is_plain(here.field):
                yield dotted(path), ends_of(member) or (0.0, 0.0)
            elif here and here.dimension:
                full = path if place is None else (*path, place)
                read = units.parse(member, here.dimension)
                yield dotted(full), (read.low, read.high)
