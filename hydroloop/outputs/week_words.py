"""A week by the hour in words: why the tanks are there, and what the plant would need without."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from hydroloop import charts
from hydroloop.charts.words import date_words, percent, place_words, span_words
from hydroloop.outputs.table import as_lines, known
from hydroloop.outputs.wording import number_of, wrap
from hydroloop.plants import CAUTION
from hydroloop.plants.cautions import SHORT as CAPTION_CAUTION
from hydroloop.studies.hourly_week import HOURS, Week
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

# Days in which the level of the first hour still shows.
_SETTLING_DAYS = 3


def week_lines(week: Week, system: System) -> list[str]:
    """The week as lines of text, words first.

    Parameters
    ----------
    week : Week
        What was found.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    sentences = (_peak(week, system), _plant(week, system), _equalising(week, system),
                 _lasting(week, system), _without(week, system))
    return [
        f"By the hour: {place_words(week.town)}, {span_words(week.time)}", "",
        *(line for words in sentences for line in wrap(words, "  ", first="  ")),
        "", "Day by day", *as_lines(_days(week, system)), "",
        *(line for words in _notes(week) for line in wrap(words, "  ", first="  ")),
        *wrap(CAUTION, "  ", first="  "),
    ]  # fmt: skip


def _flow(value: float, system: System) -> str:
    return format_quantity(value, "flow", system)


def _volume(value: float, system: System) -> str:
    return format_quantity(value, "volume", system)


def _clock(hour: int) -> str:
    return f"{hour % HOURS:02d}:00"


def _peak(week: Week, system: System) -> str:
    hour = week.peak_hour
    return (f"Most water is taken in the hour from {_clock(hour)} on "
            f"{date_words(week.time[hour])}: {_flow(float(week.demand[hour]), system)}, "
            f"{week.peak_ratio:.1f} times the mean hour of that day.")


def _plant(week: Week, system: System) -> str:
    least, most = (_flow(float(flow), system) for flow in (week.made.min(), week.made.max()))
    made = most if least == most else f"{least} to {most}"
    demand = week.demand
    return (f"Over the week {made} came into the tanks, while {_flow(float(demand.min()), system)} "
            f"to {_flow(float(demand.max()), system)} were taken: the tanks give and take the "
            "difference.")


def _equalising(week: Week, system: System) -> str:
    day = week.busiest
    volume = float(week.equalising[day])
    of_day, of_tanks = percent(volume / week.days[day]), percent(volume / week.tanks)
    return (f"To even out the hours of the day with most demand, "
            f"{date_words(_midnight(week, day))}, takes {_volume(volume, system)} of storage: "
            f"{of_day} of what that day takes (common practice counts on 15 to 25 %; from memory), "
            f"and {of_tanks} of the {_volume(week.tanks, system)} that the tanks hold. A published "
            f"rule asks for {_volume(week.storage_rule, system)} in all"
            f"{', and water for fires on top' if week.stores_for_fires else ''} (Wyo. Water "
            "Quality Rules ch. 12 s. 13).")


def _lasting(week: Week, system: System) -> str:
    lowest = int(week.level.argmin())
    return (f"The tanks stood lowest at {_clock(lowest)} on {date_words(_edge(week, lowest))}, "
            f"with {_volume(float(week.level[lowest]), system)}, "
            f"{percent(float(week.level[lowest]) / week.tanks)} of what they hold. Had nothing "
            f"come in from then on, that would have lasted {week.lasts_hours:.0f} hours of mean "
            "demand.")


def _without(week: Week, system: System) -> str:
    peak = float(week.demand.max())
    words = (f"Without tanks {week.sources} would have to follow the peak hour, "
             f"{_flow(peak, system)}, instead of {_flow(float(week.made.max()), system)} at most. "
             f"The most that can be given is {_flow(week.able, system)}: ")
    over = int((week.demand > week.able * (1.0 + 1e-9)).sum())
    if over:
        return words + f"too little in {number_of(over, 'hour')} of the week."
    idle = 1.0 - float(week.demand.mean()) / peak
    return words + (f"enough, but {percent(idle)} of what is built for that hour would stand idle "
                    "on the mean of the week.")


def _midnight(week: Week, day: int) -> np.datetime64:
    return np.datetime64(week.time[day * HOURS])


def _edge(week: Week, edge: int) -> np.datetime64:
    return np.datetime64(week.time[0] + np.timedelta64(edge, "h"))


def _notes(week: Week) -> list[str]:
    notes = ["Use in homes and workplaces, and the watering of yards early and late, follow "
             "typical curves of a day (common practice). Leaks are taken in step with use; real "
             "ones run all night."]
    if week.short_hours:
        notes.append(f"Water was short in {number_of(week.short_hours, 'hour')} of the week: what "
                     "is shown is what was taken, not what was asked for.")
    begun = (week.time[0].astype("datetime64[D]").astype(object) - week.season_start).days
    if begun < _SETTLING_DAYS:
        notes.append("The season begins with this week or shortly before it, so its first days "
                     "still show how full the tanks were taken to be.")
    return notes


def _days(week: Week, system: System) -> list[list[str]]:
    rows = [["", "taken, mean", "peak hour", "over mean", "made, least", "most", "to even out",
             "tanks fullest", "lowest"]]
    for day, mean in enumerate(week.days):
        hours = slice(day * HOURS, (day + 1) * HOURS)
        demand, made, level = week.demand[hours], week.made[hours], week.level[hours]
        rows.append([
            date_words(_midnight(week, day)), _flow(float(mean), system),
            _clock(int(demand.argmax())), f"{demand.max() / mean if mean else 0.0:.2f}",
            _flow(float(made.min()), system), _flow(float(made.max()), system),
            _volume(float(week.equalising[day]), system),
            f"{percent(level.max() / week.tanks)} at {_clock(int(level.argmax()))}",
            f"{percent(level.min() / week.tanks)} at {_clock(int(level.argmin()))}"])
    return rows


def week_facts(week: Week) -> dict[str, Any]:
    """The week as plain values for a script.

    Parameters
    ----------
    week : Week
        What was found.

    Returns
    -------
    dict
        Flows [m3/d], volumes [m3], ratios [-] and hours, hour by hour and as a whole.
    """
    return {
        "town": week.town, "hours": [str(hour)[:16] for hour in week.time.astype("datetime64[m]")],
        "taken_m3_per_d": {who: values.tolist() for who, values in week.taken.items()},
        "made_m3_per_d": week.made.tolist(), "tanks_m3": week.level.tolist(),
        "tanks_full_m3": week.tanks, "able_m3_per_d": known(week.able),
        "peak_hour": str(week.time[week.peak_hour])[:13] + ":00",
        "peak_hour_over_mean_hour": week.peak_ratio,
        "busiest_day": str(_midnight(week, week.busiest))[:10],
        "equalising_m3": week.equalising.tolist(),
        "equalising_share_of_tanks": float(week.equalising[week.busiest] / week.tanks),
        "storage_rule_m3": week.storage_rule, "lasts_hours": week.lasts_hours,
        "short_hours": week.short_hours, "caution": CAUTION,
    }  # fmt: skip


def draw_week(week: Week, path: Path, system: System, *, force: bool = False) -> None:
    """Draw the week into one file.

    Parameters
    ----------
    week : Week
        What was found.
    path : Path
        File, ending in .png or .svg.
    system : str
        ``"us"`` or ``"metric"``.
    force : bool
        Replace a picture that hydroloop wrote there and nobody changed.
    """
    day = week.busiest
    caption = (f"{_peak(week, system)} {_plant(week, system)} Evening out the hours of "
               f"{date_words(_midnight(week, day))} takes "
               f"{_volume(float(week.equalising[day]), system)}, "
               f"{percent(week.equalising[day] / week.tanks)} of the tanks. {CAPTION_CAUTION}")
    figure = charts.week(week.town, week.time, week.taken, week.made, week.level, full=week.tanks,
                         able=week.able, caption=caption, units=system)
    charts.save(figure, path.with_suffix(""), (path.suffix[1:],), force=force)
