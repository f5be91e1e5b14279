"""A unit process: equal units side by side, and what can be measured on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from hydroloop.plants.standards import At, Standard, standard


@dataclass(frozen=True)
class UnitProcess:
    """Equal units of one step of a plant.

    Attributes
    ----------
    process : str
        Name of the step: ``"sedimentation"``.
    count : int
        Number of units.
    volume : float
        Water in each [m3].
    area_m2 : float
        Surface of each [m2].
    depth_m : float
        Depth of water [m].
    through : float
        Flow through the step over the flow of the plant [-].
    width_m, weir_m : float or None
        Width, and length of weir, of each; None where not known [m].
    kind : str
        Condition under which standards are looked up: the media of filters.
    given : frozenset of str
        What the scenario gave (count, volume, area, weir); the rest is worked out.
    """

    process: str
    count: int
    volume: float
    area_m2: float
    depth_m: float
    through: float = 1.0
    width_m: float | None = None
    weir_m: float | None = None
    kind: str = ""
    given: frozenset[str] = frozenset()


class Measure(NamedTuple):
    """One thing that is measured on a unit process, and the standard it is compared with.

    Attributes
    ----------
    what : str
        ``"detention"``, ``"overflow rate"``, ...
    standard : Standard or None
        None where none is published.
    either : str
        Measures of a process with the same word here stand in for each other: it is enough to meet
        one of them.
    needs : tuple of str
        Sizes it depends on: count, volume, area, weir.
    """

    what: str
    standard: Standard | None
    either: str
    needs: tuple[str, ...]


_DEPTHS = ("count", "volume")
_SURFACE = ("count", "area")


def measures_of(unit: UnitProcess) -> list[Measure]:
    """What is measured on a unit process, each with its standard: detention time for all; overflow
    rate, weir load, velocity or filter rate as fits."""
    found = [
        Measure(
            what,
            standard(unit.process, what, condition or unit.kind, at),
            either or what,
            _needs(what),
        )
        for what, condition, at, either in _STANDARDS_OF.get(unit.process, ())
        if _can_be_measured(unit, what)
    ]
    if not any(measure.what == "detention" for measure in found):
        found.insert(0, Measure("detention", None, "detention", _DEPTHS))
    return found


# For each step: what, condition of the standard, flow it is meant for, and what it stands in for.
_STANDARDS_OF: dict[str, tuple[tuple[str, str, At, str], ...]] = {
    "rapid_mix": (("detention", "velocity gradient of 750 /s or more", "maximum_day", ""),),
    "flocculation": (
        ("detention", "", "maximum_day", ""),
        ("velocity", "", "maximum_day", ""),
    ),
    "sedimentation": (
        ("detention", "", "maximum_day", "settling"),
        ("overflow rate", "in place of the detention time", "maximum_day", "settling"),
        ("weir load", "", "maximum_day", ""),
        ("velocity", "", "maximum_day", ""),
    ),
    "filters": (("filter rate", "", "maximum_day", ""),),
    "primary": (
        ("detention", "before activated sludge", "average", ""),
        ("overflow rate", "", "average", ""),
        ("overflow rate", "", "peak_hour", "peak"),
    ),
    "aeration": (("detention", "conventional", "average", ""),),
    "final_settling": (
        ("detention", "", "average", ""),
        ("overflow rate", "activated sludge", "average", ""),
        ("overflow rate", "activated sludge", "peak_hour", "peak"),
    ),
    "contact": (("detention", "", "peak_hour", ""),),
}


def _needs(what: str) -> tuple[str, ...]:
    return {"detention": _DEPTHS, "weir load": ("count", "weir")}.get(what, _SURFACE)


def _can_be_measured(unit: UnitProcess, what: str) -> bool:
    return not (what == "velocity" and unit.width_m is None) and not (
        what == "weir load" and unit.weir_m is None
    )


def measured(unit: UnitProcess, what: str, flow: float, units: int) -> float:
    """What a unit process shows at a flow of the plant, shared evenly by the units in use:
    detention [d], overflow rate, filter rate and velocity [m/d], weir load [m3/m/d]."""
    return _SHOWN[what](unit, flow * unit.through, units)


def flow_at(unit: UnitProcess, what: str, limit: float, units: int) -> float:
    """Flow of the plant at which a unit process reaches a limit of `measured` [m3/d]. Detention V n
    / (Q r) gives Q = V n / (r limit), a rate Q r / (A n) gives Q = limit A n / r, where r is the
    share of the plant's flow that passes n units."""
    if what == "detention":
        return unit.volume * units / (limit * unit.through)
    per_flow = _SHOWN[what](unit, 1.0, 1)  # all rates are in proportion to the flow
    return limit * units / (per_flow * unit.through)


_SHOWN: dict[str, Callable[[UnitProcess, float, int], float]] = {
    "detention": lambda unit, flow, units: unit.volume * units / flow,
    "overflow rate": lambda unit, flow, units: flow / (unit.area_m2 * units),
    "filter rate": lambda unit, flow, units: flow / (unit.area_m2 * units),
    "weir load": lambda unit, flow, units: flow / ((unit.weir_m or 0.0) * units),
    "velocity": lambda unit, flow, units: flow / units / ((unit.width_m or 0.0) * unit.depth_m),
}
