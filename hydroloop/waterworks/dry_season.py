"""How a dry season is made: which days serve which, and the factors on rain and inflow."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from hydroloop.errors import InputError, Problem
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_dry import DrySeason
from hydroloop.waterworks.file_record import FileRecord, file_record
from hydroloop.weather import season_days
from hydroloop.weather.bootstrap import (
    bootstrap_days,
    days_of_other_years,
    map_in_words,
    no_whole_season,
    season_years,
    whole_shifts,
)
from hydroloop.weather.dry import (
    Pick,
    at_rank,
    driest,
    invented_rain_mm,
    lowest_mean,
    of_each_season,
    once_in,
    picked,
    season_seeds,
)

_YEARS_GENERATED, _TO_MATCH = 30, 99
# One year can be named, of two one is the drier, and a skew needs three.
_FEWEST_YEARS = {"year": 1, "driest_year": 2, "one_in_years": 3}


@dataclass(frozen=True)
class Dryness:
    """What a dry season does to weather and inflow.

    Attributes
    ----------
    source_days : ndarray of shape (day,) or None
        Day of the files that serves each day of the season; None: the day itself. One map for
        weather and every inflow, so that they stay of one piece.
    seed : int or None
        Seed of the weather generator; None: the scenario's own.
    rain_scale, flow_scale, steady_scale : float
        Factors on rain, on inflow from files, and on inflow given as one number [-].
    warmer_by_c : float
        Added to all temperatures [C].
    rain_ratio, flow_ratio : float
        The season's rain, and its inflow from files, over those of a usual season [-].
    said : dict of str
        The same in words.
    """

    source_days: np.ndarray | None = None
    seed: int | None = None
    rain_scale: float = 1.0
    flow_scale: float = 1.0
    steady_scale: float = 1.0
    warmer_by_c: float = 0.0
    rain_ratio: float = 1.0
    flow_ratio: float = 1.0
    said: dict[str, str] = field(default_factory=dict)


def dryness(scenario: Scenario, seed: int | None = None) -> Dryness:
    """What the scenario's dry season does to weather and inflow."""
    dry = scenario.dry_season
    if dry is None:
        return Dryness(seed=seed)
    if dry.method == "scale":
        found = Dryness(seed=seed, said={"dry_season": "scaled"})
    elif (record := file_record(scenario)) is not None:
        found = _from_files(scenario, dry, record, seed)
    else:
        found = _from_generator(scenario, dry, seed)
    return _scaled(found, dry)


def _scaled(found: Dryness, dry: DrySeason) -> Dryness:
    """The scenario's own factors upon what was picked."""
    flow_scale = dry.rain_scale**dry.flow_elasticity
    flow_scale = flow_scale if dry.flow_scale is None else dry.flow_scale
    words = found.said["dry_season"]
    for what, factor in (("rain", dry.rain_scale), ("inflow", flow_scale)):
        words += f"; {what} times {factor:.3g}" if factor != 1.0 else ""
    words += f"; {dry.warmer_by:g} C warmer" if dry.warmer_by else ""
    return replace(
        found,
        rain_scale=found.rain_scale * dry.rain_scale,
        flow_scale=found.flow_scale * flow_scale,
        steady_scale=found.steady_scale * flow_scale,
        warmer_by_c=dry.warmer_by,
        rain_ratio=found.rain_ratio * dry.rain_scale,
        flow_ratio=found.flow_ratio * flow_scale,
        said={**found.said, "dry_season": words},
    )


def _from_files(
    scenario: Scenario, dry: DrySeason, record: FileRecord, seed: int | None
) -> Dryness:
    days = season_days(scenario.season.start, scenario.season.end)
    if dry.method == "bootstrap":
        pick, block = None, dry.block
        source = bootstrap_days(
            days, record.first, record.last, seed=_lot(dry.seed, seed), block=block
        )
        starts = source[np.unique(season_years(days) // block, return_index=True)[1]]
        words = f"years drawn at random, dry or wet: {', '.join(str(day)[:4] for day in starts)}"
    else:
        block = len(days)
        pick, source, words = _one_year(dry, record, days)
    factor = 1.0 if pick is None else pick.factor
    by_flow = _by_flow(dry, record)
    rain_scale, flow_scale = (1.0, factor) if by_flow else (factor, 1.0)
    mapped = (days, source, block)
    rain = rain_scale * _served_over_usual(record.rain, record, mapped)
    flow = flow_scale * _served_over_usual(record.flow, record, mapped)
    return Dryness(
        source_days=source,
        seed=_matching_seed(scenario, dry, pick, seed),
        rain_scale=rain_scale,
        flow_scale=flow_scale,
        # A steady inflow falls with the measured inflow, or else with a power of the rain.
        steady_scale=rain**dry.flow_elasticity if record.flow is None else flow,
        rain_ratio=rain,
        flow_ratio=flow,
        said={"dry_season": words, "days_from": map_in_words(days, source)},
    )


def _lot(own: int, seed: int | None) -> int:
    """Seed of the lot: the dry season's own, and mixed with a member's where there is one."""
    if seed is None:
        return own
    return int(np.random.SeedSequence([own, seed]).generate_state(1)[0])


def _by_flow(dry: DrySeason, record: FileRecord) -> bool:
    return (dry.judged_by or ("rain" if record.flow is None else "flow")) == "flow"


def _one_year(dry: DrySeason, record: FileRecord, days: np.ndarray) -> tuple[Pick, np.ndarray, str]:
    """The year picked, its days, and words for it."""
    shifts = whole_shifts(days, record.first, record.last)
    if not shifts:
        raise no_whole_season(days, record.first, record.last)
    least = _FEWEST_YEARS[dry.method]
    if len(shifts) < least:
        held = f"{len(shifts)} year" + ("s" if len(shifts) > 1 else "")
        what = f"the files hold the season in {held}, and {dry.method} needs {least}."
        raise InputError(Problem("dry_season", what, "Give longer files, or scale the season."))
    by_flow = _by_flow(dry, record)
    seasons = of_each_season(record.values(by_flow), record.first, days, shifts)
    totals = seasons.sum(axis=1)
    if dry.method == "driest_year":
        pick = driest(totals)
    elif dry.method == "one_in_years":
        values = lowest_mean(seasons, round(dry.days)) if by_flow else totals
        pick = once_in(values, dry.years, frequency=dry.frequency)
    else:
        pick = picked(totals, _place_of(dry.year, days, shifts))
    source = days_of_other_years(days, shifts[pick.place])
    return pick, source, _words(dry, pick, source, len(shifts), "inflow" if by_flow else "rain")


def _place_of(year: int | None, days: np.ndarray, shifts: list[int]) -> int:
    """Which of the years that the files hold begins in the year named."""
    own = int(str(days[0])[:4])
    held = [own + shift for shift in shifts]
    if year not in held:
        what = f"the files do not hold the season whole in {year}."
        cure = f"Name a year from {held[0]} to {held[-1]}."
        raise InputError(Problem("dry_season", what, cure, "year"))
    return held.index(year)


def _words(dry: DrySeason, pick: Pick, source: np.ndarray, n: int, what: str) -> str:
    years = str(source[0])[:4]
    years += f"-{str(source[-1])[2:4]}" if str(source[-1])[:4] != years else ""
    if dry.method == "year":
        return f"the days of {years}"
    if dry.method == "driest_year":
        return f"the days of {years}, the driest of {n} by {what}"
    words = f"as dry as comes once in {dry.years:g} years: the days of {years}"
    words += f", their {what} times {pick.factor:.3g}" if pick.factor != 1.0 else ""
    if pick.is_exercise:
        words += f"; an exercise, as {n} years are few for once in {dry.years:g}"
    return words


def _served_over_usual(
    values: np.ndarray | None, record: FileRecord, mapped: tuple[np.ndarray, np.ndarray, int]
) -> float:
    """Total of the days served, over the mean total of the season in all years of the record.

    The mean is taken block by block. One where nothing was recorded.
    """
    if values is None:
        return 1.0
    days, source, block = mapped
    part = season_years(days) // block
    usual = 0.0
    for which in range(int(part[-1]) + 1):
        inside = days[part == which]
        shifts = whole_shifts(inside, record.first, record.last)
        usual += float(of_each_season(values, record.first, inside, shifts).sum(axis=1).mean())
    served = float(values[(source - record.first).astype(int)].sum())
    return served / usual if usual > 0.0 else 1.0


def _matching_seed(
    scenario: Scenario, dry: DrySeason, pick: Pick | None, seed: int | None
) -> int | None:
    """Where the weather is generated and the inflow measured, a generated season as dry for its
    kind as the picked one: of the same rank among many."""
    if scenario.weather.file is not None or pick is None:
        return seed
    seeds, rain = _invented(scenario, dry.generate or _TO_MATCH, seed)
    return seeds[at_rank(rain, pick.rank).place]


def _from_generator(scenario: Scenario, dry: DrySeason, seed: int | None) -> Dryness:
    if dry.method == "driest_year":
        seeds, rain = _invented(scenario, dry.generate or _YEARS_GENERATED, seed)
        pick = driest(rain)
        words = f"the driest of {len(seeds)} generated seasons"
    else:
        n = dry.generate or max(round(10 * dry.years) - 1, 3)
        seeds, rain = _invented(scenario, n, seed)
        pick = at_rank(rain, 1.0 / dry.years)
        words = (
            f"as dry as comes once in {dry.years:g} years: number {round(pick.rank * (n + 1))} "
            f"from the driest of {n} generated seasons"
        )
    usual = float(rain.mean())
    ratio = float(rain[pick.place]) / usual if usual > 0.0 else 1.0
    return Dryness(
        seed=seeds[pick.place],
        steady_scale=ratio**dry.flow_elasticity,
        rain_ratio=ratio,
        said={"dry_season": words},
    )


def _invented(scenario: Scenario, n: int, seed: int | None) -> tuple[list[int], np.ndarray]:
    season, weather = scenario.season, scenario.weather
    first = weather.seed if seed is None else seed
    span = (str(season.start), str(season.end))
    return _many_seasons(weather.climate, span, first, n, weather.latitude < 0)


@lru_cache(maxsize=32)
def _many_seasons(
    climate: str, span: tuple[str, str], seed: int, n: int, southern: bool
) -> tuple[list[int], np.ndarray]:
    seeds = season_seeds(seed, n)
    return seeds, invented_rain_mm(climate, *span, seeds, southern=southern)
