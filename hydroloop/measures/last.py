"""Time since the last use of the water in a glass, and the glass itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hydroloop.tracing import Operator
from hydroloop.tracing.backward import look_back
from hydroloop.tracing.last_use import days_back

GLASS_ML = 250.0
WITHIN = (7, 30, 90)
_OF_A_GLASS = (
    "last_use_never",
    "last_use_before_record",
    "last_use_unknown",
    "last_use_median",
    *(f"within_{days}" for days in WITHIN),
    "molecules_in_homes_last_month",
)
_AVOGADRO = 6.02214076e23  # per mol, exact by the definition of the mole (SI Brochure 2019)
_GRAM_PER_MOL = 18.015  # of water (IUPAC atomic weights: 2 x 1.008 + 15.999)
_GRAM_PER_ML = 0.998  # of water at 20 degrees Celsius (from memory)


def molecules_in_a_glass() -> float:
    """Molecules of water in a glass.

    A quarter of a litre. Molecules trade hydrogen with their neighbours all the time, so no single
    one can be followed; the model follows the water.

    Returns
    -------
    float
        Number of molecules in 250 mL [-].

    Notes
    -----
    volume x density / molar mass x Avogadro's number.

    Examples
    --------
    >>> f"{molecules_in_a_glass():.1e}"
    '8.3e+24'
    """
    return GLASS_ML * _GRAM_PER_ML / _GRAM_PER_MOL * _AVOGADRO


def time_since_use(
    op: Operator, gate: np.ndarray, glasses: Sequence[tuple[int, int]]
) -> dict[str, np.ndarray]:
    """Time since the last use of the water in glasses.

    How long ago the used part of each glass last went through a home. Early in a record much of it
    is unknown, which is said.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    gate : numpy.ndarray of bool
        What counts as a use, shape (flow).
    glasses : sequence of tuple of int
        Store and step that each is drawn from; a step of -1 where there is none.

    Returns
    -------
    dict of numpy.ndarray
        ``last_use_share`` (glass, days_ago, member), ``last_use_never``,
        ``last_use_before_record``, ``last_use_unknown`` (glass, member) [-], which sum to one; of
        the used part ``last_use_median`` [d], NaN where there is none or half of it was used before
        the record, and ``within_7``, ``within_30``, ``within_90``: shares of the used part [-];
        ``molecules_in_homes_last_month``: molecules of the glass that were in a home within 30 days
        [-]; and ``days_ago`` [d]. NaN for a glass that there is none of.

    Notes
    -----
    The used part is what passed the gate in the record or, time unknown, before. The median is the
    first number of days within which half of the used part had its last use. All glasses are looked
    back from in one pass.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import find_gate, operator
    >>> op = operator(hl.simulate(hl.read_scenario("first_town")))
    >>> glass = (op.stores.index("penhollow/mains"), 120)
    >>> bool(time_since_use(op, find_gate(op, "home"), [glass])["last_use_median"][0, 0] > 0)
    True
    """
    known = np.array([step >= 0 for _, step in glasses], dtype=bool)
    stores, steps = (
        zip(*[glass for glass in glasses if glass[1] >= 0], strict=True)
        if (known.any())
        else ((), (0,))
    )
    if not known.any():
        return _told(op, [], known, 0)
    met = look_back(op, gate, list(stores), list(steps))
    enters = met.by_flow * (op.source < 0)[:, None]
    never = np.tensordot(enters, op.used_before[:, 0], axes=(1, 0))
    before = np.tensordot(enters, op.used_before[:, 1:].sum(axis=1), axes=(1, 0))
    parts = [met.passed, never, before, met.standing.sum(axis=1)]
    return _told(op, parts, known, max(steps))


def _told(
    op: Operator, parts: list[np.ndarray], known: np.ndarray, last: int
) -> dict[str, np.ndarray]:
    """What is told of the glasses that there are, among all."""
    days = days_back(op, last)
    members = op.shape[2]
    found = {name: np.full((len(known), members), np.nan) for name in _OF_A_GLASS}
    found["last_use_share"] = np.full((len(known), len(days), members), np.nan)
    if parts:
        share, never, before, unknown = parts
        used = share.sum(axis=1) + before
        safe = np.where(used > 0.0, used, np.nan)
        within = {n: share[:, days <= n].sum(axis=1) for n in WITHIN}
        values = {
            "last_use_share": share,
            "last_use_never": never,
            "last_use_before_record": before,
            "last_use_unknown": unknown,
            "last_use_median": _median(np.cumsum(share, axis=1) / safe[:, None], days),
            **{f"within_{n}": part / safe for n, part in within.items()},
            "molecules_in_homes_last_month": within[30] * molecules_in_a_glass(),
        }
        for name, told in values.items():
            found[name][known] = told
    return {**found, "days_ago": days}


def _median(gathered: np.ndarray, days: np.ndarray) -> np.ndarray:
    """First day by which half of the used part had its last use."""
    reached = gathered >= 0.5 - 1e-12
    return np.where(reached.any(axis=1), days[reached.argmax(axis=1)], np.nan)
