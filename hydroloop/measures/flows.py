"""What a town takes, delivers and gives back, and what it could not treat."""

from __future__ import annotations

import numpy as np

from hydroloop.measures.run_arrays import Run

FLOWS = {
    "delivered": "taps",
    "withdrawn": "intakes",
    "pumped": "wells",
    "effluent": "outfalls",
    "overflowed": "overflows",
    "bypassed": "bypasses",
    "reclaimed_to_supply": "reclaimed",
}
"""Measures that are a group of a town's flows, with its name in `Town`."""


def town_flow(run: Run, name: str) -> np.ndarray:
    """Water that a town takes, delivers or gives back.

    The plain flows behind all shares.

    Parameters
    ----------
    run : Run
        Arrays of the record.
    name : str
        One of `FLOWS`.

    Returns
    -------
    numpy.ndarray
        Shape (time, town, member) [m3/d]. Effluent is NaN for a town without an outfall where the
        record has outfalls: it is somebody's, and nobody says whose.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> run = run_of(hl.simulate(hl.read_scenario("first_town")))
    >>> bool((town_flow(run, "withdrawn") > 0.0).all())
    True
    """
    found = run.flow(FLOWS[name])
    if name == "effluent" and "outfall" in run.op.kinds:
        found[:, [not town.outfalls.any() for town in run.towns]] = np.nan
    return found


def river_flow(run: Run) -> np.ndarray:
    """River flow that arrives at an intake.

    All that leaves the river cell of the intake as water: down the river and to every intake there.

    Parameters
    ----------
    run : Run
        Arrays of the record.

    Returns
    -------
    numpy.ndarray
        Shape (time, town, member) [m3/d]; NaN for a town without an intake in a river. A reservoir
        is no river.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> run = run_of(hl.simulate(hl.read_scenario("first_town")))
    >>> bool((river_flow(run) > town_flow(run, "withdrawn")).all())
    True
    """
    found = run.flow("at_intake")
    found[:, [not town.at_intake.any() for town in run.towns]] = np.nan
    return found


def mean_flow(run: Run, rate: np.ndarray) -> np.ndarray:
    """Mean of a flow over the season, shape (town, member) [m3/d]."""
    return np.einsum("t,t...->...", run.days / run.days.sum(), rate)


def reclaimed_share(run: Run) -> np.ndarray:
    """Part of what a town takes in that is reclaimed water, straight from its tank.

    Parameters
    ----------
    run : Run
        Arrays of the record.

    Returns
    -------
    numpy.ndarray
        Shape (town, member) [-]; NaN where nothing is taken in.
    """
    part, whole = (
        np.stack([run.moved[getattr(town, name)].sum(axis=0) for town in run.towns])
        for name in ("reclaimed", "takes")
    )
    return np.divide(part, whole, out=np.full_like(whole, np.nan), where=whole > 0.0)


def spilled(rate: np.ndarray, days: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """How much went untreated over the season, on how many days, and the largest of a step.

    A step counts as whole in which any does. A day's mean hides a short and heavy overflow, so that
    real ones are more frequent than this in daily steps.

    Parameters
    ----------
    rate : numpy.ndarray
        Flow of overflow, or of bypass, shape (time, ...) [m3/d].
    days : numpy.ndarray
        Lengths of the steps, shape (time) [d].

    Returns
    -------
    tuple of numpy.ndarray
        Volume [m3], days [d], and the largest flow [m3/d]; each of shape (...).

    Examples
    --------
    >>> volume, on, largest = spilled(np.array([0.0, 30.0, 10.0]), np.ones(3))
    >>> float(volume), float(on), float(largest)
    (40.0, 2.0, 30.0)
    """
    return (
        np.asarray(np.tensordot(days, rate, axes=1)),
        np.asarray(np.tensordot(days, rate > 0.0, axes=1)),
        np.asarray(rate.max(axis=0)),
    )
