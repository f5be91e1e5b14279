"""How often water has been used: at taps, at intakes, along rivers, and by every ready gate."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.errors import AskError
from hydroloop.gates import USES
from hydroloop.measures.gather.asked import Asked
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.return_ratio import return_ratio
from hydroloop.measures.uses import (
    Mix,
    of_stores,
    season_mean,
    use_shares,
    used_because,
    used_in_rivers,
    used_shares_in,
)
from hydroloop.record import OPEN_WATERS
from hydroloop.tracing import find_gate, has_water, used_parts, used_shares, uses_at

MOST_NAMED = 10
"""Towns that are named as last users at most: those that use most water."""

_AT_TAP = (
    "use_share",
    "unknown_share",
    "used_share",
    "mean_uses",
    "toilet_share",
    "share_as",
    "used_share_by_way",
    "used_share_by_use",
)
_AT_INTAKE = (
    "used_share_at_intake",
    "mean_uses_at_intake",
    "return_ratio",
    "effluent_share_at_intake",
)


class Drawn(NamedTuple):
    """Water that is drawn at taps and intakes, and all stores whose labels are asked for."""

    taps: Mix
    intakes: Mix
    rivers: np.ndarray
    stores: np.ndarray

    def at(self, mix: Mix) -> np.ndarray:
        """Places of a mix's stores among all."""
        return np.searchsorted(self.stores, mix.stores)


def drawn_in(asked: Asked) -> Drawn:
    """Where labels are asked for."""
    op, towns = asked.run.op, asked.run.towns
    taps, intakes = (Mix(op, [getattr(town, part) for town in towns]) for part in ("taps", "drawn"))
    rivers = np.flatnonzero(np.isin(np.array(op.roles, dtype=str), OPEN_WATERS))
    return Drawn(
        taps, intakes, rivers, np.unique(np.concatenate([taps.stores, intakes.stores, rivers]))
    )


def how_often(asked: Asked, drawn: Drawn, flows: Found) -> Found:
    """Use shares of every town, day by day and over the season."""
    op, warm_up = asked.run.op, asked.run.warm_up
    uses, first = uses_at(asked.counted, drawn.stores, asked.gate, asked.most, warm_up=warm_up)
    at_tap, at_intake = (
        use_shares(mix, of_stores(uses, drawn.at(mix)), asked.counted.used_before)
        for mix in (drawn.taps, drawn.intakes)
    )
    own = {"tap": at_tap["used_share"], "intake": at_intake["used_share"]}
    values = {
        **at_tap,
        "used_share_at_intake": at_intake["used_share"],
        "mean_uses_at_intake": at_intake["mean_uses"],
        **_by_ready_gate(asked, drawn, own),
        "return_ratio": _return_ratio(asked, drawn),
    }
    parts = used_parts(
        op, drawn.taps.stores, asked.gate, warm_up=warm_up, first=first.state, towns=MOST_NAMED
    )
    because, names = used_because(drawn.taps, parts, 1.0 - asked.counted.used_before[:, 0])
    values |= because
    values |= _season(asked, values, flows)
    if len(drawn.rivers):
        place = np.searchsorted(drawn.stores, drawn.rivers)
        used = uses.share[1:, :, place].sum(axis=0)
        used[1:][~has_water(op, drawn.rivers)] = np.nan
        told = np.full(op.shape[1:], np.nan)
        told[drawn.rivers] = used_in_rivers(op, drawn.rivers, used)
        values["season_used_share_in_river"] = told
    return Found(
        values,
        {"use": np.arange(asked.most + 1), "count_as": list(USES), **names},
        {"warm_up_change": first.change},
    )


def _by_ready_gate(asked: Asked, drawn: Drawn, own: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Used share by every ready gate; NaN where the record has no such flow.

    `own` is what is known already, of the gate that is asked for.
    """
    op = asked.run.op
    asked_for = op.count_as if asked.gate is None else asked.gate
    gates = {}
    for name in USES:
        try:
            gates[name] = find_gate(op, name)
        except AskError:
            continue
    others = [name for name in gates if name != str(asked_for)]
    shares = (
        used_shares(
            op,
            drawn.stores,
            [gates[name] for name in others],
            [name != "toilet" for name in others],
            warm_up=asked.run.warm_up,
        )
        if others
        else np.zeros(0)
    )
    before = 1.0 - op.used_before[:, 0]

    def share(name: str, end: str) -> np.ndarray:
        mix = drawn.taps if end == "tap" else drawn.intakes
        if name not in gates:
            return np.full_like(own[end], np.nan)
        if name not in others:
            return own[end]
        return used_shares_in(
            mix, shares[others.index(name)][:, drawn.at(mix)], before * (name != "toilet")
        )

    found = {
        "share_as": np.stack([share(name, "tap") for name in USES], axis=2),
        "effluent_share_at_intake": share("wastewater-plant", "intake"),
    }
    if "toilet" in gates:
        found["toilet_share"] = share("toilet", "tap")
    return found


def _return_ratio(asked: Asked, drawn: Drawn) -> np.ndarray:
    """Accumulated return ratio at every intake in a river; NaN for a town without one."""
    op, mix = asked.run.op, drawn.intakes
    before = op.used_before @ np.arange(op.used_before.shape[1])
    found = mix.of(return_ratio(op)[:, mix.stores], before)
    on_river = np.array([town.intakes.any() for town in asked.run.towns], dtype=bool)
    return np.where(on_river[:, None] & ~mix.is_dry, found, np.nan)


def _season(asked: Asked, daily: dict[str, np.ndarray], flows: Found) -> dict[str, np.ndarray]:
    """Means over the season, weighted by the water at the tap, or by that drawn at the intake."""
    days = asked.run.days[:, None, None]
    # At an intake the water counts that is drawn there: out of the river, if the town has one.
    from_river = flows["withdrawn"].sum(axis=0) > 0.0
    drawn = np.where(from_river, flows["withdrawn"], flows["pumped"]) * days
    at_tap = flows["delivered"] * days
    weights = {**dict.fromkeys(_AT_TAP, at_tap), **dict.fromkeys(_AT_INTAKE, drawn)}
    return {
        f"season_{name}": season_mean(
            daily[name], np.expand_dims(weight, tuple(range(2, daily[name].ndim - 1)))
        )
        for name, weight in weights.items()
        if name in daily
    }
