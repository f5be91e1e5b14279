"""Plans that teams handed in: read, checked and priced; a bad one never stops the others."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from hydroloop.errors import HydroloopError, InputError, Problem
from hydroloop.judging.brief import NAME, Brief
from hydroloop.judging.prices import Charge, charged
from hydroloop.scenario import Scenario
from hydroloop.units import one_line
from hydroloop.whatif import Plan, read_plan

_NUMBERED = re.compile(r"(.*?)[-_ .]*(\d{1,6})")
MOST_PLANS = 1000


@dataclass(frozen=True, eq=False)
class Attempt:
    """A plan that may be run."""

    # its file, and whose it is: the name of the file without the number at its end
    file: str
    team: str
    number: int  # first, second, ... of its team
    plan: Plan  # its steps
    charges: list[Charge]  # what it changes, with prices
    # the town with the plan
    season: Scenario
    drought: Scenario

    @property
    def points(self) -> float:
        """What it costs by the brief."""
        return sum(one.points for one in self.charges)

    @property
    def name(self) -> str:
        """Its team, as the plan names it, and which attempt it is."""
        return f"{self.called}, attempt {self.number}"

    @property
    def called(self) -> str:
        """Its team as the plan names it."""
        return one_line(self.plan.by, 60) or self.team


@dataclass(frozen=True)
class Refused:
    """A file that cannot be graded, and why."""

    file: str
    problems: tuple[Problem, ...]


def handed_in(brief: Brief, folder: Path) -> tuple[list[Attempt], list[Refused]]:
    """All plans of a folder: those that may be run, team by team, and those that may not."""
    try:
        there = sorted(folder.iterdir())
    except OSError as error:
        raise InputError(Problem(str(folder), f"cannot be read ({error.strerror}).",
                                 "Check the folder and its permissions.")) from error
    files = [path for path in there if path.suffix.lower() == ".toml" and path.name not in (
        NAME, brief.season.source.name) and not path.name.startswith(".")]
    refused = [Refused(one_line(path.name, 100), (_misnamed(path),))
               for path in there if _is_plan_as_text(path)]
    if not files and refused:
        raise InputError([problem for one in refused for problem in one.problems])
    if not files:
        raise InputError(Problem(str(folder), "holds no plans.", "Put one file a plan beside the "
                                 f"{NAME}: heron-1.toml, heron-2.toml, otter-1.toml."))
    if len(files) > MOST_PLANS:
        raise InputError(Problem(str(folder), f"holds {len(files):,} plans.",
                                 f"Grade at most {MOST_PLANS:,} at once."))
    attempts = list[tuple[int, Attempt]]()
    for path in files:
        try:
            attempts.append(_attempt(brief, path))
        except InputError as error:
            refused.append(Refused(one_line(path.name, 100), tuple(error.problems)))
        except (HydroloopError, OSError) as error:
            refused.append(Refused(one_line(path.name, 100),
                                   (Problem(one_line(path.name, 100), str(error)),)))
    return _numbered(attempts), refused


def _is_plan_as_text(path: Path) -> bool:
    """Whether a file is a plan that an editor saved as plain text."""
    if path.suffix.lower() != ".txt" or not path.is_file():
        return False
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            return "[[step]]" in file.read(10_000)
    except OSError:  # what cannot be read is nobody's plan, and stops no other
        return False


def _misnamed(path: Path) -> Problem:
    stem = one_line(path.stem, 90)
    return Problem(one_line(path.name, 100), "looks like a plan, but its name ends in .txt.",
                   f"Name it {stem if stem.endswith('.toml') else f'{stem}.toml'}.")


def _attempt(brief: Brief, path: Path) -> tuple[int, Attempt]:
    plan = read_plan(path)
    charges = charged(brief, plan)
    stem = one_line(path.stem, 60)
    match = _NUMBERED.fullmatch(stem)
    team, number = (match[1], int(match[2])) if match and match[1] else (stem, 1)
    season = plan.taken(brief.season)
    drought = plan.taken(brief.drought)
    return number, Attempt(one_line(path.name, 100), team, 0, plan, charges, season, drought)


def _numbered(found: list[tuple[int, Attempt]]) -> list[Attempt]:
    """Attempts of each team, in the order of the numbers in their files."""
    counts: dict[str, int] = {}
    told = []
    for _, one in sorted(found, key=lambda pair: (pair[1].team, pair[0], pair[1].file)):
        counts[one.team] = counts.get(one.team, 0) + 1
        told.append(replace(one, number=counts[one.team]))
    return told
