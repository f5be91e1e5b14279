"""Grading: every plan is run, compared with the targets, and compared with its team's last."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hydroloop.charts.words import place_words
from hydroloop.errors import HydroloopError, Problem, WorkerError
from hydroloop.judging.brief import Brief, Target
from hydroloop.judging.handed_in import Attempt, Refused
from hydroloop.judging.prices import Charge
from hydroloop.placenames import Names
from hydroloop.processes import as_done, worker_processes
from hydroloop.scenario import Scenario
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.waterworks import simulate
from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif import Change, Comparison, compare, season_table

_BLOCK = 8  # plans that are run side by side
_MOST_APART = 5  # changes of a team that are told apart town by town; 32 runs
_FEW = 4  # pieces of work that are done here, as to begin a process takes longer
_TABLE = {
    "used_share": "season_used_share",
    "minimum_flow": "days_under_minimum_flow",
    "overflow": "mean_overflowed",
}

Told = Callable[[int, int], None]
Work = Callable[[], Any]
"""Called with pieces of work done, and in all."""


@dataclass(frozen=True, eq=False)
class Graded:
    """What became of one plan."""

    attempt: Attempt | None  # the plan; None for the town as it is
    # worst value of each target's towns: share [-], flow [m3/d], days [d], year [a]
    values: Mapping[str, float]
    met: Mapping[str, bool]  # whether each target is met
    score: float  # weights of the targets that are met, as a share of all weights [-]

    @property
    def points(self) -> float:
        """What it costs [-]."""
        return self.attempt.points if self.attempt else 0.0


@dataclass(frozen=True, eq=False)
class Redesign:
    """What a team changed from one attempt to its next, and what that did."""

    before: Graded
    after: Graded
    changes: tuple[str, ...]
    found: Comparison | None


@dataclass(frozen=True, eq=False)
class Board:
    """All plans of a challenge, graded."""

    brief: Brief  # what was asked
    as_it_is: Graded  # the town without any plan
    graded: list[Graded]  # best first: by score, then by points, then by name
    redesigns: list[Redesign]  # for each team with several attempts, one for each next one
    refused: list[Refused]  # files that were not graded

    @cached_property
    def front(self) -> list[Graded]:
        """Best trade-offs: no other plan meets as much for fewer points, or more for as many."""
        everybody = [self.as_it_is, *self.graded]
        best = [one for one in everybody if not any(_beats(other, one) for other in everybody)]
        return sorted(best, key=lambda one: (one.points, one.score))

    @property
    def never_met(self) -> list[str]:
        """Targets that no plan meets."""
        return [
            name
            for name in self.brief.target
            if not any(one.met[name] for one in [self.as_it_is, *self.graded])
        ]


def _beats(other: Graded, one: Graded) -> bool:
    no_worse = other.score >= one.score - 1e-12 and other.points <= one.points + 1e-9
    return no_worse and (other.score > one.score + 1e-12 or other.points < one.points - 1e-9)


def grade(
    brief: Brief,
    attempts: Sequence[Attempt],
    refused: Sequence[Refused] = (),
    *,
    workers: int = 1,
    told: Told | None = None,
) -> Board:
    """Run all plans of a challenge (from `handed_in`) and compare them with its targets; plans that
    come to the same scenario are run once. `told` is called with pieces of work done, and in
    all."""
    runs = {
        "season": _distinct([brief.season, *(one.season for one in attempts)]),
        "drought": _distinct([brief.drought, *(one.drought for one in attempts)]),
    }
    needed = {one.during for one in brief.target.values() if one.measure != "capacity"}
    aged = {
        name
        for one in brief.target.values()
        if one.measure == "capacity"
        for name in one.towns_of(brief.season)
    }
    pairs = [
        (one, other, _changes(brief, one, other))
        for one, other in pairwise(attempts)
        if one.team == other.team
    ]
    work: dict[Any, Work] = {}
    for during, scenarios in runs.items():
        keys = list(scenarios)
        for begin in range(0, len(keys), _BLOCK) if during in needed else ():
            part = keys[begin : begin + _BLOCK]
            work[during, tuple(part)] = partial(_seasons, [scenarios[key] for key in part])
    for key, scenario in runs["season"].items() if aged else ():
        work["capacity", key] = partial(_last_years, scenario, sorted(aged))
    dry = "drought" in needed
    for place, (one, _, changes) in enumerate(pairs):
        if changes:
            work["split", place] = partial(_split, one.drought if dry else one.season, changes)
    done = dict(_done(work, workers, told))
    found: dict[tuple[str, Any], Any] = {}
    for key, outcome in done.items():
        if key[0] in runs:
            found |= {(key[0], one): value for one, value in zip(key[1], outcome, strict=True)}
        else:
            found[key] = outcome
    as_it_is = _graded(brief, None, found)
    if isinstance(as_it_is, Refused):
        raise HydroloopError("; ".join(map(str, as_it_is.problems)))
    all_of = [_graded(brief, one, found) for one in attempts]
    good = {one.attempt.file: one for one in all_of if isinstance(one, Graded) and one.attempt}
    redesigns = [
        Redesign(
            good[one.file],
            good[other.file],
            tuple(moved.told for moved in changes),
            split if isinstance(split, Comparison) else None,
        )
        for place, (one, other, changes) in enumerate(pairs)
        for split in [found.get(("split", place))]
        if one.file in good and other.file in good
    ]
    return Board(
        brief,
        as_it_is,
        sorted(good.values(), key=_order),
        redesigns,
        [*refused, *(one for one in all_of if isinstance(one, Refused))],
    )


def _order(one: Graded) -> tuple[float, float, str, int]:
    attempt = one.attempt
    return (
        -round(one.score, 9),
        round(one.points, 9),
        attempt.team if attempt else "",
        attempt.number if attempt else 0,
    )


def _distinct(scenarios: Sequence[Scenario]) -> dict[str, Scenario]:
    """Scenarios by what is written in them."""
    return {_key(one): one for one in scenarios}


def _key(scenario: Scenario) -> str:
    return repr((scenario.data, sorted(scenario.works.items())))


def _done(work: Mapping[Any, Work], workers: int, told: Told | None) -> Iterator[tuple[Any, Any]]:
    """Every piece of work with what it gave, or the error that it met."""
    if workers < 2 or len(work) <= _FEW:
        for count, (key, piece) in enumerate(work.items(), 1):
            yield key, _tried(piece)
            if told is not None:
                told(count, len(work))
        return
    try:
        with worker_processes(workers) as pool:
            handed = {pool.submit(_tried, piece): key for key, piece in work.items()}
            for count, future in enumerate(as_done(handed), 1):
                yield handed[future], future.result()
                if told is not None:
                    told(count, len(work))
    except BrokenProcessPool as error:
        raise WorkerError(
            "A worker died (killed, or out of memory); nothing is left half written. "
            "Run the same again."
        ) from error


def _tried(piece: Work) -> Any:
    try:
        return piece()
    except HydroloopError as error:
        return error


_SHARED = SharedForcing()


def _seasons(scenarios: Sequence[Scenario]) -> list[xr.Dataset | HydroloopError]:
    """Season measures of several scenarios; where one stops the others, each by itself."""
    try:
        table = season_table(scenarios, forcing=_SHARED)
        return [table.isel(member=place, drop=True) for place in range(len(scenarios))]
    except HydroloopError as error:
        if len(scenarios) == 1:
            return [error]
        return [one for scenario in scenarios for one in _seasons([scenario])]


def _last_years(scenario: Scenario, towns: Sequence[str]) -> dict[str, float]:
    """Year in which each town's demand reaches the first limit of its supply."""
    record = simulate(scenario)
    years = {}
    for name in towns:
        study = capacity_study(scenario, record, name)
        years[name] = study.first_year + min((one.years for one in study.reached), default=np.inf)
    return years


def _split(before: Scenario, changes: Sequence[_Moved]) -> Comparison:
    each = [Change(one.name, partial(_with, one.values)) for one in changes]
    return compare(before, each, forcing=_SHARED)


def _with(values: Mapping[str, Any], scenario: Scenario) -> Scenario:
    return scenario.changed(dict(values))


class _Moved(NamedTuple):
    """One thing that a team changed."""

    name: str  # in short
    told: str  # from how much to how much
    values: dict[str, Any]  # by dotted key


def _changes(brief: Brief, one: Attempt, other: Attempt) -> list[_Moved]:
    """What a team changed from one attempt to another; where that is much, by kinds of change."""
    old, new = (
        {(charge.name, charge.place): charge for charge in each.charges} for each in (one, other)
    )
    found = []
    for key in {**old, **new}:
        before, after = old.get(key), new.get(key)
        if _values(before) == _values(after):
            continue
        charge = after or old[key]
        values = (
            dict(charge.values)
            if after
            else {name: _written(brief.season, name) for name in charge.values}
        )
        short = (
            charge.words
            if after and not before
            else f"{charge.words}: " + ("another amount" if after else "left out")
        )
        found.append(
            (charge, _Moved(short, f"{charge.words}: {_moved_words(before, after)}", values))
        )
    if len(found) <= _MOST_APART:
        return [moved for _, moved in found]
    kinds: dict[str, list[_Moved]] = {}
    for charge, moved in found:
        kinds.setdefault(charge.what, []).append(moved)
    return [
        _Moved(
            what,
            "; ".join(moved.told for moved in own),
            {key: value for moved in own for key, value in moved.values.items()},
        )
        for what, own in kinds.items()
    ]


def _moved_words(before: Charge | None, after: Charge | None) -> str:
    """From how much to how much something was changed."""
    was, now = (one.amount if one else "" for one in (before, after))
    if before and after:
        return f"from {was} to {now}" if was != now else "another amount"
    if after:
        return f"new, {now}" if now else "new"
    return f"left out, was {was}" if was else "left out"


def _values(charge: Charge | None) -> dict[str, Any]:
    return dict(charge.values) if charge else {}


def _written(scenario: Scenario, key: str) -> Any:
    """What a scenario's file has at a key; None where it has nothing."""
    here: Any = scenario.data
    for word in key.split("."):
        here = here.get(word) if isinstance(here, dict) else None
    return here


def _graded(
    brief: Brief, attempt: Attempt | None, found: Mapping[tuple[str, Any], Any]
) -> Graded | Refused:
    scenarios = {
        "season": attempt.season if attempt else brief.season,
        "drought": attempt.drought if attempt else brief.drought,
    }
    values = {}
    for name, target in brief.target.items():
        which = "capacity" if target.measure == "capacity" else target.during
        outcome = found[which, _key(scenarios["season" if which == "capacity" else which])]
        if isinstance(outcome, HydroloopError):
            problems = getattr(outcome, "problems", None) or [Problem("", str(outcome))]
            return Refused(attempt.file if attempt else brief.source, tuple(problems))
        values[name] = _worst(target, brief.season, outcome)
    met = {name: target.is_met(values[name]) for name, target in brief.target.items()}
    weights = {name: target.weight for name, target in brief.target.items()}
    score = sum(weights[name] for name in met if met[name]) / sum(weights.values())
    return Graded(attempt, values, met, score)


def _worst(target: Target, scenario: Scenario, outcome: Any) -> float:
    """The worst value of the towns that are looked at; nan where none of them has one."""
    towns = target.towns_of(scenario)
    if target.measure == "capacity":
        return float(min(outcome[name] for name in towns))
    each = (
        (
            1.0 - outcome["volume_reliability"]
            if target.measure == "shortage"
            else outcome[_TABLE[target.measure]]
        )
        .sel(town=towns)
        .values
    )
    known = each[np.isfinite(each)]
    return float(known.max()) if known.size else float("nan")


def town_names(target: Target, names: Names) -> str:
    """Where a target is looked at, in words."""
    return "every town" if target.town == "*" else place_words(target.town, names)
