"""Why a town ran short: what held its water back on those days, and who did without."""

from __future__ import annotations

import numpy as np

from hydroloop.charts.asking import mean_member
from hydroloop.charts.words import place_words, possessive, river_words
from hydroloop.measures import run_of
from hydroloop.outputs.document.wording import sentence
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.shortages import Shortage

_MOST = 0.9  # part of the short days on which a cause must hold to be told [-]
_SAME = 0.01  # what a river or reservoir may hold above its limit and still count as at it [-]
_ONE = 0.995  # part of the shortage from which one purpose bears it all [-]


def cause_of_shortage(result: Result, short: Shortage) -> str:
    """What the river or reservoir could not give, and whether only one kind of use did without;
    empty where neither is plain."""
    unmet = mean_member(result.table[["unmet"]])["unmet"].sel(town=short.town)
    lacked = unmet.sum("time")
    purpose = str(lacked["purpose"].values[int(np.argmax(lacked.values))])
    only = float(lacked.max()) >= _ONE * float(lacked.sum())
    cause = _cause(result, short.town, unmet.sum("purpose").transpose("time").values > 0.0)
    if only:
        return f"Only {purpose} went short{f', as {cause}' if cause else ''}."
    return f"{sentence(cause)}." if cause else ""


def _cause(result: Result, town: str, is_short: np.ndarray) -> str:
    """What held the town's water back on most of the steps on which it was short."""
    intake = result.scenario.town[town].intake
    record = mean_member(result.record)
    if intake is not None and intake.reservoir is not None:
        lake = result.scenario.reservoir[intake.reservoir]
        store = f"{intake.reservoir}/reservoir"
        level = record["volume"].sel(store=store).values[1:] / lake.capacity
        if np.mean(level[is_short] <= lake.dead_storage + _SAME) < _MOST:
            return ""
        return f"{place_words(intake.reservoir, result.names)} was down to its dead storage"
    if intake is None or intake.river is None:
        return ""
    run = run_of(record)
    place, river = run.number(town), river_words(intake.river, result.names)
    left, taken = (run.flow(of)[is_short, place, 0] for of in ("past_intake", "intakes"))
    stays = np.zeros_like(left)
    if run.minimum_flow is not None:
        stays = np.nan_to_num(run.minimum_flow[is_short, place, 0])
    if np.mean(left <= stays + _SAME * (left + taken)) < _MOST:
        return ""
    if not stays.any():
        return f"{river} had no more"
    return f"{possessive(river)} minimum flow had to stay in it"
