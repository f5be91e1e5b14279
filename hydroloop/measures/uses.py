"""Use shares: how often the water at a tap, or at an intake, has been through homes before."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hydroloop.tracing import Operator, has_water
from hydroloop.tracing.because import UsedParts
from hydroloop.tracing.passing import Uses
from hydroloop.tracing.returning import ABOVE


class Mix:
    """Water that runs in groups of flows, such as those into each town's homes, mixed by rate.

    Where nothing runs in a step, the mix is even among the flows out of stores that hold water.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    groups : sequence of numpy.ndarray of bool
        Flows of each group, shape (flow).

    Attributes
    ----------
    stores : numpy.ndarray of int
        Stores that the groups are drawn from: of these alone labels are asked.
    is_dry : numpy.ndarray of bool
        Where a group has no water, (time, group, member).
    """

    def __init__(self, op: Operator, groups: Sequence[np.ndarray]):
        self.op = op
        flows = [np.flatnonzero(group) for group in groups]
        sources = op.source[np.concatenate([*flows, np.zeros(0, dtype=np.int64)])]
        self.stores = np.unique(sources[sources >= 0])
        wet = has_water(op, self.stores)
        self._parts = [self._parts_of(own, wet) for own in flows]
        there = np.concatenate([np.zeros((1, *wet.shape[1:])), wet])
        self.is_dry = self.of(there, np.ones(len(op.flows))) <= 0.5

    def _parts_of(self, flows: np.ndarray, wet: np.ndarray) -> list[tuple[int, int, np.ndarray]]:
        """Place among the stores, or -1, first flow, and part in the mix, (time, member)."""
        rate, source = self.op.water.rate[:, flows], self.op.source[flows]
        total = rate.sum(axis=1, keepdims=True)
        place = np.where(source >= 0, np.searchsorted(self.stores, source), -1)
        even = np.zeros_like(rate)
        if (total <= 0.0).any():
            even[:, place >= 0] = wet[:, place[place >= 0]]
            even /= np.maximum(even.sum(axis=1, keepdims=True), 1.0)
        part = np.divide(rate, total, out=even, where=total > 0.0)
        inner = [
            (store, -1, part[:, place == store].sum(axis=1))
            for store in np.unique(place[place >= 0]).tolist()
        ]
        return inner + [(-1, int(flows[n]), part[:, n]) for n in np.flatnonzero(place < 0)]

    def of(self, label: np.ndarray, given: np.ndarray) -> np.ndarray:
        """Label of the water in each group.

        Parameters
        ----------
        label : numpy.ndarray
            Of the stores at every edge, shape (..., edge, store, member). What a store holds at the
            end of a step is what leaves it during the step.
        given : numpy.ndarray
            Of each flow that enters over a boundary, shape (..., flow).

        Returns
        -------
        numpy.ndarray
            Shape (..., time, group, member).
        """
        steps, _, members = self.op.shape
        mixed = np.zeros((*label.shape[:-3], steps, len(self._parts), members))
        for group, parts in enumerate(self._parts):
            for store, flow, part in parts:
                of = label[..., 1:, store, :] if store >= 0 else given[..., flow, None, None]
                # What is not drawn upon need not be known.
                mixed[..., group, :] += np.where(part > 0.0, of, 0.0) * part
        return mixed


def of_stores(uses: Uses, places: np.ndarray) -> Uses:
    """Labels of some of the stores that they were asked of."""
    return Uses(
        uses.share[:, :, places], uses.unknown[:, places], uses.mean[:, places], uses.place[places]
    )


def use_shares(mix: Mix, uses: Uses, above: np.ndarray) -> dict[str, np.ndarray]:
    """Share of water by number of earlier uses.

    How often the water that runs in some flows, such as those into a town's homes, has passed the
    gate before. Water of an unknown past stands apart, so the used share is a lower bound while
    there is some.

    Parameters
    ----------
    mix : Mix
        The groups of flows.
    uses : Uses
        What `uses_at` gives for the stores of the mix.
    above : numpy.ndarray
        Shares of each boundary inflow by earlier uses, shape (flow, earlier) [-].

    Returns
    -------
    dict of numpy.ndarray
        ``use_share`` (time, group, use, member), ``unknown_share``, ``used_share`` and
        ``mean_uses`` (time, group, member) [-]. NaN in a step in which there is no such water.

    Notes
    -----
    used share f = sum of the shares from one use on; mean uses m as `hydroloop.count_uses` has it.
    A flow over a boundary has the shares that the record gives.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> from hydroloop.tracing import uses_at
    >>> run = run_of(hl.simulate(hl.read_scenario("first_town")))
    >>> mix = Mix(run.op, [town.taps for town in run.towns])
    >>> uses, _ = uses_at(run.op, mix.stores, "home", 5, warm_up="repeat")
    >>> bool((use_shares(mix, uses, run.op.used_before)["used_share"][:, 1] > 0).all())
    True
    """
    earlier, most = np.arange(above.shape[1]), len(uses.share) - 1
    classes = np.zeros((most + 1, len(above)))
    np.add.at(classes, np.minimum(earlier, most), above.T)
    by_use = mix.of(uses.share, classes)
    unknown = mix.of(uses.unknown, np.zeros(len(above)))
    found = {
        "use_share": by_use,
        "unknown_share": unknown,
        "used_share": by_use[1:].sum(axis=0),
        "mean_uses": mix.of(uses.mean, above @ earlier),
    }
    found = {name: np.where(mix.is_dry, np.nan, values) for name, values in found.items()}
    return {**found, "use_share": np.moveaxis(found["use_share"], 0, 2)}


def used_because(
    mix: Mix, parts: UsedParts, above: np.ndarray
) -> tuple[dict[str, np.ndarray], dict[str, list[str]]]:
    """Used share of tap water in parts.

    Tells why water was used before: in which town last, for what, and by which way it came back
    since. Water that two towns have used counts for the second.

    Parameters
    ----------
    mix : Mix
        The groups of flows.
    parts : UsedParts
        What `used_parts` gives for the stores of the mix.
    above : numpy.ndarray
        Used share of each flow that enters over a boundary, shape (flow) [-].

    Returns
    -------
    tuple of dict
        ``used_share_by_way`` (time, group, used_in, way, member) and ``used_share_by_use`` (time,
        group, used_in, used_for, member) [-]: each sums to the used share; NaN in a step without
        such water. And the names along used_in, way and used_for.

    Notes
    -----
    See `hydroloop.because`.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> from hydroloop.tracing import used_parts
    >>> run = run_of(hl.simulate(hl.read_scenario("first_town")))
    >>> mix = Mix(run.op, [town.taps for town in run.towns])
    >>> parts = used_parts(run.op, mix.stores, "home", warm_up="repeat")
    >>> values, names = used_because(mix, parts, np.zeros(len(run.op.flows)))
    >>> river = values["used_share_by_way"][9, 1, :, names["way"].index("river"), 0]
    >>> names["used_in"][int(river.argmax())]
    'larkmill'
    """
    values: dict[str, np.ndarray] = {}
    names: dict[str, list[str]] = {}
    for part in ("way", "use"):
        name, by = f"used_share_by_{part}", ("town", part)
        share, labels = parts.split(by)
        given = np.zeros((*share.shape[:2], len(above)))
        given[tuple(list(along).index(ABOVE) for along in labels.values())] = above
        mixed = np.moveaxis(mix.of(share, given), (0, 1), (2, 3))
        values[name] = np.where(mix.is_dry[:, :, None, None], np.nan, mixed)
        names |= {dim: [str(one) for one in along] for dim, along in labels.items()}
    return values, names


def used_shares_in(mix: Mix, share: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Used share alone, of water in groups of flows.

    Parameters
    ----------
    mix : Mix
        The groups of flows.
    share : numpy.ndarray
        Used share of the stores of the mix, shape (edge, store, member) [-].
    above : numpy.ndarray
        Used share of each flow that enters over a boundary, shape (flow) [-].

    Returns
    -------
    numpy.ndarray
        Shape (time, group, member) [-]; NaN in a step in which there is no such water.
    """
    return np.where(mix.is_dry, np.nan, mix.of(share, above))


def season_mean(daily: np.ndarray, volume: np.ndarray) -> np.ndarray:
    """Mean over the season, weighted by volume.

    A litre counts the same on every day, so a dry week with little use weighs less. Where no water
    ran at all there is no mean, and the answer is NaN.

    Parameters
    ----------
    daily : numpy.ndarray
        Values, shape (time, ...).
    volume : numpy.ndarray
        Water that each value stands for, of a shape that fits [m3].

    Returns
    -------
    numpy.ndarray
        Shape (...), in the unit of `daily`.

    Notes
    -----
    sum(volume x value) / sum(volume), over the steps in which the value is known.

    Examples
    --------
    >>> float(season_mean(np.array([0.0, 1.0]), np.array([3.0, 1.0])))
    0.25
    """
    known = ~np.isnan(daily)
    counts = np.where(known & (volume > 0.0), volume, 0.0)
    total = counts.sum(axis=0)
    whole = (np.where(known, daily, 0.0) * counts).sum(axis=0)
    return np.divide(whole, total, out=np.full_like(total, np.nan), where=total > 0.0)


def used_in_rivers(op: Operator, places: np.ndarray, used: np.ndarray) -> np.ndarray:
    """Used share of the water that leaves each reach and reservoir, over the season.

    How much of a river has passed the gate before, place by place. Evaporation is not counted among
    what leaves.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    places : numpy.ndarray of int
        The reaches and reservoirs, shape (place).
    used : numpy.ndarray
        Their used share, NaN without water, shape (edge, place, member) [-].

    Returns
    -------
    numpy.ndarray
        Shape (place, member) [-]; NaN where nothing leaves.

    Notes
    -----
    sum(flow x share) / sum(flow), over the steps in which the share is known.
    """
    out = np.zeros((op.shape[0], len(op.stores) + 1, op.shape[2]))
    leaves = np.flatnonzero((op.source >= 0) & (np.array(op.kinds) != "evaporation"))
    for flow in leaves[np.isin(op.source[leaves], places)].tolist():
        out[:, op.source[flow]] += op.water.rate[:, flow]
    return season_mean(used[1:], out[:, places])
