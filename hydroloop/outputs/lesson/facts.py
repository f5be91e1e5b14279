"""What the sheets of a lesson tell about a town: numbers of the run, and thirty drops."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import xarray as xr

from hydroloop.outputs.run.diary import Diary, diaries
from hydroloop.outputs.run.place import begin_of
from hydroloop.outputs.run.result import Result
from hydroloop.placenames import place_words
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

    @property
    def used(self) -> float:
        """Share of the drops' water that was used at least once, as the tally counts it [-]."""
        return sum(share for words, share in self.tally[1:] if words != UNKNOWN)


    def drops_by_uses(self) -> list[tuple[str, list[Diary]]]:
        """The thirty drops by the lines of the tally."""
        def line(diary: Diary) -> int:
            was_there = diary.end in self.result.record["store"].values
            return len(self.tally) - 1 if was_there and not diary.uses and self.has_unknown else (
                min(diary.uses, _MOST))
        return [(words, [one for one in self.diaries if line(one) == place])
                for place, (words, _) in enumerate(self.tally)]

    @property
    def has_unknown(self) -> bool:
        """Whether some of the water was on the map before the first day, and not used since."""
        return self.tally[-1][0] == UNKNOWN


UNKNOWN = "not known"


def power_words(value: float) -> str:
    """A very big number with its power of ten: `8.33 × 10²⁴`."""
    lead, exponent = f"{value:.2e}".split("e")
    raised = str(int(exponent)).translate(str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"))
    return f"{lead} × 10{raised}"


def lesson_of(result: Result, town: str, *, seed: int = 1) -> Lesson:
    """The numbers of a lesson, with thirty drops drawn by a seed."""
    record = result.record
    at, day = begin_of(record, town, backward=True), result.glass_day(town)
    if np.isnat(day):
        day = np.datetime64(record["time"].values[-1], "ns")
    walks = drops(record, n=DROPS, at=at, on=pd.Timestamp(day), seed=seed, backward=True)
    told = diaries(record, walks, backward=True, system=result.system)
    return Lesson(result, town, day, told, exact_tally(record, at, day), seed)


def exact_tally(record: xr.Dataset, at: str, day: np.datetime64) -> list[tuple[str, float]]:
    """Shares of a store's water by uses within the record, as its drops would count them.

    What was used above the map counts as new here: a drop's journey begins where the map does.
    """
    own = record.drop_vars("used_before", errors="ignore")
    uses = count_uses(own, most=_MOST, warm_up="none").sel(store=at)
    step = int(np.searchsorted(record["time"].values, day, side="right"))
    now = uses.isel(edge=step)
    shares = [float(share) for share in now["share"].values]
    unknown = float(now["unknown"])
    words = ["never", "once", "twice", "three times or more"]
    rows = list(zip(words, shares, strict=True))
    return [*rows, (UNKNOWN, unknown)] if unknown > 5e-4 else rows
