"""A water record without a scenario: what it says itself of its title, its season and its towns."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.measures import find_towns
from hydroloop.placenames import Names, names_of
from hydroloop.record import read_record


class Span(NamedTuple):
    """First and last day of a record."""

    start: date
    end: date


@dataclass(frozen=True)
class Recorded:
    """What stands for the scenario of a record file."""

    title: str  # title of the record, or else the name of its file
    season: Span  # its first and last day
    town: dict[str, None]  # its towns, by name; all that is known of them is in the record
    names: Names  # names that are given to places, by key


def opened_record(file: str, *changes: object) -> tuple[Any, xr.Dataset]:
    """A record file, and what stands for its scenario."""
    if any(changes):
        raise AskError(
            Problem(
                file,
                "is a water record: what has run cannot be changed.",
                "Give the scenario file to change it with --set, --scale or --plan.",
            )
        )
    record = read_record(file)
    first, last = (
        record["time"].values[place].astype("datetime64[D]").astype(object) for place in (0, -1)
    )
    towns = dict.fromkeys(town.name for town in find_towns(record))
    if not towns:
        raise AskError(
            Problem(
                file, "no water of this record comes to homes.", "Give it flows of kind home_use."
            )
        )
    title = str(record.attrs.get("title", "")) or file
    return Recorded(title, Span(first, last), towns, names_of(record)), record
