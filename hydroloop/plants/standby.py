"""Standby: how much of its design flow a wastewater plant treats with the largest unit out."""

from __future__ import annotations

from dataclasses import dataclass

from hydroloop.plants.capacity import capacities, deciding
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows

STANDBY_SHARES = {"primary": 0.50, "final_settling": 0.75, "contact": 0.50}
"""Share of the design flow that a step treats with its largest unit out, by the rule [-]."""

LEAST_AERATION_BASINS = 2
"""Aeration needs no basin to spare, but two of equal volume at least (the same source) [-]."""

STANDBY_SOURCE = "US EPA 1974, EPA-430-99-74-001, reliability class I, from memory"


@dataclass(frozen=True)
class Standby:
    """What a step still treats with its largest unit out.

    Attributes
    ----------
    process : str
        Step.
    units : int
        Units left.
    carried : float
        Share of the design flow at which the strictest rule of the step is just met [-].
    asked : float or None
        Share that the published rule names; None where it asks for a number of basins [-].
    is_met : bool
        Whether the step meets it, rounding forgiven.
    """

    process: str
    units: int
    carried: float
    asked: float | None
    is_met: bool


def with_largest_out(design: PlantDesign, flows: Flows) -> list[Standby]:
    """What each step of a wastewater plant still treats with its largest unit out.

    A plant need not treat its whole design flow while a tank is drained: a rule names the share.
    Known from memory, so it decides nothing here; permits and local codes say what holds.

    Parameters
    ----------
    design : PlantDesign
        From `wastewater_plant`
    flows : Flows
        What the plant is designed for [m3/d]

    Returns
    -------
    list of Standby
        In the order of the water

    Raises
    ------
    AskError
        If a step has no unit.

    Notes
    -----
    carried = least over the step's rules of (flow at which it is just met with one unit out) /
    (design flow of the day or hour that the rule is meant for).

    References
    ----------
    US EPA 1974, Design Criteria for Mechanical, Electric, and Fluid System and Component
    Reliability, EPA-430-99-74-001, class I (from memory): half of the design flow in primary
    settling and contact, three quarters in final settling; two equal aeration basins.

    Examples
    --------
    >>> from hydroloop.plants.unit_process import UnitProcess
    >>> tanks = UnitProcess("contact", 4, 100.0, 25.0, 4.0)
    >>> plant = PlantDesign("wastewater", (tanks,), 1e9, "peak_hour", "average")
    >>> (found,) = with_largest_out(plant, Flows(1e4, 2e4, 38400.0))
    >>> round(found.carried, 9), found.is_met
    (0.75, True)
    """
    least: dict[str, float] = {}
    for one in deciding(capacities(design, flows, 1)):
        share = one.flow / float(getattr(flows, one.at))
        least[one.process] = min(least.get(one.process, share), share)
    found = []
    for unit in design.processes:
        if unit.process not in least:
            continue
        carried, asked = least[unit.process], STANDBY_SHARES.get(unit.process)
        is_met = (
            unit.count >= LEAST_AERATION_BASINS
            if asked is None
            else (carried >= asked * (1.0 - 1e-9))
        )
        found.append(Standby(unit.process, unit.count - 1, carried, asked, is_met))
    return found
