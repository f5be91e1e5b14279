"""Trace a material in the water: dosed, picked up, caught by a step, left behind, decaying."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.tracing.along_the_flow import plan
from hydroloop.tracing.elimination import split_of
from hydroloop.tracing.labels import Amounts, Rules, Trail, amounts, follow_label
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.warm_up import check_warm_up
from hydroloop.tracing.where_and_when import find_store


@dataclass(frozen=True)
class Material:
    """What becomes of a material in the water.

    Attributes
    ----------
    inflow : float, mapping or array
        Concentration in flows that enter over a boundary [g/m3].
    added : float, mapping or array
        What each m3 of a flow takes up as it enters its target, a dose or a pick-up [g/m3].
    removed : float, mapping or array
        Share of what a flow carries that is caught before its target, as by settling [-].
    carries : float, mapping or array
        Share of its water's concentration that a flow carries; 0 for vapour that leaves salt
        behind [-].
    decay : mapping of str to float or array (time,)
        First-order decay in stores, by name; an array where it changes from step to step, with the
        member last where it differs among members [1/d].
    """

    inflow: Amounts = 0.0
    added: Amounts = 0.0
    removed: Amounts = 0.0
    carries: Amounts = 1.0
    decay: Mapping[str, float | np.ndarray] = field(default_factory=dict)


def trace_material(
    record: xr.Dataset | Operator, material: Material, *, warm_up: str = "repeat"
) -> xr.Dataset:
    """Concentration of a material in every store, and where its mass went.

    Follows salt, particles, metals, chlorine or a dye by the same operator as the water. Mixing,
    catching and decay are simple shares and rates: no chemistry, and not for operating a plant.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    material : Material
        What enters, is added, caught, left behind and decays.
    warm_up : str
        "repeat" repeats the first year until the concentrations settle; "none" begins with none.

    Returns
    -------
    xarray.Dataset
        ``concentration`` (edge, store) [g/m3], as far as the repeats settle it (see
        ``warm_up_change``); ``caught`` (time, flow), ``entered`` (time), ``left`` (time),
        ``decayed`` (time, store) [g/d]; ``stored`` (edge) [g]; and ``gap`` (time): stored change
        less entered plus left, caught and decayed, over the mass at hand [-].
        Member last where the record has it.

    Raises
    ------
    AskError
        A flow, kind or store is unknown, an amount is negative or not finite, a share is above
        one, or there is no such way to warm up.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    ``(V[t+1] (1 + k dt) + dt sum_out a q) c[t+1] - dt sum_in a (1 - r) q c_source[t+1] = V[t] c[t]
    + dt sum_in q b``, with a what a flow carries, r what is caught of it, b what is added per m3
    (or comes over a boundary) and k the decay. It is the operator of the water, with decay as one
    more outflow; concentrations cannot fall below zero at any step.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> net = Network(["basin", "main"], ["upstream", "basin", "main"],
    ...               ["basin", "main", "downstream"], ["intake", "treatment", "supply"])
    >>> steady = build_record(net, edges_of("2031-01-01", 1), [[1, 1]] * 2, [[10, 10, 10]])
    >>> particles = Material(inflow=20.0, removed={"treatment": 0.9})
    >>> found = trace_material(steady, particles, warm_up="repeat")
    >>> found.concentration.isel(edge=-1).round(6).values.tolist()
    [20.0, 2.0]
    """
    op = operator(record)
    check_warm_up(warm_up)
    if warm_up == "steady":
        raise AskError(
            Problem(
                "warm_up", '"steady" is no way to warm up a material.', "Choose repeat or none."
            )
        )
    carried = _shares(op, material.carries, "carries")
    caught = _shares(op, material.removed, "removed")
    entering = amounts(op, material.inflow, "inflow")
    added = amounts(op, material.added, "added") + np.where(op.source < 0, entering, 0.0)
    rates = _decay_rates(op, material.decay)
    wider, rules = _with_decay(op, rates, carried, caught, added)
    start = np.zeros((1, *op.shape[1:]))
    trail, settled = follow_label(wider, rules, start, warm_up)
    answer = _accounted(op, trail, rates, carried, caught, added)
    answer.attrs = {"warm_up_change": settled.change, "warm_up_repeats": settled.repeats}
    return answer


def _shares(op: Operator, given: Amounts, where: str) -> np.ndarray:
    values = amounts(op, given, where)
    if (values > 1).any():
        raise AskError(Problem(where, f"{values.max():g} is more than all.", "Give at most 1."))
    return values


def _decay_rates(op: Operator, decay: Mapping[str, float | np.ndarray]) -> np.ndarray:
    """Decay of every store in every step, shape (time, store, member) [1/d]."""
    steps, members = op.water.rate.shape[0], op.shape[2]
    rates = np.zeros((steps, len(op.stores), members))
    for name, rate in decay.items():
        held = np.asarray(rate, dtype=float)
        if not (np.isfinite(held) & (held >= 0)).all():
            raise AskError(
                Problem(
                    "decay",
                    f"{rate} of {name} is negative or no number.",
                    "Give 0 or more, per day.",
                )
            )
        if held.ndim and held.shape not in ((steps,), (steps, members)):
            raise AskError(
                Problem(
                    "decay",
                    f"{name} has {held.shape[0]} values for {steps} steps.",
                    "Give one number, or one for each step.",
                )
            )
        rates[:, find_store(op, name)] = held[:, None] if held.ndim == 1 else held
    return rates


def _with_decay(
    op: Operator, rates: np.ndarray, carried: np.ndarray, caught: np.ndarray, added: np.ndarray
) -> tuple[Operator, Rules]:
    """The operator with one more outflow, without water, from each store in which it decays."""
    decaying = np.flatnonzero((rates > 0).any(axis=(0, 2)))
    carried = np.where(op.source >= 0, carried, 0.0)  # what enters leaves no store
    over = op.target < 0
    inside = np.where(over, 0.0, carried * (1.0 - caught))
    leaving = np.where(over, carried, carried * caught)
    none = np.zeros(len(decaying))
    split = split_of(np.concatenate([inside, none]), np.concatenate([leaving, none + 1.0]))
    vanishing = rates[:, decaying] * op.water.volume[1:, decaying]
    source = np.concatenate([op.source, decaying])
    target = np.concatenate([op.target, np.full(len(decaying), -1)])
    rate = np.ascontiguousarray(np.concatenate([op.water.rate, vanishing], axis=1))
    wider = replace(
        op,
        source=source,
        target=target,
        water=op.water._replace(rate=rate),
        program=plan(len(op.stores), source, target),
    )
    return wider, Rules(split, np.concatenate([added, none]))


def _accounted(
    op: Operator,
    trail: Trail,
    rates: np.ndarray,
    carried: np.ndarray,
    caught: np.ndarray,
    added: np.ndarray,
) -> xr.Dataset:
    """Where the mass is and where it went, step by step."""
    label, dry, days = trail.label, trail.dry, op.water.days[:, None]
    leaves = op.source >= 0
    moved = np.where(leaves, carried, 0.0)[:, None] * op.water.rate * label[1:, op.source]
    out = leaves & (op.target < 0)
    entered = (added[None, :, None] * op.water.rate)[:, op.target >= 0].sum(axis=1)
    found = moved * np.where(out, 0.0, caught)[:, None]
    left = moved[:, out].sum(axis=1)
    decayed = rates * op.water.volume[1:] * label[1:]
    stored = (op.water.volume * label + dry).sum(axis=1)
    change = np.diff(stored, axis=0)
    gone = left + found.sum(axis=1) + decayed.sum(axis=1)
    scale = np.maximum(np.maximum(stored[:-1], stored[1:]), days * np.maximum(entered, gone))
    gap = np.divide(
        change - days * (entered - gone), scale, out=np.zeros_like(change), where=scale > 0
    )
    data = {
        "concentration": (("edge", "store"), label, "g m-3", "concentration"),
        "caught": (("time", "flow"), found, "g d-1", "caught on the way along the flow"),
        "entered": (("time",), entered, "g d-1", "entered over boundaries, dosed or picked up"),
        "left": (("time",), left, "g d-1", "left over boundaries"),
        "decayed": (("time", "store"), decayed, "g d-1", "decayed in the store"),
        "stored": (("edge",), stored, "g", "mass in all stores"),
        "gap": (("time",), gap, "1", "gap of the mass, relative to the mass at hand"),
    }
    coords = {
        "edge": (op.edge, "", "instants between steps"),
        "time": (op.edge[:-1], "", "start of the step"),
        "store": (np.array(op.stores), "1", "store of water"),
        "flow": (np.array(op.flows), "1", "flow of water"),
    }
    return result(op, data, coords)
