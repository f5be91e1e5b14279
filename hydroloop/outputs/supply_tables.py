"""The tables of a run that tell how well the towns were supplied, and what a drought asked."""

from __future__ import annotations

import numpy as np

from hydroloop.outputs.result import Result
from hydroloop.outputs.table import Column, Table

_NO_STAGES = ((), (), ())


def supply(result: Result) -> Table:
    """How well each town was supplied, what it left in the river, and what the stages cut.

    What stages cut was not asked for, and so is no shortage. A lawn that gets less asks for more
    later: the season's use falls by less than is cut.

    Parameters
    ----------
    result : Result
        A finished run.

    Returns
    -------
    Table
        One row a town.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> record = hl.simulate(scenario)
    >>> made = supply(Result(scenario, record, hl.measures(record, scenario)))
    >>> made.records()[0]["time with enough for all [%]"]
    100.0
    """
    return Table("supply", "Is there enough?", [
        Column("town", result.towns),
        Column("time with enough for all", result.values("reliability"), "share"),
        Column("share delivered of the water asked for", result.values("volume_reliability"),
               "share"),
        Column("largest shortage", result.values("largest_shortage"), "flow"),
        Column("longest time with too little", result.values("longest_failure"), "duration"),
        Column("cut by drought stages, share of use", _cut(result), "share"),
        Column("time under the minimum flow at the intake",
               result.values("days_under_minimum_flow"), "duration"),
        Column("lowest dilution, river flow over effluent", result.values("lowest_dilution"),
               "number"),
    ])


def _cut(result: Result) -> list[float]:
    """Use that the stages cut, over all that would have been used, by town [-]."""
    record, found = result.record, []
    for town in result.towns:
        cut, asked = (float(record[name].sel(town=town).sum()) if name in record else 0.0
                      for name in ("cut", "demand"))
        found.append(cut / (cut + asked) if cut > 0.0 else 0.0)
    return found


def stages(result: Result) -> Table:
    """The drought stages: for how long each was in force, and since when.

    Parameters
    ----------
    result : Result
        A finished run.

    Returns
    -------
    Table
        One row a stage; none where the scenario has no stages.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> record = hl.simulate(scenario)
    >>> stages(Result(scenario, record, hl.measures(record, scenario))).records()
    []
    """
    rows = []
    for stage in result.table["stage"].values if "days_in_stage" in result.table else ():
        on = np.flatnonzero(result.record["stage_days"].sel(stage=stage).values > 0.0)
        first = str(result.record["time"].values[on[0]])[:10] if len(on) else ""
        rows.append((str(stage), result.value("days_in_stage", stage=stage), first))
    names, days, began = list(zip(*rows, strict=True)) or _NO_STAGES
    return Table("stages", "Drought stages", [
        Column("stage", names), Column("time in force", days, "duration"),
        Column("first day in force", began)])
