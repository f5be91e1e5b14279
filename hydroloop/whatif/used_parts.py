"""Why a used share differs between two runs: its parts by who used the water last, in both."""

from __future__ import annotations

from collections.abc import Sequence

import xarray as xr

from hydroloop.measures import Mix, Run, season_mean, town_flow, used_because
from hydroloop.measures.flows import mean_flow
from hydroloop.measures.gather.dataset import Found, dataset_of
from hydroloop.tracing import as_counted, used_parts


def used_parts_of(ends: Sequence[Run], runs: Sequence[str]) -> xr.Dataset:
    """Parts of the season's used share in several runs.

    ``season_used_share_by_way`` (run, town, used_in, way) [-], NaN where no water reaches a town,
    and ``reclaimed_to_supply`` (run, town), mean of the season [m3/d].
    """
    each = [_season_of(run) for run in ends]
    towns, places = (
        list(dict.fromkeys(str(name) for one in each for name in one[dim].values))
        for dim in ("town", "used_in")
    )
    whole = []
    for one in each:
        supplied = one["season_used_share_by_way"].sum(["used_in", "way"], skipna=False).notnull()
        parts = one["season_used_share_by_way"].reindex(used_in=places, fill_value=0.0)
        whole.append(
            one.drop_dims("used_in")
            .assign(season_used_share_by_way=parts.where(supplied))
            .reindex(town=towns)
        )
    return xr.concat(
        whole, xr.IndexVariable("run", list(runs)), combine_attrs="override", join="outer"
    )


def _season_of(run: Run) -> xr.Dataset:
    mix = Mix(run.op, [town.taps for town in run.towns])
    traced = used_parts(run.op, mix.stores, None, warm_up=run.warm_up)
    above = 1.0 - as_counted(run.op, None).used_before[:, 0]
    parts, names = used_because(mix, traced, above)
    water = run.flow("taps") * run.days[:, None, None]
    return dataset_of(
        Found(
            {
                "season_used_share_by_way": season_mean(
                    parts["used_share_by_way"], water[:, :, None, None]
                ),
                "mean_reclaimed_to_supply": mean_flow(run, town_flow(run, "reclaimed_to_supply")),
            },
            {
                "town": [town.name for town in run.towns],
                "used_in": names["used_in"],
                "way": names["way"],
            },
        ),
        run.op.members,
        {},
    ).rename(mean_reclaimed_to_supply="reclaimed_to_supply")
