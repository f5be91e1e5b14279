"""Capacity: the flow at which each step of a plant reaches a published limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from hydroloop.errors import AskError, Problem
from hydroloop.plants.contact import GERMS, contact_flow, logs_left, required_ct
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows
from hydroloop.plants.standards import At, Standard
from hydroloop.plants.unit_process import Measure, UnitProcess, flow_at, measures_of

STATED = "the plant as a whole"
"""Stands for the capacity that the scenario gives, among the steps."""

RATED = "rated capacity"
"""What is limited there: what the scenario says the plant can carry, or works out."""

_CONTACT = "contact, "

Out = int | Mapping[str, int]


@dataclass(frozen=True)
class Capacity:
    """Flow at which one step of a plant reaches one limit.

    Attributes
    ----------
    process, what : str
        Step, and what is limited; ``"contact, giardia"`` and ``"contact, virus"`` in the clearwell.
    units, out : int
        Units in use, and units out.
    flow : float
        Flow of the plant at which the limit is reached, of the day or hour it is meant for [m3/d].
    at : str
        That day or hour: average, maximum_day or peak_hour.
    compared : float
        The same in terms of the plant's basis (its maximum day or its average) [m3/d].
    either : str
        Limits of a step with the same word stand in for each other.
    standard : Standard or None
        The published rule; None for contact and for the plant as a whole.
    """

    process: str
    what: str
    units: int
    out: int
    flow: float
    at: At
    compared: float
    either: str
    standard: Standard | None = None

    @property
    def is_contact(self) -> bool:
        """Whether chlorine contact is limited, in the clearwell; not so the contact tank of sewage,
        a step that is held to its detention."""
        return self.what.startswith(_CONTACT)


def units_out(design: PlantDesign, out: Out) -> dict[str, int]:
    """Units out of each step: one number for all, or a number by name of the step."""
    there = {unit.process: unit.count for unit in design.processes}
    wanted = dict.fromkeys(there, out) if isinstance(out, int) else dict(out)
    problems = [
        Problem(f"out.{name}", "there is no such step.", f"There are: {', '.join(there)}.")
        for name in wanted
        if name not in there
    ]
    for name, number in wanted.items():
        if name in there and not 0 <= number <= there[name]:
            problems.append(
                Problem(
                    f"out.{name}",
                    f"{number} units out, but there {_are(there[name])}.",
                    f"Give 0 to {there[name]}.",
                )
            )
    if problems:
        raise AskError(problems)
    return {name: wanted.get(name, 0) for name in there}


def past_step(design: PlantDesign, unit: UnitProcess) -> float:
    """Most that comes into supply past a step of the plant [m3/d]. Wells flow straight to the
    clearwell; bought water comes treated and passes the clearwell too."""
    return design.imported + (0.0 if unit.process == "clearwell" else design.wells)


def own_flow(design: PlantDesign, unit: UnitProcess, supply: float, limit: float | None) -> float:
    """Flow of the plant that a step works at, when so much is put into supply [m3/d].
    The plant comes first, as in the water account; wells and then bought water give what it
    cannot: max(min(supply, capacity, limit), supply - past), capacity and limit without what
    comes past the step."""
    past = past_step(design, unit)
    if past <= 0.0:
        return supply
    most = design.capacity if limit is None else min(design.capacity, limit)
    return max(min(supply, most - past), supply - past)


def _are(count: int) -> str:
    return "is only 1" if count == 1 else f"are only {count}"


def limit_of(measure: Measure) -> float | None:
    """The end of a standard that a rising flow runs into, in its held unit, or None: time falls and
    rates rise, so only one end is a capacity. Standards known from memory decide nothing."""
    rule = measure.standard
    if rule is None or rule.known == "memory":
        return None
    return rule.held_low if measure.what == "detention" else rule.held_high


def capacities(
    design: PlantDesign, flows: Flows, out: Out = 1, *, temperature_c: float | None = None
) -> list[Capacity]:
    """Flow at which each step reaches each of its limits [m3/d].

    The weakest link is the capacity of the plant.
    Published rules, not the plant's own tests: an operator may know better.

    Parameters
    ----------
    design : PlantDesign
        The plant
    flows : Flows
        Flows it has to meet; their ratios tie the average to the peak hour
    out : int or mapping
        Units out, of each step or by its name [-]
    temperature_c : float, optional
        Water temperature for the contact; the coldest of the scenario if left out [degC]

    Returns
    -------
    list of Capacity
        In the order of the water, the rated capacity last

    Raises
    ------
    AskError
        If more units are out than there are, or the water lies outside the contact tables.

    Notes
    -----
    A limit meant for another flow than the basis is compared by the ratio of the two flows, as far
    as they come from use: infiltration and inflow are not multiplied by a peak.

    Examples
    --------
    >>> from hydroloop.plants.design import Contact
    >>> well = UnitProcess("clearwell", 2, 1000.0, 250.0, 4.0)
    >>> water = Contact(1.0, 7.5, 5.0, baffling=0.3, treatment="conventional")
    >>> plant = PlantDesign("water", (well,), 20000.0, "maximum_day", "maximum_day", water)
    >>> [round(one.flow) for one in capacities(plant, Flows(8e3, 12e3, 24e3))]
    [14480, 108000, 20000]
    """
    missing = units_out(design, out)
    found = []
    for unit in design.processes:
        left = unit.count - missing[unit.process]
        found += _by_standard(design, flows, unit, left)
        if unit.process == "clearwell" and design.contact is not None:
            found += _by_contact(design, unit, left, temperature_c)
    stated = _compared(design.capacity, design.capacity_at, design, flows)
    found.append(Capacity(STATED, RATED, 1, 0, design.capacity, design.capacity_at, stated, RATED))
    return found


def _by_standard(design: PlantDesign, flows: Flows, unit: UnitProcess, left: int) -> list[Capacity]:
    found = []
    for measure in measures_of(unit):
        limit, rule = limit_of(measure), measure.standard
        if limit is None or rule is None:
            continue
        flow = flow_at(unit, measure.what, limit, left) + past_step(design, unit)
        found.append(
            Capacity(
                unit.process,
                measure.what,
                left,
                unit.count - left,
                flow,
                rule.at,
                _compared(flow, rule.at, design, flows),
                measure.either,
                rule,
            )
        )
    if left == 0 and not found:  # nothing limits the step but that nothing is left of it
        past = past_step(design, unit)
        found.append(
            Capacity(unit.process, "units in use", 0, unit.count, past, design.basis, past, "units")
        )
    return found


def _by_contact(
    design: PlantDesign, unit: UnitProcess, left: int, temperature_c: float | None
) -> list[Capacity]:
    water = design.contact
    if water is None:
        return []
    at_c = water.temperature_c if temperature_c is None else temperature_c
    found = []
    for germ in GERMS:
        logs = logs_left(water.treatment)[germ]
        if logs <= 0.0:
            continue
        required = required_ct(
            germ, logs, temperature_c=at_c, ph=water.ph, chlorine_mg_per_l=water.chlorine_mg_per_l
        )
        flow = contact_flow(
            required,
            chlorine_mg_per_l=water.chlorine_mg_per_l,
            volume=unit.volume * left,
            baffling=water.baffling,
        ) / unit.through + past_step(design, unit)
        what = contact_with(germ)
        found.append(
            Capacity(unit.process, what, left, unit.count - left, flow, design.basis, flow, what)
        )
    return found


def contact_with(germ: str) -> str:
    """What is limited in the clearwell: chlorine contact for one germ."""
    return f"{_CONTACT}{germ}"


def _compared(flow: float, at: At, design: PlantDesign, flows: Flows) -> float:
    return flows.at_average(flow, at, design.basis)


def load_of(demand: float, able: float) -> float:
    """What is asked over what can be carried; infinite where nothing can [-]."""
    return demand / able if able > 0.0 else float("inf")


def can_carry(load: float) -> bool:
    """Whether no more is asked than can be carried, rounding forgiven."""
    return load <= 1.0 + 1e-9


def weakest(found: list[Capacity]) -> Capacity:
    """The limit that a plant reaches first.

    The weakest link; where one of two limits is enough to meet, the better of them counts.
    Of equals the first along the water.

    Parameters
    ----------
    found : list of Capacity
        From `capacities`, at least one

    Returns
    -------
    Capacity
        The one that decides

    Raises
    ------
    ValueError
        If the list is empty.

    Examples
    --------
    >>> both = [Capacity("contact", "detention", 1, 0, 9.0, "average", 9.0, "detention"),
    ...     Capacity("aeration", "detention", 1, 0, 7.0, "average", 7.0, "detention")]
    >>> weakest(both).process
    'aeration'
    """
    return min(deciding(found), key=lambda one: one.compared)


def deciding(found: list[Capacity]) -> list[Capacity]:
    """Limits that count: of those that stand in for each other the better one.

    One line for each step and rule.
    A settling basin may be short in time if its surface is wide.

    Parameters
    ----------
    found : list of Capacity
        From `capacities`

    Returns
    -------
    list of Capacity
        In the order of the water

    Examples
    --------
    >>> both = [Capacity("sedimentation", "detention", 1, 0, 5.0, "average", 5.0, "settling"),
    ...     Capacity("sedimentation", "overflow rate", 1, 0, 7.0, "average", 7.0, "settling")]
    >>> [one.what for one in deciding(both)]
    ['overflow rate']
    """
    best: dict[tuple[str, str], Capacity] = {}
    for one in found:
        name = (one.process, one.either)
        if name not in best or one.compared > best[name].compared:
            best[name] = one
    return list(best.values())
