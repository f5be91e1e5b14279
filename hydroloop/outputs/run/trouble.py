"""Who ran short, was cut or let sewage go untreated, and when, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from hydroloop.charts.asking import mean_member
from hydroloop.charts.words import date_words, joined, percent, place_words
from hydroloop.outputs.document.wording import dates_in_words, number_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.shortages import Shortage
from hydroloop.placenames import Names, stage_words
from hydroloop.units import format_quantity

LEADS = 0.95
"""A shortage leads the answer where a town got less than this of the water it asked for [-]."""
_UNTREATED = {"overflowed": "overflowed untreated", "bypassed": "went round aeration"}


def shortage_sentences(short: Sequence[Shortage], result: Result) -> list[str]:
    """When the town that ran short most did so, and how far; the others in one sentence."""
    if not short:
        return []
    others = [_other_words(one, result, is_first=place == 0) for place, one in enumerate(short[1:])]
    said = _shortage_words(short[0], result.names)
    return [said, *([f"{'; '.join(others)}."] if others else [])]


def _other_words(one: Shortage, result: Result, *, is_first: bool) -> str:
    """What another town got: ``Larkmill got 74 %, short on 89 days from 4 July``."""
    begin = _day_words(one.days[0], result)
    when = f"on {begin}" if len(one.days) == 1 else f"on {len(one.days)} days from {begin}"
    got = f"{place_words(one.town, result.names)} got {percent(one.got)}"
    return f"{got}, {'short ' if is_first else ''}{when}"


def _shortage_words(one: Shortage, names: Names) -> str:
    first, last = one.days[0], one.days[-1]
    is_whole = (last - first).astype(int) + 1 == len(one.days)
    span = dates_in_words(first, last)
    when = (
        f"on {span}"
        if first == last
        else (f"on {len(one.days)} days{',' if is_whole else ' of'} {span}")
    )
    return (
        f"{place_words(one.town, names)} ran short of water {when}: over the season it got "
        f"{percent(one.got)} of what it asked for, on the worst day {_amount(one.worst)}."
    )


def _amount(share: float) -> str:
    return "nothing" if share < 0.0005 else percent(share)


def stage_sentences(result: Result) -> list[str]:
    """Since when drought stages were in force, how long each, and how much use they cut."""
    if "days_in_stage" not in result.table:
        return []
    parts: list[str] = []
    began: list[np.datetime64] = []
    for stage in map(str, result.table["stage"].values):
        on = mean_member(result.record[["stage_days"]])["stage_days"].sel(stage=stage)
        days = np.unique(on["time"].values[on.values > 0.0].astype("datetime64[D]"))
        if days.size:
            long = number_of(len(days), "day") if not parts else str(len(days))
            parts.append(f"{stage_words(stage)} on {long}")
            began.append(days[0])
    if not parts:
        return []
    cut: dict[str, list[str]] = {}
    for town, share in zip(result.towns, result.values("cut_share"), strict=True):
        if share >= 0.0005:
            cut.setdefault(percent(share), []).append(place_words(town, result.names))
    cuts = [f"{share} of the use of {joined(towns)}" for share, towns in cut.items()]
    said = f"Drought stages were in force from {date_words(min(began))}: {joined(parts)}."
    return [f"{said} They cut {joined(cuts)}." if cuts else said]


def low_river_sentence(result: Result) -> str:
    """At which intakes the river fell below its minimum flow; empty if at none."""
    low = [
        (round(days), place_words(town, result.names))
        for town, days in zip(result.towns, result.values("days_under_minimum_flow"), strict=True)
        if days >= 0.5
    ]
    low.sort(key=lambda one: -one[0])
    said = [
        f"{number_of(days, 'day') if not place else days} at {town}"
        for place, (days, town) in enumerate(low)
    ]
    return f"The river was below its minimum flow on {joined(said)}." if low else ""


def is_untreated(result: Result) -> bool:
    """Whether any sewage overflowed untreated or bypassed aeration."""
    return any(volume > 0.0 for name in _UNTREATED for volume in result.values(f"{name}_volume"))


def untreated_sentences(result: Result, *, brief: bool = False) -> list[str]:
    """What overflowed untreated, or bypassed aeration, and when most of it did; if brief, of what
    bypassed aeration only where nothing overflowed."""
    said = []
    for town in result.towns:
        parts: list[str] = []
        for name, words in _UNTREATED.items():
            volume = result.value(f"{name}_volume", town=town)
            if volume > 0.0 and not (brief and parts):
                dates = _dates_with(result.table[name].sel(town=town))
                amount = format_quantity(volume, "volume", result.system)
                rate = mean_member(result.table[[name]].sel(town=town))[name]
                most = _day_words(rate["time"].values[int(rate.values.argmax())], result)
                on = f"on {most}" if dates <= 1 else f"on {dates} days, most on {most}"
                parts.append(f"{amount}{' of sewage and rain' if not parts else ''} {words} {on}")
        if parts:
            said.append(f"In {place_words(town, result.names)} {'; '.join(parts)}.")
    return said


def _day_words(date: np.datetime64, result: Result) -> str:
    """A date, without its year where the season has that day only once."""
    time = result.table["time"].values
    is_plain = time[-1] - time[0] < np.timedelta64(365, "D")
    return date_words(date).rsplit(" ", 1)[0] if is_plain else date_words(date)


def _dates_with(rate: xr.DataArray) -> int:
    """Dates on which there was any, be it for a few hours; of the members the mean."""
    day = rate["time"].values.astype("datetime64[D]")
    some = (rate.transpose("time", ...).values > 0.0).reshape(len(day), -1)
    return round(float(np.mean([np.unique(day[own]).size for own in some.T])))
