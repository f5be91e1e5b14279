"""Which town, which date, which store is meant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pandas as pd
import xarray as xr

from hydroloop.charts.words import date_words, place_words
from hydroloop.errors import AskError, Problem
from hydroloop.measures import find_towns
from hydroloop.outputs.document.wording import season_span
from hydroloop.placenames import Names, names_of
from hydroloop.scenario import Scenario
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.schema import Season
from hydroloop.units import quoted


def town_of(towns: Sequence[str], asked: str | None, names: Names) -> str:
    """The town that is meant, as in the file or as people write it; the first if none is named."""
    if asked is None:
        return towns[0]
    for town in towns:
        if asked.strip().lower() in (town.lower(), place_words(town, names).lower()):
            return town
    raise AskError(Problem("TOWN", f'there is no town "{asked}".', offer(asked, towns)))


def town_and_date(
    scenario: Scenario, town: str | None, date: str | None
) -> tuple[str | None, pd.Timestamp | None]:
    """The town and the date that are meant; a date may stand alone."""
    season = scenario.season
    if (
        town is not None
        and date is None
        and _read_date(town, pd.Timestamp(season.start), pd.Timestamp(season.end)) is not None
    ):
        town, date = None, town
    return (
        None if town is None else town_of(list(scenario.town), town, scenario.names),
        None if date is None else date_in(season, date),
    )


def date_in(season: Season, asked: str) -> pd.Timestamp:
    """The day of the season that is meant: `2031-08-15`, `15 August 2031`, or without its year."""
    first_day, last_day = pd.Timestamp(season.start), pd.Timestamp(season.end)
    found = _read_date(asked, first_day, last_day)
    if found is None:
        raise AskError(Problem("DATE", f"{quoted(asked)} is no date.", "Write it as 2031-08-15."))
    if not first_day <= found <= last_day:
        raise AskError(
            Problem(
                "DATE",
                f"{date_words(found)} lies outside the season.",
                f"Choose a day from {date_words(first_day)} to {date_words(last_day)}.",
            )
        )
    return found


def _read_date(text: str, first: pd.Timestamp, last: pd.Timestamp) -> pd.Timestamp | None:
    words = text.strip().replace(",", " ").split()
    for form in ("%Y-%m-%d", "%d %B %Y", "%B %d %Y", "%d %b %Y", "%b %d %Y"):
        try:
            found = pd.to_datetime(" ".join(words), format=form)
            return None if pd.isna(found) else pd.Timestamp(found)
        except ValueError:
            continue
    if len(words) == 2:  # no year: the one in which the day lies in the season
        for year in range(first.year, last.year + 1):
            found = _read_date(f"{' '.join(words)} {year}", first, last)
            if found is not None and (first <= found <= last or year == last.year):
                return found
    return None


def river_of(scenario: Any, town: str) -> str:
    """The river that a town drinks from, itself or by a reservoir; empty for none."""
    intake = getattr(scenario.town[town], "intake", None)
    if intake is None:
        return ""
    lake = intake.reservoir and scenario.reservoir[intake.reservoir]
    return str((lake.river if lake else intake.river) or "")


def begin_of(record: xr.Dataset, town: str, *, backward: bool = False) -> str:
    """The store where a town's water begins its way: where its intake, wells or imports arrive;
    backward, the one from which its homes draw."""
    own = next((one for one in find_towns(record) if one.name == town), None)
    found = "" if own is None else own.mains if backward else own.first
    if not found:
        raise AskError(
            Problem(
                "TOWN",
                f"{place_words(town, names_of(record))} takes in no water.",
                "Choose another town.",
            )
        )
    return found


def season_words(season: Season) -> str:
    """First and last day of a season in words."""
    return season_span(season.start, season.end)
