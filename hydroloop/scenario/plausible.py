"""Plausibility: values that are allowed but unusual."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any

from hydroloop import units
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.key import note
from hydroloop.scenario.quantities import ends_of, read, shown
from hydroloop.scenario.schema_dry import USED_BY
from hydroloop.scenario.tree import Node, Path, find

# Measured on 30 years of hours of two towns (51 stores): 3.3 GB and 4 minutes on two cores.
_STORES_OF_A_TOWN, _BYTES_A_STORE_AND_STEP, _S_A_STORE_AND_STEP, _MUCH_GB = 22, 240, 1.7e-5, 2.0
_DEEP_M, _SHALLOW_M = 150.0, 0.5


def unusual(draft: Draft, given: Iterable[tuple[Path, Any]]) -> Iterator[Finding]:
    """Find values that are allowed but that few places have."""
    for path, value in given:
        here = find(path)
        if here is not None and note(here.field, "usual"):
            yield from _outside(path, value, here)
    yield from _long_season(draft)
    yield from _rain_alone(draft)
    yield from _idle(draft)
    for name in draft.names("town"):
        yield from _drinks_its_own(draft, name)
        yield from _small_plant(draft, name)
    for name in draft.names("reservoir"):
        yield from _odd_depth(draft, name)


def _outside(path: Path, value: Any, here: Node) -> Iterator[Finding]:
    low, high = note(here.field, "usual")
    if isinstance(value, list | dict | bool):
        return
    if here.dimension:
        first, last = (read(end, here.dimension).value for end in (low, high))
        quantity = read(value, here.dimension, str(path[-1]))
        ends = (quantity.low, quantity.high)
    else:
        plain = ends_of(value)
        if plain is None:
            return
        first, last, ends = low, high, plain
    if (
        (ends[0] < first * (1 - 1e-9) - 1e-12 and first >= 0)
        or (ends[0] < first and first < 0)
        or ends[1] > last * (1 + 1e-9)
    ):
        source = note(here.field, "source")
        yield Finding(
            path,
            f"{shown(value)} is unusual: the usual range is {low} to {high}"
            f"{f' ({source})' if source else ''}.",
            "Check it, or go on if you mean it.",
        )


def _long_season(draft: Draft) -> Iterator[Finding]:
    """A season that fills the memory of a small computer, or takes minutes."""
    start, end = (_day(draft.raw("season", name)) for name in ("start", "end"))
    step = draft.held("season", "step")
    if start is None or end is None or not step:
        return
    steps = ((end - start).days + 1) / step
    cells = sum(
        (draft.held("river", name, "length") or 0.0) / (draft.held("river", name, "cell") or 1.0)
        + 4
        for name in draft.names("river")
    )
    work = steps * (_STORES_OF_A_TOWN * len(draft.names("town")) + cells)
    gigabytes = work * _BYTES_A_STORE_AND_STEP / 1e9
    if gigabytes > _MUCH_GB:
        yield Finding(
            ("season",),
            f"has {steps:,.0f} steps: a run takes about {gigabytes:,.0f} GB "
            f"of memory and {work * _S_A_STORE_AND_STEP / 60:,.0f} minutes.",
            "Run fewer years, or a longer step, if that is too much.",
        )


def _day(value: Any) -> dt.date | None:
    """A date that is known to be right, bare or in quotes."""
    return dt.date.fromisoformat(value.strip()) if isinstance(value, str) else value


def _rain_alone(draft: Draft) -> Iterator[Finding]:
    """Less rain makes no dry season while rivers bring what they are told to."""
    path = ("weather", "rain_scale")
    if not draft.has(*path) or draft.raw(*path) == 1:
        return
    fixed = [
        f"river.{name}.inflow"
        for name in draft.names("river")
        if draft.has("river", name, "inflow")
    ]
    if fixed:
        yield Finding(
            path,
            f"changes the rain, not {' and '.join(fixed)}.",
            "Scale that too, or let dry_season.method make both dry.",
        )


def _idle(draft: Draft) -> Iterator[Finding]:
    """Keys of the dry season that its method does not ask for."""
    method = draft.word("dry_season", "method") or "scale"
    for name, methods in USED_BY.items():
        path = ("dry_season", name)
        if draft.has(*path) and method not in methods:
            yield Finding(
                path,
                f'does nothing with method = "{method}".',
                f"It goes with {' and '.join(methods)}.",
            )
        elif draft.has(*path) and name == "generate" and draft.has("weather", "file"):
            yield Finding(
                path,
                "does nothing where there is a weather file.",
                "The dry year is one of the file's.",
            )


def _drinks_its_own(draft: Draft, name: str) -> Iterator[Finding]:
    town = ("town", name)
    same = draft.word(*town, "intake", "river") == draft.word(*town, "outfall", "river")
    intake, outfall = draft.held(*town, "intake", "at"), draft.held(*town, "outfall", "at")
    if same and intake is not None and outfall is not None and outfall <= intake:
        yield Finding(
            (*town, "outfall", "at"),
            "the outfall lies above the town's own intake, so "
            "the town takes its own return flow in again.",
            "Check it, or go on if you mean it.",
        )


def _small_plant(draft: Draft, name: str) -> Iterator[Finding]:
    """A plant far below what its people use is most often a slip of the unit."""
    town = ("town", name)
    capacity, people = draft.held(*town, "plant", "capacity"), draft.held(*town, "people")
    if capacity is None or people is None:
        return
    if draft.has(*town, "wells") or draft.has(*town, "imported"):
        return
    use = sum(draft.held(*town, part, "use_per_person") or 0.0 for part in ("homes", "workplaces"))
    if capacity < people * use:
        path = (*town, "plant", "capacity")
        yield Finding(
            path,
            f"{shown(draft.raw(*path))} is {capacity / (people * use):.2g} of "
            "what the town's people use on an average day "
            f"({units.format_quantity(people * use, 'flow')}).",
            "Check the unit, or go on if you mean it.",
        )


def _odd_depth(draft: Draft, name: str) -> Iterator[Finding]:
    path = ("reservoir", name)
    volume, area_km2 = draft.held(*path, "capacity"), draft.held(*path, "area")
    if not volume or not area_km2:
        return
    depth_m = volume / (area_km2 * 1e6)
    if not _SHALLOW_M <= depth_m <= _DEEP_M:
        yield Finding(
            (*path, "area"),
            f"capacity over area makes a mean depth of {depth_m:.3g} m.",
            "Check both, or go on if you mean it.",
        )
