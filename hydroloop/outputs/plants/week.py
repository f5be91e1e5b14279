"""A week by the hour in words: why the tanks are there, and what the plant would need without."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from hydroloop import charts
from hydroloop.charts.picture import Picture as Drawn
from hydroloop.charts.words import date_words, percent, span_words
from hydroloop.outputs.document import Ask, Document, Fact, Paragraph, Picture, TableBlock
from hydroloop.outputs.document.table import Column, Table, known
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.plants import CAUTION
from hydroloop.plants.cautions import SHORT as CAPTION_CAUTION
from hydroloop.studies.hourly_week import HOURS, Week
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

# Days in which the level of the first hour still shows.
_SETTLING_DAYS = 3


def week_document(
    week: Week, changed: Changed, system: System, ask_next: Sequence[Ask] = ()
) -> Document:
    """The week, words first, then day by day; for scripts and files hour by hour."""
    said = (
        _peak(week, system),
        _plant(week, system),
        _equalising(week, system),
        _lasting(week, system),
        _without(week, system),
    )
    return Document(
        "week",
        f"By the hour: {week.place}, {span_words(week.time)}",
        [
            *changed.blocks,
            *map(Paragraph, said),
            TableBlock(_days(week), short=False),
            TableBlock(_hours(week), where="values"),
            Picture(f"{week.town}-week", partial(_draw, week, system)),
            *map(Paragraph, _notes(week)),
        ],
        system,
        changed.ran,
        _facts(week),
        (CAUTION,),
        ask_next=ask_next,
    )


def _flow(value: float, system: System) -> str:
    return format_quantity(value, "flow", system)


def _volume(value: float, system: System) -> str:
    return format_quantity(value, "volume", system)


def _clock(hour: int) -> str:
    return f"{hour % HOURS:02d}:00"


def _peak(week: Week, system: System) -> str:
    hour = week.peak_hour
    return (
        f"Most water is taken in the hour from {_clock(hour)} on "
        f"{date_words(week.time[hour])}: {_flow(float(week.demand[hour]), system)}, "
        f"{week.peak_ratio:.1f} times the average hour of that day."
    )


def _plant(week: Week, system: System) -> str:
    least, most = (_flow(float(flow), system) for flow in (week.made.min(), week.made.max()))
    made = most if least == most else f"{least} to {most}"
    demand = week.demand
    return (
        f"Over the week {made} came into the tanks, while {_flow(float(demand.min()), system)} "
        f"to {_flow(float(demand.max()), system)} were taken: the tanks give and take the "
        "difference."
    )


def _equalising(week: Week, system: System) -> str:
    day = week.busiest
    volume = float(week.equalising[day])
    of_day, of_tanks = percent(volume / week.days[day]), percent(volume / week.tanks)
    return (
        f"To even out the hours of the day with most demand, "
        f"{date_words(_midnight(week, day))}, takes {_volume(volume, system)} of storage: "
        f"{of_day} of what that day takes (common practice counts on 15 to 25 %; from memory), "
        f"and {of_tanks} of the {_volume(week.tanks, system)} that the tanks hold. A published "
        f"rule asks for {_volume(week.storage_rule, system)} in all"
        f"{', and water for fires on top' if week.stores_for_fires else ''} (Wyo. Water "
        "Quality Rules ch. 12 s. 13)."
    )


def _lasting(week: Week, system: System) -> str:
    lowest = int(week.level.argmin())
    return (
        f"The tanks stood lowest at {_clock(lowest)} on {date_words(_edge(week, lowest))}, "
        f"with {_volume(float(week.level[lowest]), system)}, "
        f"{percent(float(week.level[lowest]) / week.tanks)} of what they hold. Had nothing "
        f"come in from then on, that would have lasted {week.lasts_hours:.0f} hours of average "
        "demand."
    )


def _without(week: Week, system: System) -> str:
    peak = float(week.demand.max())
    words = (
        f"Without tanks {week.sources} would have to follow the peak hour, "
        f"{_flow(peak, system)}, instead of {_flow(float(week.made.max()), system)} at most. "
        f"The most that can be given is {_flow(week.able, system)}: "
    )
    over = int((week.demand > week.able * (1.0 + 1e-9)).sum())
    if over:
        return words + f"too little in {number_of(over, 'hour')} of the week."
    idle = 1.0 - float(week.demand.mean()) / peak
    return words + (
        f"enough, but {percent(idle)} of what is built for that hour would stand idle on average."
    )


def _midnight(week: Week, day: int) -> np.datetime64:
    return np.datetime64(week.time[day * HOURS])


def _edge(week: Week, edge: int) -> np.datetime64:
    return np.datetime64(week.time[0] + np.timedelta64(edge, "h"))


def _notes(week: Week) -> list[str]:
    notes = [
        "Use in homes and workplaces, and the watering of yards early and late, follow "
        "typical curves of a day (common practice). Leaks run at one rate, day and night."
    ]
    if week.short_hours:
        notes.append(
            f"Water was short in {number_of(week.short_hours, 'hour')} of the week: what "
            "is shown is what was taken, not what was asked for."
        )
    begun = (week.time[0].astype("datetime64[D]").astype(object) - week.season_start).days
    if begun < _SETTLING_DAYS:
        notes.append(
            "The season begins with this week or shortly before it, so its first days "
            "still show how full the tanks were taken to be."
        )
    return notes


def _days(week: Week) -> Table:
    demand, made = (flow.reshape(-1, HOURS) for flow in (week.demand, week.made))
    level = week.level[:-1].reshape(-1, HOURS) / week.tanks
    dates = [_midnight(week, day) for day in range(len(demand))]
    means = week.days

    def hours(at: np.ndarray) -> list[str]:
        return [_clock(int(hour)) for hour in at]

    return Table(
        "days",
        "Day by day",
        [
            Column(
                "day", [str(day)[:10] for day in dates], words=[date_words(day) for day in dates]
            ),
            Column("taken, on average", means, "flow", "taken"),
            Column("peak hour", hours(demand.argmax(axis=1))),
            Column(
                "over mean",
                [
                    most / mean if mean else 0.0
                    for most, mean in zip(demand.max(axis=1), means, strict=True)
                ],
                "number",
                "peak_over_mean",
            ),
            Column("made, least", made.min(axis=1), "flow"),
            Column("made, most", made.max(axis=1), "flow"),
            Column("to even out", week.equalising, "volume", "equalising"),
            Column("tanks fullest", level.max(axis=1), "share"),
            Column("at", hours(level.argmax(axis=1)), key="fullest_at"),
            Column("lowest", level.min(axis=1), "share", "tanks_lowest"),
            Column("at", hours(level.argmin(axis=1)), key="lowest_at"),
        ],
    )


def _hours(week: Week) -> Table:
    return Table(
        "hours",
        "Hour by hour",
        [
            Column("hour", [str(hour) for hour in week.time.astype("datetime64[m]")]),
            *(Column(who, taken, "flow") for who, taken in week.taken.items()),
            Column("made", week.made, "flow"),
            Column("tanks before", week.level[:-1], "volume"),
            Column("tanks after", week.level[1:], "volume"),
        ],
    )


def _facts(week: Week) -> dict[str, Fact]:
    return {
        "town": Fact(week.town),
        "tanks_full": Fact(week.tanks, "volume"),
        "able": Fact(known(week.able), "flow"),
        "peak_hour": Fact(str(week.time[week.peak_hour])[:13] + ":00"),
        "peak_hour_over_mean_hour": Fact(week.peak_ratio, "number"),
        "busiest_day": Fact(str(_midnight(week, week.busiest))[:10]),
        "equalising_share_of_tanks": Fact(week.equalising[week.busiest] / week.tanks, "share"),
        "storage_rule": Fact(week.storage_rule, "volume"),
        "lasts": Fact(week.lasts_hours, "number", "h"),
        "short_hours": Fact(week.short_hours, "count"),
    }


def _draw(week: Week, system: System) -> Drawn:
    day = week.busiest
    caption = (
        f"{_peak(week, system)} {_plant(week, system)} Evening out the hours of "
        f"{date_words(_midnight(week, day))} takes "
        f"{_volume(float(week.equalising[day]), system)}, "
        f"{percent(week.equalising[day] / week.tanks)} of the tanks. {CAPTION_CAUTION}"
    )
    return charts.week(
        week.place,
        week.time,
        week.taken,
        week.made,
        week.level,
        full=week.tanks,
        able=week.able,
        caption=caption,
        units=system,
    )
