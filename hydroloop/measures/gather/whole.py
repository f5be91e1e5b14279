"""The account of the whole record, and its long run: what needs no town."""

from __future__ import annotations

import numpy as np

from hydroloop.measures.balance import TERMS, balance, largest_gap
from hydroloop.measures.gather.asked import Asked
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.land_balance import LAND_TERMS, land_balance, unexplained_storage
from hydroloop.measures.last import molecules_in_a_glass
from hydroloop.measures.lifetime import cycling
from hydroloop.measures.parcel import passed_on_entering
from hydroloop.measures.residence import turnover_time
from hydroloop.measures.supply import days_in_stages


def whole(asked: Asked) -> Found:
    """Balance, turnover, cycling and drought stages of a record."""
    run = asked.run
    places, terms = balance(run)
    long_run = _long_run(asked)
    found = Found(
        {
            "balance": terms,
            "gap_relative": largest_gap(run),
            "turnover_time": turnover_time(run.op),
            **{name: long_run[name] for name in ("cycling_index", "path_length")},
        },
        {"place": places, "term": list(TERMS), "store": list(run.op.stores)},
    )
    if run.towns:
        found.values["lifetime_passes"] = long_run["lifetime_passes"]
        found.coords["town"] = [town.name for town in run.towns]
    land, depth = land_balance(run)
    if land:
        found |= Found(
            {"land_balance": depth, "unexplained_storage": unexplained_storage(run, depth)},
            {"land": land, "land_term": list(LAND_TERMS)},
        )
    if run.stage_days is not None:
        found |= Found(
            {"days_in_stage": days_in_stages(run.stage_days, run.days)}, {"stage": list(run.stages)}
        )
    found.values["molecules_in_a_glass"] = np.asarray(molecules_in_a_glass())
    return found


def _long_run(asked: Asked) -> dict[str, np.ndarray]:
    """Cycling, and the passes of a drop that begins where most of what a town takes in arrives, in
    each member."""
    run, members = asked.run, asked.run.op.shape[2]
    each = [run] if members == 1 else [run.by_itself(number) for number in range(members)]
    begins = [[town.first for town in one.towns] for one in each]
    stores = list(dict.fromkeys(name for names in begins for name in names))
    found = cycling(run.op, asked.gate, stores)
    rows = np.array([[stores.index(name) for name in names] for names in begins], dtype=np.int64)
    entered = [
        np.array([passed_on_entering(one.op, asked.mask, town)[0] for town in one.towns])
        for one in each
    ]
    found["lifetime_passes"] = (
        found["lifetime_passes"][rows.T, np.arange(members)] + np.array(entered).T
    )
    return found
