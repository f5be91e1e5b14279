"""A steady account of compartments, from rate constants and inputs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.arguments import POSITIVE, Bounds, check
from hydroloop.errors import AskError, Problem
from hydroloop.record.build import build_record
from hydroloop.record.from_tables import edges_of
from hydroloop.record.names import BOUNDARIES, nearest
from hydroloop.record.network import Network

_ROUNDING = 1e-12


def steady_record(
    inputs: Mapping[str, float],
    rates: Mapping[str, float],
    shares: Mapping[tuple[str, str], float],
    *,
    kinds: Mapping[tuple[str, str], str] | None = None,
    start: str = "2031-01-01",
    steps: int = 365,
    step_days: float = 1.0,
) -> xr.Dataset:
    """Water record of compartments in steady state.

    Says how much stands where when what comes in and how fast each compartment lets go are known,
    and makes a record of it that can be traced. `long_run` gives its ages and transit times with
    their standard deviations. A real system is steady only in the mean.

    Parameters
    ----------
    inputs : mapping of str to float
        Water that enters each compartment from outside; none where it is not named [m3/d].
    rates : mapping of str to float
        Rate constant of every compartment: the part of it that leaves in a day [1/d]. One over it
        is the turnover time.
    shares : mapping of (str, str) to float
        From a compartment to another: the share of what leaves the one that goes to the other. What
        is left leaves the system, or goes to a boundary that is named in place of the other [-].
    kinds : mapping of (str, str) to str, optional
        What a flow is, where it shall be a gate; else "transfer".
    start : str
        First day.
    steps : int
        Number of steps.
    step_days : float
        Length of a step [d].

    Returns
    -------
    xarray.Dataset
        The water record, checked.

    Raises
    ------
    AskError
        A name is not that of a compartment, a number is out of bounds, shares come to more than
        one, or water cannot leave some compartments. Carries every problem.

    Notes
    -----
    x_i k_i = u_i + sum over j of s_ji k_j x_j, with volumes x, rate constants k, inputs u and
    shares s. For a model in years give rates over 365.25, and read its days accordingly.

    References
    ----------
    Metzler & Sierra 2018, Mathematical Geosciences 50 (compartments in steady state, ages and
    transit times; from memory).

    Examples
    --------
    >>> record = steady_record({"lake": 2.0}, {"lake": 0.1, "pond": 0.5}, {("lake", "pond"): 1.0})
    >>> record.volume.isel(edge=0).values.round(9).tolist()
    [20.0, 4.0]
    """
    _check_numbers(inputs, rates, shares, {"steps": steps, "step_days": step_days})
    stores = list(rates)
    place = {name: k for k, name in enumerate(stores)}
    constant = np.array([float(rates[name]) for name in stores])
    entering = np.array([float(inputs.get(name, 0.0)) for name in stores])
    moved = np.zeros((len(stores),) * 2)
    rest = np.ones(len(stores))
    for (source, target), share in shares.items():
        rest[place[source]] -= share
        if target in place:
            moved[place[source], place[target]] = share
    rest[rest < _ROUNDING] = 0.0
    leaving = _throughflow(stores, moved, entering)
    rows = [(name, "upstream", name, "upstream", entering[place[name]]) for name in stores]
    rows += [
        (a, a, b, (kinds or {}).get((a, b), "transfer"), leaving[place[a]] * share)
        for (a, b), share in shares.items()
    ]
    rows += [
        (name, name, "downstream", "downstream", leaving[place[name]] * rest[place[name]])
        for name in stores
    ]
    flows = [(source, target, kind, rate) for _, source, target, kind, rate in rows if rate > 0.0]
    sources, targets, flow_kinds, each = (list(column) for column in zip(*flows, strict=True))
    volume = np.tile(leaving / constant, (steps + 1, 1))
    return build_record(
        Network(stores, sources, targets, flow_kinds),
        edges_of(start, steps, step_days),
        volume,
        np.tile(each, (steps, 1)),
        title="Compartments in steady state",
    )


def _throughflow(stores: list[str], moved: np.ndarray, entering: np.ndarray) -> np.ndarray:
    """What leaves each compartment, if all that enters it and the system can leave in the end."""
    ends = moved.sum(axis=1) < 1.0 - _ROUNDING
    for _ in stores:
        ends = ends | ((moved > 0.0) & ends).any(axis=1)
    stuck = [name for name, out in zip(stores, ends, strict=True) if not out]
    if stuck:
        raise AskError(
            Problem(
                "steady_record",
                f"water cannot leave {', '.join(stuck)}.",
                "Let a share go elsewhere.",
                "shares",
            )
        )
    found = np.linalg.solve(np.eye(len(stores)) - moved.T, entering)
    return np.maximum(found, 0.0)


def _check_numbers(
    inputs: Mapping[str, float],
    rates: Mapping[str, float],
    shares: Mapping[tuple[str, str], float],
    step: dict[str, Any],
) -> None:
    """Every problem of what is given, at once."""
    where = "steady_record"
    for name, given in (("inputs", inputs), ("rates", rates), ("shares", shares)):
        if not isinstance(given, Mapping):
            raise AskError(
                Problem(
                    where,
                    f"{type(given).__name__} is no mapping.",
                    "Give numbers by name of the compartment.",
                    name,
                )
            )
    problems: list[Problem] = []
    amount = Bounds(0.0, 1e15, "Give m3 a day, zero or more.")
    share = Bounds(0.0, 1.0, "Give a share of 0 to 1: 40 % is 0.4.")
    for name, given, bounds in (
        ("inputs", inputs, amount),
        ("shares", shares, share),
        ("rates", rates, POSITIVE._replace(cure="Give the part that leaves in a day, above zero.")),
        ("steps", {"": step["steps"]}, _STEPS),
        ("step_days", {"": step["step_days"]}, POSITIVE),
    ):
        for key, value in given.items():
            label = " > ".join(key) if isinstance(key, tuple) else str(key)
            try:
                check(where, {"value": value}, {"value": bounds}, single=("value",))
            except AskError as error:
                problems += [
                    Problem(where, f"{label}: {p.what}" if label else p.what, p.cure, name)
                    for p in error.problems
                ]
    ends = [*((("inputs"), name) for name in inputs), *(("shares", pair[0]) for pair in shares)]
    ends += [("shares", pair[1]) for pair in shares if pair[1] not in BOUNDARIES]
    for key, name in dict.fromkeys(ends):
        if name not in rates:
            cure = nearest(name, rates) or "Give its rate constant."
            problems.append(Problem(where, f'there is no compartment "{name}".', cure, key))
    if not problems:
        for name in rates:
            total = sum(value for (source, _), value in shares.items() if source == name)
            if total > 1.0 + _ROUNDING:
                problems.append(
                    Problem(
                        where,
                        f"shares of {name} come to {total:g}.",
                        "Give at most 1 in all.",
                        "shares",
                    )
                )
        if not sum(inputs.values()) > 0.0:
            problems.append(Problem(where, "nothing comes in.", "Give an input.", "inputs"))
    if problems:
        raise AskError(problems)


_STEPS = Bounds(1, 1_000_000, "Give a whole number of steps, 1 to 1,000,000.", True)
