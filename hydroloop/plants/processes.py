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
    """One thing that is measured on a unit process, and the standard it is held against.

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
        Sizes it hangs on: count, volume, area, weir.
    """

    what: str
    standard: Standard | None
    either: str
    needs: tuple[str, ...]


_DEPTHS = ("count", "volume")
_SURFACE = ("count", "area")


def measures_of(unit: UnitProcess) -> list[Measure]:
    """What is measured on a unit process.

    Detention time for all; overflow rate, weir load, velocity or filter rate as fits.
    Standards of one state: the local code comes first.

    Parameters
    ----------
    unit : UnitProcess
        The step

    Returns
    -------
    list of Measure
        Each with its standard

    Raises
    ------
    AskError
        If the filters are of a kind for which there is no standard.

    Examples
    --------
    >>> filters = UnitProcess("filters", 4, 244.0, 100.0, 2.44, kind="multi")
    >>> [m.what for m in measures_of(filters)]
    ['detention', 'filter rate']
    """
    found = [
        Measure(what, standard(unit.process, what, condition or unit.kind, at), either or what,
                _needs(what))
        for what, condition, at, either in _STANDARDS_OF.get(unit.process, ())
        if _can_be_measured(unit, what)
    ]  # fmt: skip
    if not any(measure.what == "detention" for measure in found):
        found.insert(0, Measure("detention", None, "detention", _DEPTHS))
    return found


# For each step: what, condition of the standard, flow it is meant for, and what it stands in for.
_STANDARDS_OF: dict[str, tuple[tuple[str, str, At, str], ...]] = {
    "rapid_mix": (
        ("detention", "velocity gradient of 750 /s or more", "maximum_day", ""),
    ),
    "flocculation": (
        ("detention", "", "maximum_day", ""), ("velocity", "", "maximum_day", ""),
    ),
    "sedimentation": (
        ("detention", "", "maximum_day", "settling"),
        ("overflow rate", "in place of the detention time", "maximum_day", "settling"),
        ("weir load", "", "maximum_day", ""), ("velocity", "", "maximum_day", ""),
    ),
    "filters": (("filter rate", "", "maximum_day", ""),),
    "primary": (
        ("detention", "before activated sludge", "average", ""),
        ("overflow rate", "", "average", ""), ("overflow rate", "", "peak_hour", "peak"),
    ),
    "aeration": (("detention", "conventional", "average", ""),),
    "final_settling": (
        ("detention", "", "average", ""),
        ("overflow rate", "activated sludge", "average", ""),
        ("overflow rate", "activated sludge", "peak_hour", "peak"),
    ),
    "contact": (("detention", "", "peak_hour", ""),),
}  # fmt: skip


def _needs(what: str) -> tuple[str, ...]:
    return {"detention": _DEPTHS, "weir load": ("count", "weir")}.get(what, _SURFACE)


def _can_be_measured(unit: UnitProcess, what: str) -> bool:
    return not (what == "velocity" and unit.width_m is None) and not (
        what == "weir load" and unit.weir_m is None
    )


def measured(unit: UnitProcess, what: str, flow: float, units: int) -> float:
    """What a unit process shows at a flow.

    The flow is shared evenly by the units in use.
    Real units are never quite equal.

    Parameters
    ----------
    unit : UnitProcess
        The step
    what : str
        ``"detention"`` [d], ``"overflow rate"``, ``"filter rate"``, ``"velocity"`` [m/d],
        ``"weir load"`` [m3/m/d]
    flow : float
        Flow of the plant, above zero [m3/d]
    units : int
        Units in use, at least one [-]

    Returns
    -------
    float
        In the unit named above

    Raises
    ------
    KeyError
        If `what` is none of them.

    Examples
    --------
    >>> basins = UnitProcess("sedimentation", 2, 2560.0, 800.0, 3.2)
    >>> measured(basins, "overflow rate", 40000.0, 2)
    25.0
    """
    return _SHOWN[what](unit, flow * unit.through, units)


def flow_at(unit: UnitProcess, what: str, limit: float, units: int) -> float:
    """Flow at which a unit process reaches a limit [m3/d].

    The capacity of a step by one rule.
    Zero where no unit is left.

    Parameters
    ----------
    unit : UnitProcess
        The step
    what : str
        As in `measured`
    limit : float
        The limit, in the unit of `measured`
    units : int
        Units in use [-]

    Returns
    -------
    float
        Flow of the plant [m3/d]

    Raises
    ------
    KeyError
        If `what` is none of those of `measured`.

    Notes
    -----
    Detention V n / (Q r) = limit, so Q = V n / (r limit); a rate Q r / (A n) = limit, so
    Q = limit A n / r, with n units and the share r of the plant's flow through the step.

    Examples
    --------
    >>> basins = UnitProcess("sedimentation", 2, 2560.0, 800.0, 3.2)
    >>> flow_at(basins, "overflow rate", 25.0, 1)
    20000.0
    """
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
