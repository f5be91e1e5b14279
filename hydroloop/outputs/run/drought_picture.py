"""The drought picture of a run, or of two laid over each other, with its caption."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import xarray as xr

from hydroloop import charts
from hydroloop.charts.asking import mean_member
from hydroloop.charts.drought import DryRun, Watched
from hydroloop.charts.words import date_words, joined, percent, river_words
from hydroloop.measures import run_of, unmet
from hydroloop.measures.towns import LEAVES_AS_WATER
from hydroloop.outputs.document.wording import amount, number_of, sentence
from hydroloop.placenames import stage_words
from hydroloop.record import flow_mask, flow_total, step_days
from hydroloop.scenario import Scenario
from hydroloop.units import display_unit, format_quantity
from hydroloop.units.printing import System


def has_drought(scenario: Scenario, record: xr.Dataset) -> bool:
    """Whether a run has drought stages, and one of them came into force."""
    return (
        bool(scenario.stage) and "stage_days" in record and bool((record["stage_days"] > 0.0).any())
    )


def drought_picture(
    scenarios: Sequence[Scenario],
    records: Sequence[tuple[str, xr.Dataset]],
    system: System,
    more: str = "",
) -> charts.Picture:
    """The stages of a scenario that watch what most of them watch, in one run (its name empty) or
    in two that are laid over each other, each with its scenario; the caption ends with `more`."""
    scenario = scenarios[-1]
    names = _same_water(scenario)
    first = scenario.stage[names[0]]
    means = [(name, mean_member(record)) for name, record in records]
    if first.reservoir is not None:
        factor, unit = 100.0, "%"
        levels = [
            record["volume"].sel(store=f"{first.reservoir}/reservoir").values[1:]
            / one.reservoir[first.reservoir].capacity
            for one, (_, record) in zip(scenarios, means, strict=True)
        ]
        words = str(means[0][1]["label"].sel(store=f"{first.reservoir}/reservoir").values)
    else:
        levels = [_flow_at(record, str(first.river), float(first.at or 0.0)) for _, record in means]
        shown = display_unit("river_flow", system, largest=max(float(one.max()) for one in levels))
        factor, unit = shown.factor, shown.name.replace("m3", "m³").replace("ft3", "ft³")
        words = river_words(str(first.river), scenario.names)
    each = [tuple(factor * _mark(one, name) for name in names) for one in scenarios]
    marks = tuple(zip(map(stage_words, names), each[-1], strict=True))
    watched = Watched(words, unit, marks, () if each[0] == each[-1] else each[0])
    runs = [
        _run(name, record, factor * level, names)
        for (name, record), level in zip(means, levels, strict=True)
    ]
    time = means[0][1]["time"].values
    days = float(step_days(means[0][1])[0])
    return charts.drought(
        time,
        watched,
        runs,
        units=system,
        caption=" ".join(
            [*(_caption(run, watched, time, days, system) for run in runs), more]
        ).strip(),
    )


def watched_water(scenario: Scenario) -> tuple[object, ...]:
    """The water whose stages are drawn: reservoir, or river and place."""
    return _water(scenario, _same_water(scenario)[0])


def _water(scenario: Scenario, name: str) -> tuple[object, ...]:
    stage = scenario.stage[name]
    return stage.reservoir, stage.river, stage.at


def _same_water(scenario: Scenario) -> list[str]:
    """Stages that watch the same water, the mildest first: of several waters the most watched."""
    waters: dict[tuple[object, ...], list[str]] = {}
    for name in scenario.stage:
        waters.setdefault(_water(scenario, name), []).append(name)
    names = max(waters.values(), key=len)

    return sorted(names, key=lambda name: -_mark(scenario, name))


def _mark(scenario: Scenario, name: str) -> float:
    """Below what a stage begins, as it is held."""
    stage = scenario.stage[name]
    return float(stage.storage_below or stage.flow_below or 0.0)


def _flow_at(record: xr.Dataset, river: str, at: float) -> np.ndarray:
    """Flow of a river at a place: out of the reach that ends there [m3/d]."""
    ends = {}
    for store, label, place in zip(
        record["store"].values.tolist(),
        record["label"].values.tolist(),
        record["place"].values.tolist(),
        strict=True,
    ):
        found = re.search(r"km (?:[\d.]+ to )?([\d.]+)$", label)
        if place == river and found:
            ends[store] = float(found[1])
    nearest = min(ends, key=lambda store: abs(ends[store] - at))
    leaves = flow_mask(record, source=nearest, kind=LEAVES_AS_WATER)
    return np.asarray(flow_total(record, leaves))


def _run(name: str, record: xr.Dataset, level: np.ndarray, stages: Sequence[str]) -> DryRun:
    force = record["stage_days"].sel(stage=list(stages)).transpose("stage", "time").values > 0.0
    ranks = np.arange(1, len(stages) + 1)[:, None] * force
    asked, cut = (
        record[what].sum(["town", "purpose"]).transpose("time").values for what in ("demand", "cut")
    )
    short = unmet(run_of(record)).sum(axis=(1, 2))[:, 0]
    of = "to all towns" if record.sizes["town"] > 1 else ""
    return DryRun(name, np.asarray(level), ranks.max(axis=0), asked - short, cut, short, of)


def _caption(run: DryRun, watched: Watched, time: np.ndarray, days: float, system: System) -> str:
    """When the water was lowest, how long each stage was in force, what was cut and short."""
    low = int(np.argmin(run.level))
    lowest = float(run.level[low])
    level = percent(lowest / 100.0) if watched.unit == "%" else amount(lowest, watched.unit)
    where = watched.words if run.name else sentence(watched.words)
    said = [
        f"{sentence(run.name) + ' the change: ' if run.name else ''}{where} was lowest on "
        f"{date_words(time[low])}, at {level}."
    ]
    told = [
        f"{stage} on {number_of(round(days * int((run.stage >= number).sum())), 'day')}"
        for number, (stage, _) in enumerate(watched.marks, 1)
        if (run.stage >= number).any()
    ]
    said += [f"In force: {joined(told)}."] if told else ["No stage came into force."]
    whole = float(run.used.sum() + run.cut.sum() + run.short.sum())
    short = days * float(run.short.sum())
    if run.cut.any():
        said.append(f"Stages cut {percent(float(run.cut.sum()) / whole)} of the use.")
    said.append(
        f"Short all the same: {format_quantity(short, 'volume', system)}.".replace("m3", "m³")
        if short > 0.0
        else "Nobody went short."
    )
    return " ".join(said)
