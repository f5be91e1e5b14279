"""The operator's round in words: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hydroloop.charts.words import date_words
from hydroloop.measures import OLDEST
from hydroloop.outputs.document import Ask, Block, Document, Fact, Items, Paragraph, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.plants import CAUTION
from hydroloop.plants.readings import (
    AIM_TOLERANCE,
    HOURS,
    INVENTED,
    TESTS,
    Flag,
    is_aim,
    judged_limits,
)
from hydroloop.plants.tap_limits import Limit, limits_of
from hydroloop.studies.operators_round import Round
from hydroloop.units.printing import System

_MANY = {"most": " in 95 % of a month", "mean": " as a yearly average"}
_UNITS = {"pH": "", "turbidity": "NTU"}  # all others in mg/L


def round_document(
    found: Round, changed: Changed, system: System, ask_next: Sequence[Ask] = ()
) -> Document:
    """The round: what needs a second look first, then the readings and the limits."""
    return Document(
        "round",
        f"The operator's round: {found.place}, {date_words(np.datetime64(found.day))}",
        [
            *changed.blocks,
            *_flagged(found.flags, found.above_mean),
            TableBlock(_readings(found)),
            TableBlock(_limits(), short=False),
            TableBlock(_flags(found), where="values"),
            Paragraph(
                f"The far end of the mains is the oldest {100 * OLDEST:.0f} % of their water "
                f"here, {found.oldest:.2g} days from the plant on average. What the "
                "walls of old pipes use up comes on top in a real town."
            ),
            Paragraph(
                f"* invented, from seed {found.seed}, town and date, and true of no plant: the "
                "model does not follow pH and turbidity. All else comes from the model's own "
                "water, with the shares of the table quality and the chlorine of "
                "plant.disinfection. Operators read every hour, day and night (common "
                "practice)."
            ),
        ],
        system,
        changed.ran,
        {
            "town": Fact(found.town),
            "day": Fact(str(found.day)),
            "seed": Fact(found.seed),
            "invented": Fact(list(INVENTED)),
            "far_end_age": Fact(found.oldest, "duration"),
        },
        (CAUTION,),
        ask_next=ask_next,
    )


def _readings(found: Round) -> Table:
    """A row for each hour; an exclamation mark stands behind what is flagged."""
    far = judged_limits("free chlorine", far_end=True)
    marks = {(flag.hour, "far end" if flag.limit in far else flag.test) for flag in found.flags}

    def column(test: str, values: np.ndarray, form: str) -> Column:
        name, unit = f"{test}*" if test in INVENTED else test, _UNITS.get(test, "mg/L")
        return Column(
            name,
            values,
            "number",
            unit=unit,
            words=[
                f"{value:{form}}" + ("!" if (hour, test) in marks else "")
                for hour, value in enumerate(values)
            ],
        )

    return Table(
        "readings",
        "At the plant's outlet; far end of the mains: free chlorine",
        [
            Column("hour", [f"{hour:02d}:00" for hour in range(HOURS)]),
            *(column(test, found.readings[test], ".3g") for test in TESTS),
            column("far end", found.far_end, ".2g"),
        ],
    )


def _flags(found: Round) -> Table:
    told = [*((flag, False) for flag in found.flags), *((flag, True) for flag in found.above_mean)]
    limits = [flag.limit for flag, _ in told]
    return Table(
        "flags",
        "Readings outside a limit",
        [
            Column("hour", [f"{flag.hour:02d}:00" for flag, _ in told]),
            Column("test", [flag.test for flag, _ in told]),
            Column("reading", [flag.reading for flag, _ in told], "number"),
            Column("low", [_end(limit.low) for limit in limits], "number"),
            Column("high", [_end(limit.high) for limit in limits], "number"),
            Column("unit", [limit.unit for limit in limits]),
            Column("is on a mean", ["yes" if is_mean else "no" for _, is_mean in told]),
            Column("kind", [limit.kind for limit in limits]),
            Column("source", [limit.source for limit in limits]),
            Column("meaning", [limit.meaning for limit in limits]),
        ],
    )


def _end(value: float | None) -> float:
    return float("nan") if value is None else value


def _flagged(found: list[Flag], above_mean: list[Flag]) -> list[Block]:
    """One item for each limit that was not met, with what it means."""
    if not found and not above_mean:
        return [Paragraph("Every reading meets its limit.")]
    said = []
    for limit in dict.fromkeys(flag.limit for flag in above_mean):
        readings = [flag.reading for flag in above_mean if flag.limit == limit]
        said.append(f"! {limit.test}: {_of_many(limit, readings)}")
    for limit, is_low in dict.fromkeys((flag.limit, flag.is_low) for flag in found):
        readings = [flag.reading for flag in found if (flag.limit, flag.is_low) == (limit, is_low)]
        worst = f"down to {min(readings):.3g}" if is_low else f"up to {max(readings):.3g}"
        said.append(
            f"! {limit.test} ({limit.where}; {limit.kind}, {_range(limit)}, "
            f"{limit.source}): {number_of(len(readings), 'hour')} outside, {worst}: "
            f"{limit.meaning}."
        )
    return [Items(said)]


def _of_many(limit: Limit, readings: list[float]) -> str:
    """Readings above a limit on a mean, or on most readings: one day does not break it."""
    highest, held = f"up to {max(readings):.3g} {limit.unit}", f"{limit.high:g} {limit.unit}"
    if limit.of == "most":
        return (
            f"{number_of(len(readings), 'hour')} above {held}, {highest}, where the law wants "
            f"95 % of a month's readings at or below it ({limit.source}). One day does not "
            f"break it; a month of such days would: {limit.meaning}."
        )
    who = "the law" if limit.kind == "legal" else "health advice"
    span = "lifetime" if "lifetime" in limit.where else "year"
    return (
        f"{highest}, above the {held} to which {who} holds the mean of a {span} "
        f"({limit.source}). One day does not break it; a {span} of such days would, and so "
        "much is no routine reading."
    )


def _limits() -> Table:
    rows = [
        (test, _range(limit) + _MANY.get(limit.of, ""), limit.kind, limit.source)
        for test in TESTS
        for limit in limits_of(test)
        if "far end" not in limit.where
    ]
    rows += [
        ("far end", _range(limit), limit.kind, limit.source)
        for limit in judged_limits("free chlorine", far_end=True)
    ]
    heads = ("test", "allowed", "kind", "source")
    return Table(
        "limits",
        "Limits",
        [Column(head, cells) for head, cells in zip(heads, zip(*rows, strict=True), strict=True)],
    )


def _range(limit: Limit) -> str:
    if is_aim(limit):
        above = 100.0 * (AIM_TOLERANCE - 1.0)
        return f"about {limit.high:g} {limit.unit}, flagged from {above:.0f} % above"
    if limit.low is not None and limit.high is not None:
        return f"{limit.low:g} to {limit.high:g}"
    ends = f"at least {limit.low:g}" if limit.high is None else f"at most {limit.high:g}"
    return ends if limit.unit == "-" else f"{ends} {limit.unit}"
