"""The season's measures as what-if answers show them: their words, their units, their figures."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import xarray as xr

from hydroloop.charts.words import joined
from hydroloop.outputs.table import Column, as_lines
from hydroloop.outputs.wording import wrap
from hydroloop.units import display_unit
from hydroloop.units.printing import System, figures


class Told(NamedTuple):
    """A measure that is told.

    Attributes
    ----------
    name : str
        Variable of the season's table.
    words : str
        What it is called.
    dimension : str
        ``share``, ``days``, ``number``, or a dimension of `hydroloop.units`.
    """

    name: str
    words: str
    dimension: str

    @property
    def plain(self) -> str:
        """Its words in a sentence."""
        return self.words.replace(", season", " of the season")

    def shown(self, values: xr.DataArray | np.ndarray, system: System) -> tuple[float, str]:
        """Factor to what is shown, and its unit; empty for a plain number.

        Parameters
        ----------
        values : array
            All numbers that are shown together.
        system : str
            ``"us"`` or ``"metric"``.
        """
        if self.dimension == "share":
            return 100.0, "%"
        if self.dimension in ("days", "number"):
            return 1.0, "days" if self.dimension == "days" else ""
        sizes = np.abs(np.asarray(values))
        unit = display_unit(self.dimension, system,
                            largest=float(sizes[np.isfinite(sizes)].max(initial=0.0)))
        return unit.factor, unit.name

    def column(self, values: Sequence[float] | np.ndarray, words: str = "") -> Column:
        """A column of a table, under its own words or others."""
        dimension = "duration" if self.dimension == "days" else self.dimension
        return Column(words or self.words, list(values), dimension)

    def heading(self, unit: str) -> str:
        """Its words at the head of a table."""
        return sentence(self.words) + (f" [{unit}]" if unit else "")


USED = Told("season_used_share", "used share f, season", "share")
USES = Told("season_mean_uses", "mean uses m, season", "number")
RELIABILITY = Told("reliability", "reliability", "share")
VOLUME = Told("volume_reliability", "share delivered of the water asked for", "share")
RESILIENCE = Told("resilience", "resilience (short days that end a shortage)", "share")
VULNERABILITY = Told("vulnerability", "vulnerability (worst day of a shortage, mean)", "flow")
LONGEST = Told("longest_failure", "longest time with too little", "days")
SHORT = Told("unmet", "water short over the season", "volume")
DILUTION = Told("lowest_dilution", "lowest dilution (river over effluent)", "number")
CUT = Told("cut_share", "use cut by drought stages", "share")
UNDER = Told("days_under_minimum_flow", "river under its minimum", "days")

UNKNOWN = Told("season_unknown_share", "share of unknown past, season", "share")
DELIVERED = Told("mean_delivered", "delivered to homes, mean", "flow")
WITHDRAWN = Told("mean_withdrawn", "withdrawn, mean", "flow")
PUMPED = Told("mean_pumped", "pumped from wells, mean", "flow")
EFFLUENT = Told("mean_effluent", "effluent, mean", "flow")
OVERFLOWED = Told("mean_overflowed", "overflowed untreated, mean", "flow")

_OF_SHORTAGES = (VOLUME, RESILIENCE, VULNERABILITY, LONGEST)
TOLD = (USED, USES, RELIABILITY, SHORT, *_OF_SHORTAGES, CUT, DILUTION, UNDER)
"""What words and pictures tell of every town."""
EVERY = (*TOLD, UNKNOWN, DELIVERED, WITHDRAWN, PUMPED, EFFLUENT, OVERFLOWED)
"""What tables and scripts get of every town."""


def with_unmet(table: xr.Dataset) -> xr.Dataset:
    """All uses' shortage together, beside the rest."""
    if "unmet_total" not in table:
        return table
    return table.assign(unmet=table["unmet_total"].sum("purpose", skipna=False))


def told_in(table: xr.Dataset, measures: Sequence[Told] = TOLD) -> list[Told]:
    """Measures that a table has and that say something there.

    Parameters
    ----------
    table : xarray.Dataset
        As from `with_unmet`.
    measures : sequence of Told
        Measures in their order.

    Returns
    -------
    list of Told
        Without those that describe shortages, where nobody is short.
    """
    short = SHORT.name in table and bool((table[SHORT.name] > 0.0).any())
    return [told for told in measures
            if told.name in table and (short or told not in _OF_SHORTAGES)]


def figure(value: float, *, signed: bool = False) -> str:
    """A number in three figures; a dash where it is not known.

    Examples
    --------
    >>> figure(0.06384), figure(2.5, signed=True), figure(12345.6), figure(float("nan"))
    ('0.0638', '+2.5', '12,300', '-')
    """
    if not math.isfinite(value):
        return "-"
    if abs(value) <= 1e-9:
        return "0"
    return ("+" if signed and value > 0 else "") + figures(value)


def amount(value: float, unit: str) -> str:
    """A shown number with its unit.

    Examples
    --------
    >>> amount(7.324, "%"), amount(1.0, "days"), amount(0.5, "")
    ('7.32 %', '1 day', '0.5')
    """
    text = figure(value)
    if unit == "days" and text == "1":
        return "1 day"
    return f"{text} {unit}".rstrip()


def sentence(words: str) -> str:
    """Words with a capital at their head."""
    return words[:1].upper() + words[1:]


def varies(values: np.ndarray) -> bool:
    """Whether numbers differ by more than rounding.

    Examples
    --------
    >>> varies(np.array([0.1, 0.1 + 1e-15])), varies(np.array([0.1, 0.2, np.nan]))
    (False, True)
    """
    there = values[np.isfinite(values)]
    return bool(there.size and np.ptp(there) > 1e-9 * max(1e-3, np.abs(there).max()))


def still(told: Told, values: np.ndarray, system: System) -> str:
    """A measure that has one value in every run and town, in words; empty where it has more.

    Parameters
    ----------
    told : Told
        The measure.
    values : numpy.ndarray
        Its values, of any shape.
    system : str
        ``"us"`` or ``"metric"``.

    Examples
    --------
    >>> still(RELIABILITY, np.array([[1.0, 1.0], [1.0, 1.0]]), "us")
    'reliability (100 %)'
    >>> still(RELIABILITY, np.array([1.0, 0.9]), "us")
    ''
    >>> still(UNDER, np.array([0.0, np.nan]), "us")
    'river under its minimum (0 days, where there is one)'
    """
    there = values[np.isfinite(values)]
    if not there.size or varies(values):
        return ""
    factor, unit = told.shown(values, system)
    where = "" if there.size == values.size else ", where there is one"
    return f"{told.plain} ({amount(factor * float(there[0]), unit)}{where})"


def folded(found: Sequence[tuple[str, list[str]]]) -> list[str]:
    """Tables of measures under each other, and those that stand still in one line at the end.

    Parameters
    ----------
    found : sequence of (str, list of str)
        Of each measure what `still` says, and the lines of its table.

    Returns
    -------
    list of str
        Lines of text.
    """
    lines = [line for words, table in found if not words for line in ["", *table]]
    quiet = [words for words, _ in found if words]
    if not quiet:
        return lines
    return [*lines, "", *wrap(f"The same in every run and town: {joined(quiet)}.", "  ")]


def stage_lines(table: xr.Dataset, rows: Callable[[xr.DataArray], list[list[str]]]) -> list[str]:
    """Days for which each drought stage was in force, after a blank line; none where none was.

    Parameters
    ----------
    table : xarray.Dataset
        With `days_in_stage`, if there are stages.
    rows : callable
        Makes the rows of a table of values by town; the stages stand in place of towns.

    Returns
    -------
    list of str
        Lines of text.
    """
    if "days_in_stage" not in table or not bool((table["days_in_stage"] > 0.0).any()):
        return []
    days = table["days_in_stage"].rename(stage="town")
    return ["", "Drought stages in force [days]", *as_lines(rows(days))]
