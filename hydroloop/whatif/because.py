"""Why a used share differs between two runs: its parts by who used the water last, in both."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from hydroloop.measures import find_towns, season_mean, used_because
from hydroloop.record import flow_total, step_days
from hydroloop.scenario import Scenario
from hydroloop.tracing import operator
from hydroloop.waterworks.simulate import simulate


def used_parts_of(scenarios: Sequence[Scenario], runs: Sequence[str]) -> xr.Dataset:
    """Parts of the season's used share in several runs.

    ``season_used_share_by_way`` (run, town, used_in, way) [-], NaN where no water reaches a town,
    and ``reclaimed_to_supply`` (run, town), mean of the season [m3/d].
    """
    each = [_season_of(one) for one in scenarios]
    towns, places = (list(dict.fromkeys(str(name) for one in each for name in one[dim].values))
                     for dim in ("town", "used_in"))
    whole = []
    for one in each:
        supplied = one["season_used_share_by_way"].sum(["used_in", "way"], skipna=False).notnull()
        parts = one["season_used_share_by_way"].reindex(used_in=places, fill_value=0.0)
        whole.append(one.drop_dims("used_in").assign(
            season_used_share_by_way=parts.where(supplied)).reindex(town=towns))
    return xr.concat(whole, xr.IndexVariable("run", list(runs)), combine_attrs="override",
                     join="outer")  # fmt: skip


def _season_of(scenario: Scenario) -> xr.Dataset:
    record = simulate(scenario)
    op = operator(record)
    towns = find_towns(record, scenario.town)
    warm_up = str(record.attrs.get("warm_up", "repeat"))
    parts = used_because(op, {one.name: one.taps for one in towns}, warm_up=warm_up)
    days = np.asarray(step_days(record))
    names = xr.IndexVariable("town", [one.name for one in towns])
    length = xr.DataArray(days, {"time": record["time"]}, ("time",))
    taps = xr.concat([flow_total(record, one.taps) for one in towns], names)
    pumped = xr.concat([flow_total(record, one.reclaimed) for one in towns], names)
    return xr.Dataset({
        "season_used_share_by_way": season_mean(parts["used_share_by_way"], taps * length),
        "reclaimed_to_supply": (pumped * length).sum("time") / days.sum()})
