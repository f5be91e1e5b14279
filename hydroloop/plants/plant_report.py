"""The report on a plant: every step at every flow, with all units and with the largest out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from hydroloop.plants.capacity import (
    Capacity,
    Out,
    can_carry,
    capacities,
    contact_with,
    deciding,
    limit_of,
    load_of,
    own_flow,
    past_step,
    units_out,
    weakest,
)
from hydroloop.plants.contact import (
    GERMS,
    available_ct,
    contact_flow,
    logs_left,
    required_ct,
    t10,
)
from hydroloop.plants.contact_tables import table_entry
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows
from hydroloop.plants.standards import HELD, At, Standard
from hydroloop.plants.unit_process import Measure, UnitProcess, flow_at, measured, measures_of

Verdict = Literal["within", "over", "slow", "no rule", "no unit left"]
FLOWS: tuple[At, ...] = ("average", "maximum_day", "peak_hour")
SUFFICIENT = "at least 1 (CT available over CT required; AWWA/ASCE, ch. 10)"


@dataclass(frozen=True)
class UnitRow:
    """One measure of one step at one flow.

    Attributes
    ----------
    process, what : str
        Step, and what is measured; ``"contact, giardia"`` is CT available over CT required.
    at : str
        Which flow: average, maximum_day, peak_hour.
    flow : float
        Flow into supply, that of wells and bought water with it [m3/d].
    units, out : int
        Units in use, and units out.
    value : float or None
        What is measured, in `unit`; None where no unit is left.
    unit : str
        Unit of `value`: d, m/d, m3/m/d or -.
    rule, source : str
        The standard as printed, and where it stands; empty where there is none.
    limit_flow : float or None
        Flow of the plant at which the limit is reached; None where a rising flow meets none [m3/d].
    verdict : str
        "within"; "over" (pushed beyond the standard); "slow" (more time than the standard's upper
        end, no fault of capacity); "no rule"; "no unit left".
    judged : bool
        Whether the standard is meant for this flow, and decides.
    assumed : bool
        Whether a size it depends on is worked out and not given by the scenario.
    notes : tuple of str
        What else to know.
    low, high : float or None
        Ends of the rule in the unit of the value; None where there is none.
    """

    process: str
    what: str
    at: At
    flow: float
    units: int
    out: int
    value: float | None
    unit: str
    rule: str
    source: str
    limit_flow: float | None
    verdict: Verdict
    judged: bool
    assumed: bool
    notes: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None

    @property
    def is_met(self) -> bool:
        """Whether the plant is big enough here; True where there is no rule."""
        return self.verdict not in ("over", "no unit left")


@dataclass(frozen=True)
class PlantReport:
    """Whether a plant is big enough, step by step.

    Attributes
    ----------
    kind : str
        ``"water"`` or ``"wastewater"``.
    flows : Flows
        What it has to meet.
    basis : str
        Flow in which capacities are compared.
    rows : tuple of UnitRow
        First all rows with all units, then all with units out.
    capacities, firm_capacities : tuple of Capacity
        Limits that count, with all units and with units out.
    wells : float
        Most that wells bring to the clearwell past the steps before it; in the capacities [m3/d].
    imported : float
        Most that comes treated, past the whole plant; in the capacities [m3/d].
    """

    kind: str
    flows: Flows
    basis: At
    rows: tuple[UnitRow, ...]
    capacities: tuple[Capacity, ...]
    firm_capacities: tuple[Capacity, ...]
    wells: float = 0.0
    imported: float = 0.0

    @property
    def limited_by(self) -> Capacity:
        """What the plant runs into first with all units."""
        return weakest(list(self.capacities))

    @property
    def firm_limited_by(self) -> Capacity:
        """What it runs into first with the largest unit out."""
        return weakest(list(self.firm_capacities))

    @property
    def capacity(self) -> float:
        """Capacity with all units, in terms of the basis [m3/d]."""
        return self.limited_by.compared

    @property
    def firm_capacity(self) -> float:
        """Capacity with the largest unit out, in terms of the basis [m3/d]."""
        return self.firm_limited_by.compared

    @property
    def demand(self) -> float:
        """Flow that the capacities are compared with [m3/d]."""
        return float(getattr(self.flows, self.basis))

    @property
    def load(self) -> float:
        """Demand over firm capacity; infinite where nothing is left [-]."""
        return load_of(self.demand, self.firm_capacity)

    @property
    def is_enough(self) -> bool:
        """Whether the demand can be met with the largest unit out, rounding forgiven."""
        return can_carry(self.load)

    @property
    def load_of_all(self) -> float:
        """Demand over capacity with all units; infinite where there is none [-]."""
        return load_of(self.demand, self.capacity)

    @property
    def are_all_enough(self) -> bool:
        """Whether the demand can be met with all units, rounding forgiven."""
        return can_carry(self.load_of_all)


def unit_report(
    design: PlantDesign, flows: Flows, *, out: Out = 1, temperature_c: float | None = None
) -> PlantReport:
    """Whether a plant is big enough, step by step.

    Every step at average, maximum-day and peak-hour flow, with all units and with the largest out.
    A teaching model: licensed operators and engineers judge real plants (`plants.CAUTION`).

    Parameters
    ----------
    design : PlantDesign
        From `water_plant` or `wastewater_plant`
    flows : Flows
        What it has to meet, as treated water or as sewage [m3/d]
    out : int or mapping
        Units out, of each step or by its name [-]
    temperature_c : float, optional
        Water temperature for the contact; the coldest of the scenario if left out [degC]

    Returns
    -------
    PlantReport
        Rows, limits and capacities

    Raises
    ------
    AskError
        If more units are out than there are, or the water lies outside the contact tables.

    Notes
    -----
    Capacity of a step: the least flow at which one of its limits is reached; of the plant: the
    least of its steps, and of what the scenario says it can carry.

    Examples
    --------
    >>> tanks = UnitProcess("contact", 2, 200.0, 50.0, 4.0)
    >>> plant = PlantDesign("wastewater", (tanks,), 27000.0, "peak_hour", "average")
    >>> report = unit_report(plant, Flows(1e4, 1.8e4, 2.5e4))
    >>> round(report.firm_capacity), report.firm_limited_by.process, round(report.load, 2)
    (7680, 'contact', 1.3)
    """
    missing = units_out(design, out)
    rows = [
        row
        for gone in (dict.fromkeys(missing, 0), missing)
        for unit in design.processes
        for row in _rows(design, flows, unit, gone[unit.process], temperature_c)
    ]
    return PlantReport(
        kind=design.kind,
        flows=flows,
        basis=design.basis,
        rows=tuple(rows),
        capacities=tuple(deciding(capacities(design, flows, 0, temperature_c=temperature_c))),
        firm_capacities=tuple(
            deciding(capacities(design, flows, out, temperature_c=temperature_c))
        ),
        wells=design.wells,
        imported=design.imported,
    )


def _rows(
    design: PlantDesign, flows: Flows, unit: UnitProcess, out: int, temperature_c: float | None
) -> list[UnitRow]:
    found = [
        _measured_row(design, unit, measure, (at, getattr(flows, at)), out)
        for measure in measures_of(unit)
        for at in FLOWS
    ]
    if unit.process == "clearwell" and design.contact is not None:
        for at in FLOWS:
            found += _contact_rows(design, unit, (at, getattr(flows, at)), out, temperature_c)
    return found


def _measured_row(
    design: PlantDesign,
    unit: UnitProcess,
    measure: Measure,
    flow_at_time: tuple[At, float],
    out: int,
) -> UnitRow:
    (at, flow), left = flow_at_time, unit.count - out
    rule, limit = measure.standard, limit_of(measure)
    most = (
        None
        if limit is None
        else (flow_at(unit, measure.what, limit, left) + past_step(design, unit))
    )
    own = own_flow(design, unit, flow, most)
    value = measured(unit, measure.what, own, left) if left and own > 0.0 else None
    return UnitRow(
        process=unit.process,
        what=measure.what,
        at=at,
        flow=flow,
        units=left,
        out=out,
        value=value,
        unit=HELD[measure.what],
        rule=rule.printed if rule else "",
        source=rule.source if rule else "",
        limit_flow=most,
        verdict=_verdict(measure.what, rule, value),
        judged=rule is not None and rule.at == at and rule.known != "memory",
        assumed=not set(measure.needs) <= unit.given,
        notes=("it is enough to meet the time or the overflow rate",)
        if measure.either == "settling"
        else (),
        low=rule.held_low if rule else None,
        high=rule.held_high if rule else None,
    )


def _verdict(what: str, rule: Standard | None, value: float | None) -> Verdict:
    if value is None:
        return "no unit left"
    if rule is None:
        return "no rule"
    too_low = rule.held_low is not None and value < rule.held_low * (1 - 1e-9)
    too_high = rule.held_high is not None and value > rule.held_high * (1 + 1e-9)
    if not too_low and not too_high:
        return "within"
    return "over" if too_low == (what == "detention") else "slow"


def _contact_rows(
    design: PlantDesign,
    unit: UnitProcess,
    flow_at_time: tuple[At, float],
    out: int,
    temperature_c: float | None,
) -> list[UnitRow]:
    water, (at, flow), left = design.contact, flow_at_time, unit.count - out
    if water is None:
        return []
    reading = {
        "temperature_c": water.temperature_c if temperature_c is None else temperature_c,
        "ph": water.ph,
        "chlorine_mg_per_l": water.chlorine_mg_per_l,
    }
    volume, found = unit.volume * left, []
    for germ in GERMS:
        logs = logs_left(water.treatment)[germ]
        if logs <= 0.0:
            continue
        required = required_ct(germ, logs, **reading)
        limit = contact_flow(
            required,
            chlorine_mg_per_l=water.chlorine_mg_per_l,
            volume=volume,
            baffling=water.baffling,
        ) / unit.through + past_step(design, unit)
        own = own_flow(design, unit, flow, limit)
        ratio = None
        if left and own > 0.0:
            minutes = t10(volume, own * unit.through, water.baffling)
            ratio = available_ct(water.chlorine_mg_per_l, minutes) / required
        found.append(
            UnitRow(
                process=unit.process,
                what=contact_with(germ),
                at=at,
                flow=flow,
                units=left,
                out=out,
                value=ratio,
                unit="-",
                rule=SUFFICIENT,
                source="40 CFR 141.74; EPA 815-R-20-003",
                limit_flow=limit,
                verdict="no unit left"
                if ratio is None
                else "within"
                if ratio >= 1.0 - 1e-9
                else "over",
                judged=at == design.basis,
                assumed=not {"count", "volume"} <= unit.given,
                notes=table_entry(germ, **reading).notes,
            )
        )
    return found
