"""What the sheets of a lesson tell about a town: numbers of the run, and thirty drops."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
import xarray as xr

from hydroloop.charts.words import percent
from hydroloop.measures import find_towns
from hydroloop.measures.towns import above
from hydroloop.outputs.run.diary import Diary, diaries
from hydroloop.outputs.run.place import begin_of
from hydroloop.outputs.run.result import Result
from hydroloop.placenames import place_words
from hydroloop.record import flow_mask, flow_total
from hydroloop.tracing import count_uses, drops

DROPS = 30
"""Drops of the tally, one a student."""
_MOST = 3


@dataclass(frozen=True, eq=False)
class Lesson:
    """A run as the sheets tell it, for one town and the day of its glass."""

    result: Result  # the run
    town: str  # name of the town
    day: np.datetime64  # day of the glass
    diaries: list[Diary]  # thirty drops of the glass and where they came from
    # what a drop may have been, and the exact share of the glass that was [-]
    tally: list[tuple[str, float]]
    seed: int  # of the drops

    @property
    def place(self) -> str:
        """The town in words."""
        return place_words(self.town, self.result.names)

    def daily(self, name: str) -> float:
        """A daily measure on the day of the glass."""
        return float(self.result.on_day(name, self.town, self.day))

    def mean(self, name: str) -> float:
        """A daily measure, mean of the season."""
        return float(self.result.table[name].sel(town=self.town).mean())

    def returned_above(self) -> float:
        """What outfalls and overflows put into the river upstream of the intake, mean of the season
        [m3/d]; 0 where the town takes from no river."""
        record, towns = self.result.record, find_towns(self.result.record)
        (own,) = (one for one in towns if one.name == self.town)
        back = np.any([one.outfalls | one.overflows for one in towns], axis=0)
        back &= np.isin(record["target"].values.astype(str), list(above(record, own)))
        return float(flow_total(record, back).mean())

    @property
    def used(self) -> float:
        """Share of the drops' water that was used at least once [-]."""
        return sum(share for _, share in self.tally[1:])

    @property
    def used_words(self) -> str:
        """The used share in percent, as a run tells it: the same on all sheets."""
        return percent(self.used)

    @property
    def used_percent(self) -> float:
        """That number alone, for what is worked out from it; NaN where it is no more than a bound
        [%]."""
        return printed_percent(self.used)

    @property
    def expected(self) -> str:
        """Used drops that are expected, from the share unrounded, in the tenths of the tally."""
        return f"{DROPS * self.used:.1f}"

    @property
    def season_words(self) -> str:
        """The used share of the whole season, as a run tells it."""
        season = self.result.value("season_used_share", town=self.town)
        return f"Of all tap water of the season {percent(season)} had been used before."

    def reclaimed(self) -> float:
        """What the wastewater plant gives to be used once more, mean of the season [m3/d]."""
        record = self.result.record
        return float(flow_total(record, flow_mask(record, target=f"{self.town}/reclaimed")).mean())

    def drops_by_uses(self) -> list[tuple[str, list[Diary]]]:
        """The thirty drops by the lines of the tally."""
        return [
            (words, [one for one in self.diaries if min(one.uses, _MOST) == place])
            for place, (words, _) in enumerate(self.tally)
        ]


def printed_percent(share: float) -> float:
    """The number that a share is told with in percent; NaN where that is no more than a bound."""
    number, _, unit = percent(share).partition(" ")
    return float(number) if unit == "%" else math.nan


def power_words(value: float, figures: int = 3) -> str:
    """A very big number with its power of ten: `8.33 × 10²⁴`."""
    lead, exponent = f"{value:.{figures - 1}e}".split("e")
    raised = str(int(exponent)).translate(str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"))
    return f"{lead} × 10{raised}"


def lesson_of(result: Result, town: str, *, seed: int = 1) -> Lesson:
    """The numbers of a lesson, with thirty drops drawn by a seed."""
    record = result.record
    at, day = begin_of(record, town, backward=True), result.glass_day(town)
    if np.isnat(day):
        day = np.datetime64(record["time"].values[-1], "ns")
    walks = drops(record, n=DROPS, at=at, on=pd.Timestamp(day), seed=seed, backward=True, used=0)
    told = diaries(record, walks, backward=True, system=result.system)
    return Lesson(result, town, day, told, exact_tally(record, at, day), seed)


def exact_tally(record: xr.Dataset, at: str, day: np.datetime64) -> list[tuple[str, float]]:
    """Shares of a store's water by uses, before it came onto the map too, as its drops count them;
    what nothing is known of counts as new."""
    uses = count_uses(record, most=_MOST).sel(store=at)
    now = uses.isel(edge=int(np.searchsorted(record["time"].values, day, side="right")))
    never, *used = map(float, now["share"].values)
    words = ("never", "once", "twice", "three times or more")
    return list(zip(words, [never + float(now["unknown"]), *used], strict=True))
