"""Questions of the worksheet, with numbers of the run, and the steps to their answers.

The numbers are rounded as students see them, and the answers are worked out from those, step by
step as they are printed: numbers on the way in four figures, answers in three.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from hydroloop.charts.words import date_words, use_words
from hydroloop.outputs.document.wording import figure
from hydroloop.outputs.lesson.facts import DROPS, Lesson, power_words, printed_percent
from hydroloop.units import display_unit, parse

LITERS = parse("1 gal", "volume").value * 1000.0
"""Liters in a US gallon."""
_GLASS_ML, _GLASS_G, _MOLE_G, _AVOGADRO = 250.0, 249.5, 18.0, 6.02e23


@dataclass(frozen=True)
class Question:
    """One question."""

    level: int  # 1 is for all, 2 goes on from there
    words: str  # what is asked, with its numbers
    steps: tuple[str, ...]  # the way to the answer, line by line
    answer: float  # the answer, from the numbers as they are printed
    unit: str  # its unit; empty for a plain number
    given: Mapping[str, float]  # the printed numbers by name
    more: str = ""  # what else is asked, behind the unit


def questions(lesson: Lesson) -> list[Question]:
    """All questions that the run of a town has numbers for."""
    made = (make(lesson) for make in _ALL)
    return [one for one in made if one is not None and math.isfinite(one.answer)]


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


def three_figures(value: float) -> str:
    """An answer in three figures, with the noughts that count."""
    rounded = _rounded(value)
    if not rounded or not 1e-4 <= abs(rounded) < 1e9:
        return figure(value)
    return f"{rounded:,.{max(0, 2 - math.floor(math.log10(abs(rounded))))}f}"


def _kept(value: float) -> float:
    """A number on the way, in four figures: what is worked out from it is right in three."""
    return float(f"{value:.4g}")


def _on_the_way(value: float) -> str:
    return f"{_kept(value):,.10f}".rstrip("0").rstrip(".").replace("-", "\N{MINUS SIGN}")


def _flow(lesson: Lesson, value: float) -> tuple[float, str, float]:
    """A flow in the unit for large flows, rounded; its unit; how many of the small unit it is."""
    unit = display_unit("flow", lesson.result.system, largest=1e5)
    return _rounded(value * unit.factor), unit.name, 1e6


def _small(lesson: Lesson) -> str:
    return "gallons" if lesson.result.system == "us" else "liters"


def _a_person(lesson: Lesson) -> Question | None:
    people = lesson.result.scenario.town[lesson.town].people
    flow, unit, many = _flow(lesson, lesson.mean("delivered"))
    if not people > 0 or not flow > 0:
        return None
    each, place = flow * many / people, lesson.place
    return Question(
        1,
        f"{people:,.0f} people live in {place}. All homes together get {figure(flow)} {unit} on "
        f"a mean day. How many {_small(lesson)} is that for each person?",
        (
            f"{figure(flow)} {unit} is {flow * many:,.0f} {_small(lesson)} a day.",
            f"{flow * many:,.0f} ÷ {people:,.0f} = {three_figures(each)}",
        ),
        each,
        f"{_small(lesson)} a person and day",
        {"flow": flow, "people": float(people)},
    )


def _converted(lesson: Lesson) -> Question | None:
    first = _a_person(lesson)
    if first is None:
        return None
    asked, us = _rounded(first.answer), lesson.result.system == "us"
    one, other = ("gallons", "liters") if us else ("liters", "gallons")
    factor = round(LITERS, 3) if us else 1.0 / round(LITERS, 3)
    sign, back = ("×", "÷") if us else ("÷", "×")
    there = asked * factor
    back_again = _kept(there) / factor
    return Question(
        1,
        f"One gallon is {LITERS:.3f} liters. How many {other} are {figure(asked)} {one}? Turn "
        f"your answer back into {one} to check it.",
        (
            f"{figure(asked)} {sign} {LITERS:.3f} = {_on_the_way(there)} {other}",
            f"{_on_the_way(there)} {back} {LITERS:.3f} = {figure(back_again)} {one}",
        ),
        there,
        other,
        {"asked": asked, "factor": factor},
    )


def _of_the_glass(lesson: Lesson) -> Question:
    share = lesson.used_percent
    return Question(
        1,
        f"A glass holds 250 milliliters. On {date_words(lesson.day)}, {lesson.used_words} of the "
        f"tap water in {lesson.place} had been {lesson.result.use.within} before. How "
        "many milliliters of the glass is that?",
        (f"250 × {figure(share)} ÷ 100 = {three_figures(_GLASS_ML * share / 100)}",),
        _GLASS_ML * share / 100,
        "milliliters",
        {"percent": share},
    )


def _expected(lesson: Lesson) -> Question:
    share = lesson.used_percent
    answer = DROPS * share / 100
    return Question(
        1,
        f"Your class looks at {DROPS} drops of this water. {lesson.used_words} of all drops were "
        "used before. About how many of yours do you expect to be?",
        (
            f"{DROPS} × {figure(share)} ÷ 100 = {three_figures(answer)}",
            *(
                [f"The tally sheet has {lesson.expected}: its share is not rounded."]
                if f"{answer:.1f}" != lesson.expected
                else []
            ),
        ),
        answer,
        "drops",
        {"percent": share},
    )


def _comes_back(lesson: Lesson) -> Question | None:
    taken = lesson.mean("withdrawn") + lesson.mean("pumped")
    (taken, unit, _), (back, *_) = _flow(lesson, taken), _flow(lesson, lesson.mean("effluent"))
    if not taken > 0 or not back > 0:
        return None
    place = lesson.place
    return Question(
        1,
        f"{place} takes in {figure(taken)} {unit} on a mean day. Its wastewater plant gives "
        f"{figure(back)} {unit} back. What percent is that? Name two places where the rest may go.",
        (
            f"{figure(back)} ÷ {figure(taken)} × 100 = {three_figures(100 * back / taken)} %",
            "The rest leaks, waters yards, goes into the air, or is in what people drink and make. "
            "(Rain and ground water that get into the sewers add to what comes back.)",
        ),
        100 * back / taken,
        "%",
        {"taken": taken, "back": back},
    )


def _turnover(lesson: Lesson) -> Question | None:
    table, record = lesson.result.table, lesson.result.record
    store = f"{lesson.town}/clearwell"
    if store not in table["store"].values.tolist():
        return None
    volume = float(record["volume"].sel(store=store).mean())
    days = float(table["turnover_time"].sel(store=store))
    if not (volume > 0 and days > 0 and math.isfinite(days)):
        return None
    flow, unit, _ = _flow(lesson, volume / days)
    held, word = (
        _rounded(volume * display_unit("flow", lesson.result.system, largest=1e5).factor),
        unit.split("/")[0],
    )
    days = _kept(held / flow)
    return Question(
        2,
        f"The last tank of the water plant holds {figure(held)} {word}. {figure(flow)} {unit} "
        "run through it. How many hours does water stay there, on average?",
        (
            f"{figure(held)} ÷ {figure(flow)} = {_on_the_way(days)} days",
            f"{_on_the_way(days)} × 24 = {three_figures(days * 24)} hours",
        ),
        days * 24,
        "hours",
        {"held": held, "flow": flow},
    )


def _mean_uses(lesson: Lesson) -> Question | None:
    shares = [
        printed_percent(float(share))
        for share in lesson.result.on_day("use_share", lesson.town, lesson.day).values
    ]
    used = [(times, share) for times, share in enumerate(shares) if times and share > 0]
    if not used:
        return None
    mean = sum(times * share for times, share in used) / 100
    listed = ", ".join(
        f"{figure(share)} % {use_words(times, len(shares))}" for times, share in used
    )
    model = figure(lesson.daily("mean_uses"))
    return Question(
        2,
        f"Of a glass in {lesson.place}, this much had been "
        f"{lesson.result.use.within} before: {listed}. The rest was new. How often had a drop been "
        "used, on average?",
        (
            " + ".join(f"{times} × {figure(share / 100)}" for times, share in used)
            + f" = {three_figures(mean)}",
            f"The mean, {figure(mean)}, is more than the used share, "
            f"{figure(lesson.used_percent / 100)}: some drops count more than once."
            if len(used) > 1
            else "Here the mean is the used share: no drop counts more than once.",
            *(
                [f"The model itself has {model}: its shares are not rounded."]
                if model not in ("-", figure(mean))
                else []
            ),
        ),
        mean,
        "",
        {f"percent_{times}": share for times, share in used},
    )


def _ratio(lesson: Lesson) -> Question | None:
    river, returned = lesson.mean("river_flow_at_intake"), lesson.returned_above()
    if not (river > 0 and returned > 0):
        return None
    (flow, unit, _), (back, *_) = _flow(lesson, river), _flow(lesson, returned)
    return Question(
        2,
        f"On a mean day the river brings {figure(flow)} {unit} to the intake of "
        f"{lesson.place}. Upstream, {figure(back)} {unit} of wastewater were put into "
        "it. What is wastewater over river flow, in percent? Can this number pass 100?",
        (
            f"{figure(back)} ÷ {figure(flow)} × 100 = {three_figures(100 * back / flow)} %",
            "Yes. Each town's wastewater is counted, though the next town takes some of it in "
            "again. So it is not the share of the glass that was used.",
        ),
        100 * back / flow,
        "%",
        {"flow": flow, "back": back},
    )


def _molecules(lesson: Lesson) -> Question | None:
    count = lesson.result.value("molecules_in_homes_last_month", town=lesson.town)
    whole = lesson.result.value("molecules_in_a_glass")
    share = printed_percent(float(count / whole)) if whole > 0 else math.nan
    if not share > 0:
        return None
    all_of = float(f"{_GLASS_G / _MOLE_G * _AVOGADRO:.3e}")
    return Question(
        2,
        f"A glass of 250 milliliters holds {_GLASS_G:g} grams of water. {figure(_MOLE_G)} "
        "grams of water are 6.02 × 10²³ molecules. "
        f"How many molecules are in a glass? {figure(share)} % of them were in a home in the last "
        "30 days. How many is that?",
        (
            f"{_GLASS_G:g} ÷ {figure(_MOLE_G)} × 6.02 × 10²³ = {power_words(all_of, 4)}",
            f"{power_words(all_of, 4)} × {figure(share)} ÷ 100 = "
            f"{power_words(all_of * share / 100)}",
        ),
        all_of * share / 100,
        "molecules",
        {"percent": share},
    )


def _spread(lesson: Lesson) -> Question | None:
    share = lesson.used_percent / 100
    if not 0 < share < 1:
        return None
    square = _kept(DROPS * share * (1 - share))
    mean, spread = _kept(DROPS * share), _kept(math.sqrt(square))
    low, high = mean - 2 * spread, mean + 2 * spread
    counts = f"{max(math.ceil(low), 0)} to {math.floor(high)}"
    return Question(
        2,
        f"Counts of chance spread around their mean. For {DROPS} drops and a share p the usual "
        f"spread is the square root of {DROPS} × p × (1 − p). Work it out for p = "
        f"{figure(share)}. Which counts lie within two spreads of the mean?",
        (
            f"{DROPS} × {figure(share)} × {_on_the_way(1 - share)} = {_on_the_way(square)}",
            f"square root of {_on_the_way(square)} = {_on_the_way(spread)}",
            f"{DROPS} × {figure(share)} = {_on_the_way(mean)}",
            f"{_on_the_way(mean)} − 2 × {_on_the_way(spread)} = {_on_the_way(low)}; "
            f"{_on_the_way(mean)} + 2 × {_on_the_way(spread)} = {_on_the_way(high)}",
            f"So these are the counts from {counts}.",
        ),
        spread,
        "drops",
        {"share": share},
        f" is the spread; the counts from {counts} lie within two",
    )


def _larger(lesson: Lesson) -> Question | None:
    first = _comes_back(lesson)
    if first is None:
        return None
    back = first.given["back"]
    unit = display_unit("flow", lesson.result.system, largest=1e5).name
    us = lesson.result.system == "us"
    other, factor = ("ML/day", round(LITERS, 3)) if us else ("Mgal/day", 1 / round(LITERS, 3))
    sign, again = ("×", "÷") if us else ("÷", "×")
    there = back * factor
    return Question(
        2,
        f"The wastewater plant gives back {figure(back)} {unit}. A partner school uses "
        f"{other}. One gallon is {LITERS:.3f} liters, so one Mgal is {LITERS:.3f} ML. Turn the "
        "number into their unit, and back.",
        (
            f"{figure(back)} {sign} {LITERS:.3f} = {_on_the_way(there)} {other}",
            f"{_on_the_way(there)} {again} {LITERS:.3f} = {figure(_kept(there) / factor)} {unit}",
        ),
        there,
        other,
        {"back": back, "factor": factor},
    )


_ALL: tuple[Callable[[Lesson], Question | None], ...] = (
    _a_person,
    _converted,
    _of_the_glass,
    _expected,
    _comes_back,
    _turnover,
    _mean_uses,
    _ratio,
    _molecules,
    _spread,
    _larger,
)


def levels(made: list[Question]) -> Iterator[tuple[int, list[Question]]]:
    """Questions of each level."""
    for level in (1, 2):
        yield level, [one for one in made if one.level == level]
