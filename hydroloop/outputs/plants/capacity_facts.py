"""A capacity study as plain values for a script."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from hydroloop.outputs.table import known
from hydroloop.plants import CAUTION, PlantReport
from hydroloop.plants.growth import Reached
from hydroloop.studies.capacity_study import CapacityStudy


def facts(study: CapacityStudy) -> dict[str, Any]:
    """The study as plain values, for a script [m3/d, a, h].

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.studies.capacity_study import capacity_study
    >>> scenario = hl.read_scenario("first_town")
    >>> found = facts(capacity_study(scenario, hl.simulate(scenario), "larkmill"))
    >>> found["town"]
    'larkmill'
    """
    def rows(found: list[Reached]) -> list[dict[str, Any]]:
        return [{"limit": one.limit, "flow_m3_per_d": known(one.flow), "years": known(one.years),
                 "early": known(one.early), "late": known(one.late)} for one in found]

    def plant(report: PlantReport) -> dict[str, Any]:
        flows = report.flows
        return {"average_m3_per_d": known(flows.average),
                "maximum_day_m3_per_d": known(flows.maximum_day),
                "peak_hour_m3_per_d": known(flows.peak_hour), "peaks": list(flows.peaks),
                "peaks_source": flows.source, "demand_m3_per_d": known(report.demand),
                "capacity_m3_per_d": known(report.capacity),
                "firm_capacity_m3_per_d": known(report.firm_capacity), "load": known(report.load),
                "limited_by": report.firm_limited_by.process,
                "units": [{"process": row.process, "what": row.what, "at": row.at,
                           "units": row.units, "out": row.out,
                           "value": None if row.value is None else known(row.value),
                           "unit": row.unit, "rule": row.rule, "source": row.source,
                           "verdict": row.verdict} for row in report.rows]}

    return {"town": study.town, "first_year": study.first_year, "water": plant(study.water),
            "water_sizes_assumed": study.assumed, "wastewater": plant(study.wastewater),
            "standby": [asdict(one) for one in study.standby], "reached": rows(study.reached),
            "sewage_reached": rows(study.sewage_reached),
            "bought": [{"remedy": name, "years": known(years)} for name, years in study.bought],
            "sewers": {name: known(value) for name, value in asdict(study.sewers).items()},
            "overflow_hours": study.sewers.overflow_hours,
            "bypass_hours": study.sewers.bypass_hours,
            "contact": [{"month": one.month, "temperature_c": one.temperature_c,
                         "giardia_ct_mg_min_per_l": one.giardia,
                         "virus_ct_mg_min_per_l": one.virus, "flow_m3_per_d": known(one.flow),
                         "busiest_day_m3_per_d": one.asked} for one in study.contact],
            "ranged": list(study.ranged), "not_drawn": list(study.not_drawn), "caution": CAUTION}
