"""Parts of the used water that is there when the record begins."""

from __future__ import annotations

import numpy as np

from hydroloop.tracing.carried_over import WHOLE, slow_stores
from hydroloop.tracing.mean_flows import fed, mean_rates, steady_solver
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.parts import APART, Crossings, Parts, advance, nothing
from hydroloop.tracing.warm_up import UNSETTLED, first_year, gain, retained, settle


def parts_begun(op: Operator, rules: Crossings, counted: np.ndarray, warm_up: str) -> Parts:
    """Parts of the used water in every store at the first edge."""
    found = nothing(op, rules)
    if warm_up != "none":
        found = _steady(op, rules)
    if warm_up == "repeat":
        found = _settled(op, rules, found)
    never, used, unknown = counted
    total = found.user.sum(axis=0)
    found.user[:] *= np.divide(used, total, out=np.zeros_like(total), where=total > 0)
    _fit_ways(found, _towns(rules, found.user))
    for name, share in (
        ("untold", np.where(total > 0, 0.0, used)),
        ("never", never),
        ("unknown", unknown),
    ):
        found.user[APART.index(name) - len(APART)] = share
    return found


def _towns(rules: Crossings, user: np.ndarray) -> np.ndarray:
    """Labels of users, (label, ...), as those of their towns."""
    towns = np.zeros((rules.towns, *user.shape[1:]))
    np.add.at(towns, rules.town[rules.town >= 0], user[rules.town >= 0])
    return towns


def _fit_ways(found: Parts, towns: np.ndarray) -> None:
    """Make the ways of each town sum to the town, in place."""
    whole = found.towns
    found.way[:] *= np.divide(towns, whole, out=np.zeros_like(whole), where=whole > 0)
    found.way[0] += np.where(whole > 0, 0.0, towns)


def _steady(op: Operator, rules: Crossings) -> Parts:
    """Parts in the steady state of the first year's mean flows."""
    rate = mean_rates(op, first_year(op))[:, 0]
    is_fed = fed(op, rate)
    shut = np.zeros(len(op.flows), dtype=bool)
    shut[rules.use_flow] = True
    both = shut.copy()
    both[rules.mark_flow] = True
    found = nothing(op, rules)
    given, marked = np.zeros_like(found.user), np.zeros_like(found.way)
    used = op.target[rules.use_flow]
    np.add.at(given, (rules.use_label, used), rate[rules.use_flow])
    np.add.at(
        given,
        (rules.enter_label, op.target[rules.enter_flow]),
        rate[rules.enter_flow] * rules.enter_share,
    )
    np.add.at(marked, (rules.use_way, rules.town[rules.use_label], used), rate[rules.use_flow])
    _solve(op, rate, ~shut, np.where(is_fed, given, 0.0), found.user)
    towns = _towns(rules, found.user)
    for flow, way in zip(rules.mark_flow.tolist(), rules.mark_way.tolist(), strict=True):
        marked[way, :, op.target[flow]] += rate[flow] * towns[:, op.source[flow]]
    marked = np.where(is_fed, marked, 0.0)
    _solve(op, rate, ~both, marked.reshape(-1, len(is_fed)), found.way.reshape(-1, len(is_fed)))
    found.user[len(found.user) - len(APART) + 1 :] = 0.0
    return found


def _solve(
    op: Operator, rate: np.ndarray, through: np.ndarray, given: np.ndarray, labels: np.ndarray
) -> None:
    solver = steady_solver(op, rate, through)
    for k in np.flatnonzero(given.any(axis=1)).tolist():
        labels[k] = np.maximum(solver(given[k]), 0.0)


def _settled(op: Operator, rules: Crossings, guess: Parts) -> Parts:
    """Parts that the first year hands on as it began with them; none where they do not settle."""
    steps, stores = first_year(op), len(op.stores)
    users = len(guess.user)
    above = users - len(APART) + 1  # those after it are told by the count of uses

    def rows(parts: Parts) -> np.ndarray:
        return np.concatenate([parts.user, parts.way.reshape(-1, stores)])[..., None]

    def parts(labels: np.ndarray) -> Parts:
        way = labels[users:, :, 0].reshape(guess.way.shape)
        return Parts(labels[:users, :, 0].copy(), way.copy())

    def year(labels: np.ndarray) -> np.ndarray:
        after = advance(op, rules, parts(labels), steps)[0]
        after.user[above:] = 0.0
        return rows(after)

    handed_on = _HandedOn(op, rules, steps)
    settled = settle(op, year, rows(guess), lambda change: rows(handed_on(parts(change))), most=1.0)
    found = parts(settled.state)
    unsettled = (settled.left[..., 0] > UNSETTLED).any(axis=0)
    found.user[:, unsettled] = 0.0
    found.way[..., unsettled] = 0.0
    return found


class _HandedOn:
    """What slow stores hand on to themselves and to others, from year to year."""

    def __init__(self, op: Operator, rules: Crossings, steps: int):
        self.rules = rules
        kept = retained(op)
        is_slow = slow_stores(steps, kept)
        self.slow = np.flatnonzero(is_slow[:, 0])
        self.gain = np.where(is_slow, 1.0, gain(kept))[:, 0]
        none = np.zeros(0, dtype=np.int64)
        count = len(self.slow)
        follow = rules._replace(use_flow=none, enter_flow=none, town=np.arange(count), towns=count)
        begun = nothing(op, follow)
        begun.user[follow.town, self.slow] = begun.way[0, follow.town, self.slow] = 1.0
        after = advance(op, follow, begun, steps)[0] if len(self.slow) else begun
        self.kept = Parts(after.user * WHOLE, after.way * WHOLE)
        one = np.eye(len(self.slow))
        self.user, self.way = (
            np.linalg.inv(one - share[:, self.slow].T)
            for share in (self.kept.user, self.kept.way[0])
        )

    def __call__(self, change: Parts) -> Parts:
        user, way = change.user * self.gain, change.way * self.gain
        begun = user[:, self.slow] @ self.user.T
        user += begun @ self.kept.user
        towns = _towns(self.rules, begun)
        for w, part in enumerate(way):
            given = part[:, self.slow]
            if w:
                brought = towns @ self.kept.way[w]
                part += brought
                given = given + brought[:, self.slow]
            part += given @ self.way.T @ self.kept.way[0]
        return Parts(user, way)
