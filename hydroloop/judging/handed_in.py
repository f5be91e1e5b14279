"""Plans that teams handed in: read, checked and priced; a bad one never stops the others."""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from hydroloop.errors import HydroloopError, InputError, Problem
from hydroloop.judging.brief import NAME, Brief
from hydroloop.judging.prices import Charge, charged
from hydroloop.scenario import Scenario
from hydroloop.units import one_line
from hydroloop.whatif import Plan
from hydroloop.whatif.plan import plan_in, text_of

_NUMBERED = re.compile(r"(.*[^-_ .])[-_ .]+(\d{1,6})")
_LONGEST_STEM = 60  # letters of the name of a team and its attempt
_OTHER_ENDINGS = ("", ".txt", ".text", ".rtf", ".md", ".tml")
_UNSEEN = (
    "other mistakes can be seen only after that.",
    "Mend it, then have it graded again.",
)
MOST_PLANS = 1000


@dataclass(frozen=True, eq=False)
class Attempt:
    """A plan that may be run."""

    # its file, and whose it is: the name of the file before the hyphen and the number
    file: str
    team: str
    number: int  # first, second, ... of its team, as its file says
    plan: Plan  # its steps
    charges: list[Charge]  # what it changes, with prices
    # the town with the plan
    season: Scenario
    drought: Scenario
    is_like_another: bool = False  # whether another team's plan says the same team and attempt

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
        """Its team as the plan names it, with its file where that does not tell it apart."""
        named = one_line(self.plan.by, 60) or self.team
        return f"{named} ({self.file})" if self.is_like_another else named


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
        raise InputError(
            Problem(
                str(folder),
                f"cannot be read ({error.strerror}).",
                "Check the folder and its permissions.",
            )
        ) from error
    files = [
        path
        for path in there
        if path.suffix.lower() == ".toml"
        and path.name not in (NAME, brief.season.source.name)
        and not path.name.startswith(".")
    ]
    refused = [
        Refused(one_line(path.name, 100), (_misnamed(path),))
        for path in there
        if _is_plan_as_text(path)
    ]
    if not files and refused:
        raise InputError([problem for one in refused for problem in one.problems])
    if not files:
        raise InputError(
            Problem(
                str(folder),
                "holds no plans.",
                f"Put one file a plan beside the {NAME}: heron-1.toml, heron-2.toml, otter-1.toml.",
            )
        )
    if len(files) > MOST_PLANS:
        raise InputError(
            Problem(
                str(folder),
                f"holds {len(files):,} plans.",
                f"Grade at most {MOST_PLANS:,} at once.",
            )
        )
    attempts = list[Attempt]()
    for path in files:
        try:
            attempts.append(_attempt(brief, path))
        except InputError as error:
            refused.append(Refused(one_line(path.name, 100), tuple(error.problems)))
        except (HydroloopError, OSError) as error:
            refused.append(
                Refused(one_line(path.name, 100), (Problem(one_line(path.name, 100), str(error)),))
            )
    kept, twice = _in_order(attempts)
    return kept, [*refused, *twice]


def _is_plan_as_text(path: Path) -> bool:
    """Whether a file is a plan that an editor gave another ending, or none."""
    if path.suffix.lower() not in _OTHER_ENDINGS or not path.is_file():
        return False
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            return "[[step]]" in file.read(10_000)
    except OSError:  # what cannot be read is nobody's plan, and stops no other
        return False


def _misnamed(path: Path) -> Problem:
    stem = one_line(path.stem, 90)
    return Problem(
        one_line(path.name, 100),
        "looks like a plan, but does not end in .toml.",
        f"Name it {stem if stem.endswith('.toml') else f'{stem}.toml'}.",
    )


def _attempt(brief: Brief, path: Path) -> Attempt:
    name = one_line(path.name, 100)
    text = text_of(path)
    allowed = list(dict.fromkeys(one.measure for one in brief.allow.values() if one.measure))
    try:
        plan, problems = plan_in(text, path.name, allowed)
    except InputError as error:  # nothing of it can be read before these are mended
        raise InputError([*error.problems, Problem(path.name, *_UNSEEN)]) from None
    try:
        charges = charged(brief, plan)
    except InputError as error:
        problems = sorted([*problems, *error.problems], key=_line)
    if problems:
        raise InputError(problems)
    team, number = team_and_number(path.stem)
    return Attempt(
        name, team, number, plan, charges, plan.taken(brief.season), plan.taken(brief.drought)
    )


def _line(problem: Problem) -> int:
    """The line that a problem is in; those of no line come last."""
    found = re.search(r":(\d+)(?::|$)", problem.where)
    return int(found[1]) if found else sys.maxsize


def team_and_number(stem: str) -> tuple[str, int]:
    """Whose plan a file is, and which attempt, by its name without the ending: what stands before
    the last hyphen, and the number behind it; without both, the first of the whole name. Small
    letters and capitals are the same.

    Examples
    --------
    >>> team_and_number("Heron-2"), team_and_number("room 7 otter"), team_and_number("Falcon2")
    (('heron', 2), ('room 7 otter', 1), ('falcon2', 1))
    """
    if match := _numbered(stem):
        return match[1].casefold(), int(match[2])
    return one_line(stem, _LONGEST_STEM).casefold(), 1


def _numbered(stem: str) -> re.Match[str] | None:
    return _NUMBERED.fullmatch(one_line(stem, _LONGEST_STEM))


def _in_order(found: list[Attempt]) -> tuple[list[Attempt], list[Refused]]:
    """Attempts team by team by their numbers; of two of one number the first file counts."""
    kept: dict[tuple[str, int], Attempt] = {}
    twice = []
    for one in found:
        other = kept.setdefault((one.team, one.number), one)
        if other is not one:
            twice.append(
                Refused(
                    one.file,
                    (
                        Problem(
                            one.file,
                            f"is attempt {one.number} of team {one.team}, as {other.file} is.",
                            f"Give it another number: {one.team}-{one.number + 1}.toml.",
                        ),
                    ),
                )
            )
    names = Counter(one.name for one in kept.values())
    return [
        replace(kept[key], is_like_another=names[kept[key].name] > 1) for key in sorted(kept)
    ], twice


def unnumbered(attempts: Sequence[Attempt]) -> list[Attempt]:
    """Attempts whose file has a number, but none behind a hyphen at its end: each counts as the
    first of a team of its own."""
    return [
        one for one in attempts if re.search(r"\d", one.team) and not _numbered(Path(one.file).stem)
    ]
