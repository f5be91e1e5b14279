"""A finished run: the scenario, its water record and the table of measures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.gates import USUAL, Use, words_of
from hydroloop.glossary import term
from hydroloop.measures import measures
from hydroloop.outputs.document.table import Column, places_column
from hydroloop.outputs.run.shortages import Shortage, shortages_of
from hydroloop.placenames import Names, names_of
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System


@dataclass(frozen=True)
class Result:
    """A finished run."""

    scenario: Scenario  # what was run
    record: xr.Dataset  # its water record
    table: xr.Dataset  # its measures
    system: System = "us"  # `"us"` or `"metric"`: the units in which it is shown
    # keys that were changed before the run, each with what stood there before and after
    changed: Sequence[Sequence[str]] = ()

    @property
    def towns(self) -> list[str]:
        """Towns that deliver water to homes."""
        return [str(town) for town in self.table["town"].values]

    @property
    def names(self) -> Names:
        """Names that are given to places, by key."""
        return names_of(self.record)

    @property
    def gate(self) -> str:
        """What counts as a use."""
        return str(self.table.attrs.get("gate", USUAL))

    @property
    def use(self) -> Use:
        """Words for what counts as a use."""
        return words_of(self.gate)

    @property
    def most_used_town(self) -> str:
        """The town whose tap water was used most over the season; the first of equals."""
        used = self.values("season_used_share")
        return self.towns[max(range(len(used)), key=lambda i: (used[i] == used[i], used[i]))]

    @cached_property
    def shortages(self) -> list[Shortage]:
        """Towns that ran short of water, the worst first."""
        return shortages_of(self.table, self.record)

    def value(self, name: str, **at: Any) -> float:
        """One measure as a number, at labels of its dims; nan where the run does not have it."""
        if name not in self.table:
            return float("nan")
        try:
            return float(self.table[name].sel(at).values)
        except KeyError:
            return float("nan")

    def values(self, name: str, **at: Any) -> list[float]:
        """One measure of every town; nan where the run does not have it."""
        if name not in self.table:
            return [float("nan")] * len(self.towns)
        return [float(value) for value in self.table[name].sel(at).transpose("town").values]

    @property
    def named(self) -> Column:
        """The towns, as the file and as people call them."""
        return places_column("town", self.towns, self.names)

    def column(self, name: str, values: Sequence[float] | np.ndarray | None = None) -> Column:
        """A column of a table under a measure's plain name; by default its value in each town."""
        row = term(name)
        given = self.values(name) if values is None else values
        return Column(row.plain, given, row.dimension, name)

    def most_used_day(self, town: str) -> np.datetime64:
        """Day on which most of a town's tap water was used before; NaT if none came to a tap."""
        used = self.table["used_share"].sel(town=town).transpose("time", ...).values
        used = used.reshape(len(used), -1).mean(axis=1)
        if not np.isfinite(used).any():
            return np.datetime64("NaT", "ns")
        # Days that differ by rounding alone are one: the first of them.
        best = int(np.argmax(np.nan_to_num(used, nan=-1.0).round(9)))
        return np.datetime64(self.table["time"].values[best], "ns")

    def glass_day(self, town: str) -> np.datetime64:
        """Day of a town's glass: the one asked for, else the most used of which it is known when.

        Early in a season the time of the last use is not known: such days are passed over, unless
        there are no others.
        """
        days = self.table["glass_date"].sel(town=town).values.astype("datetime64[ns]")
        return np.datetime64(days.item(), "ns")

    def on_day(self, name: str, town: str, day: Any) -> Any:
        """A daily measure of a town, in the step that holds the day."""
        time = self.table["time"].values
        step = int(np.searchsorted(time, np.datetime64(day, "ns"), side="right")) - 1
        return self.table[name].sel(town=town).isel(time=step)


def drawn_on(table: xr.Dataset, day: Any) -> xr.Dataset:
    """A table of measures in which every town's glass is that of one day, among its
    `glass_dates`."""
    own = [str(name) for name in table.data_vars if "glass" in table[name].dims]
    glass = table[own].isel(glass=0, drop=True).rename(days_before="days_ago")
    names = {name: name.removeprefix("glass_") for name in own}
    names["glass_homes_last_month"] = "molecules_in_homes_last_month"
    glass = glass.rename(names)
    rest = table.drop_vars([*names.values(), "days_ago"])
    date = xr.full_like(table["glass_date"], np.datetime64(day, "ns"))
    rest = rest.drop_dims(["glass", "days_before"]).assign(glass_date=date)
    return rest.merge(glass)


def result_of(scenario: Any, record: xr.Dataset, system: System, day: Any = None) -> Result:
    """The measures of a record as a result; `day` is that of the glasses."""
    table = measures(record, scenario, glass_dates=[] if day is None else [day])
    return Result(scenario, record, table if day is None else drawn_on(table, day), system)
