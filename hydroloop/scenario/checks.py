"""Cross-checks: what no single key can say of itself.

Each check reads a draft and says what is wrong; parts that are wrong already are passed over.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from hydroloop import units
from hydroloop.bounds import FIRST_YEAR, LAST_YEAR
from hydroloop.placenames import LONGEST_NAME
from hydroloop.scenario.checks_dry import dry_checks, minimum_flow_checks
from hydroloop.scenario.checks_river import aquifer_checks, reservoir_checks, river_checks
from hydroloop.scenario.checks_stage import stage_checks
from hydroloop.scenario.checks_town import town_checks
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.limits import limit_checks

KINDS = ("river", "reservoir", "aquifer", "town", "stage")
_MOST_YEARS = 200


def cross_checks(draft: Draft) -> list[Finding]:
    """Everything that is wrong between keys."""
    return [
        *_title(draft),
        *_names(draft),
        *_season(draft),
        *_files(draft),
        *limit_checks(draft),
        *river_checks(draft),
        *reservoir_checks(draft),
        *aquifer_checks(draft),
        *town_checks(draft),
        *stage_checks(draft),
        *dry_checks(draft),
        *minimum_flow_checks(draft),
    ]


def _title(draft: Draft) -> Iterator[Finding]:
    if not draft.has("title"):
        return
    title = draft.raw("title")
    if isinstance(title, str) and not title.strip():
        yield Finding(("title",), "is empty.", "Give the place a name.")
    elif isinstance(title, str) and (len(title) > 200 or not title.isprintable()):
        yield Finding(("title",), "is more than one short line.", "Put the rest under about.")


def _names(draft: Draft) -> Iterator[Finding]:
    """Names become parts of store names and of dotted keys, so they are plain and unique."""
    seen: dict[str, str] = {}
    for kind in KINDS:
        names = draft.names(kind)
        if kind in ("river", "town") and draft.raw(kind) == {}:
            yield Finding((kind,), f"there is no {kind}.", f"Write [{kind}.NAME] and its keys.")
        for name in names:
            if not _plain(name):
                yield Finding(
                    (kind, name),
                    f"{units.quoted(name)} is not a plain name.",
                    "Use letters, digits, _ and -, at most 40 of them.",
                )
            elif name in seen:
                yield Finding(
                    (kind, name),
                    f'a {seen[name]} is called "{name}" already.',
                    "Give each place a name of its own.",
                )
            seen.setdefault(name, kind)
            yield from _shown_name(draft, kind, name)


def _shown_name(draft: Draft, kind: str, place: str) -> Iterator[Finding]:
    if kind == "stage" or not draft.has(kind, place, "name"):
        return
    name = draft.raw(kind, place, "name")
    if isinstance(name, str) and not (
        name.strip() == name and 0 < len(name) <= LONGEST_NAME and name.isprintable()
    ):
        yield Finding(
            (kind, place, "name"),
            f"{units.quoted(name)} is no name that can be used.",
            f"Write one line of at most {LONGEST_NAME} letters, without blanks around it.",
        )


def _plain(name: str) -> bool:
    return len(name) <= 40 and name[:1].isalpha() and all(c.isalnum() or c in "_-" for c in name)


def _season(draft: Draft) -> Iterator[Finding]:
    start, end = _date(draft, "start"), _date(draft, "end")
    out_of_reach = [
        (name, day)
        for name, day in (("start", start), ("end", end))
        if day and not FIRST_YEAR <= day.year <= LAST_YEAR
    ]
    for name, day in out_of_reach:
        yield Finding(
            ("season", name),
            f"the year {day.year} is out of reach.",
            f"Write a year from {FIRST_YEAR} to {LAST_YEAR}.",
        )
    if start and end and not out_of_reach:
        days = (end - start).days + 1
        if days < 1:
            yield Finding(
                ("season", "end"),
                f"{end} comes before the first day, {start}.",
                "Let the season end after it starts.",
            )
        elif days > _MOST_YEARS * 366:
            yield Finding(
                ("season", "end"),
                f"the season has {days:,} days.",
                f"Let it last at most {_MOST_YEARS} years.",
            )
    yield from _step(draft)


def _date(draft: Draft, name: str) -> dt.date | None:
    value = draft.raw("season", name)
    if isinstance(value, str):
        try:
            return dt.date.fromisoformat(value.strip())
        except ValueError:
            return None
    return value if isinstance(value, dt.date) and not isinstance(value, dt.datetime) else None


def _step(draft: Draft) -> Iterator[Finding]:
    step = draft.quantity("season", "step")
    if step is None:
        return
    if step.low != step.high:
        yield Finding(("season", "step"), "a step cannot be a range.", 'Write "1 day".')
        return
    steps = 1.0 / step.value if step.value > 0 else 0.0
    if 1 - 1e-9 <= steps <= 24 + 1e-9 and abs(steps - round(steps)) > 1e-6:
        yield Finding(
            ("season", "step"),
            f'"{step.text}" does not divide a day into whole steps of one hour or more.',
            'Write "1 day", "12 hour", "6 hour" or "1 hour".',
        )


def _files(draft: Draft) -> Iterator[Finding]:
    paths: list[tuple[str, ...]] = [("weather", "file")]
    paths += [
        ("river", name, inflow, "file")
        for name in draft.names("river")
        for inflow in ("inflow", "lateral_inflow")
    ]
    for path in paths:
        name = draft.word(*path)
        if not name:
            if draft.raw(*path) == "":
                yield Finding(path, "is empty.", "Name a CSV file.")
            continue
        target = draft.folder / name
        try:
            inside = target.resolve().is_relative_to(draft.folder.resolve())
            exists = inside and target.is_file()
        except (OSError, ValueError, RuntimeError):
            inside, exists = True, False
        if not inside:
            yield Finding(
                path,
                f"{units.quoted(name)} lies outside the folder of the scenario.",
                "Put the file beside the scenario file and write its name.",
            )
        elif not exists:
            there = ", ".join(sorted(f.name for f in draft.folder.glob("*.csv"))[:8])
            yield Finding(
                path,
                f"there is no file {units.quoted(name)} beside the scenario file.",
                f"There are: {there}." if there else "Put it there.",
            )
