"""The operator's round: readings of a day, their limits and flags."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from hydroloop.errors import AskError, Problem
from hydroloop.plants.tap_limits import Limit, broken_limits, limits_of

HOURS = 24
TESTS = ("free chlorine", "pH", "iron", "manganese", "fluoride", "turbidity")
"""What is read every hour, day and night (common practice)."""

INVENTED = ("pH", "turbidity")
"""Tests that the model does not follow: their readings are invented, from a seed."""

# Chlorine, pH and turbidity of a quiet plant, and how they wander in an hour (common practice; the
# numbers are our own and stand for no plant).
_PH_MEAN, _PH_STEP = 7.6, 0.05
_TURBIDITY_MEAN, _TURBIDITY_STEP = 0.07, 0.15
_AFTER_WASHING = 3.0  # a filter lets more through in the hour after it was washed
_FEW = 0.05  # 95 % of the readings of a month must lie within a limit on most of them
AIM_TOLERANCE = 1.15
"""A dose that aims at the optimum wanders about it; only what is well above is worth a flag."""


@dataclass(frozen=True)
class Flag:
    """A reading that does not meet a limit.

    Attributes
    ----------
    hour : int
        Hour of the day, from midnight.
    test : str
        What was read.
    reading : float
        The reading, in the unit of the limit.
    limit : Limit
        What it does not meet, and what that means.
    """

    hour: int
    test: str
    reading: float
    limit: Limit

    @property
    def is_low(self) -> bool:
        """Whether the reading lies under the limit, not above it."""
        return self.limit.low is not None and self.reading < self.limit.low


def invented_day(seed: int, whose: str = "") -> dict[str, np.ndarray]:
    """pH [-] and turbidity [NTU] of an invented day, shape (hour); it teaches how a round is read.
    pH wanders about 7.6 and returns by a tenth of the distance each hour; turbidity is lognormal
    about 0.07 NTU, and three times as high in the hour after a filter was washed."""
    if seed < 0:
        raise AskError(Problem("seed", f"{seed} is below zero.", "Give zero or more."))
    # Not `hash`, which Python salts anew in every process.
    rng = np.random.default_rng([seed, crc32(whose.encode())])
    ph = np.empty(HOURS)
    ph[0] = _PH_MEAN + _PH_STEP * rng.standard_normal()
    for hour in range(1, HOURS):
        ph[hour] = ph[hour - 1] + 0.1 * (_PH_MEAN - ph[hour - 1])
        ph[hour] += _PH_STEP * rng.standard_normal()
    turbidity = _TURBIDITY_MEAN * np.exp(_TURBIDITY_STEP * rng.standard_normal(HOURS))
    turbidity[rng.integers(0, HOURS)] *= _AFTER_WASHING
    return {"pH": ph, "turbidity": turbidity}


def flags(readings: Mapping[str, np.ndarray], far_end: np.ndarray | None = None) -> list[Flag]:
    """Readings of a day that do not meet a limit.

    Each with the limit, its source and what it means. Limits on means, and on most readings of a
    month, are not judged by one reading, and the optimum of fluoride only where the reading is 15 %
    above it.

    Parameters
    ----------
    readings : mapping of str to array (hour)
        Readings of each test at the plant's outlet, in the unit of its limits
    far_end : array (hour), optional
        Free chlorine at the far end of the mains [mg/L]

    Returns
    -------
    list of Flag
        In the order of the hours

    Raises
    ------
    AskError
        If no limit is known for a test.

    Examples
    --------
    >>> found = flags({"iron": np.array([0.1, 0.4])})
    >>> [(flag.hour, flag.limit.high) for flag in found]
    [(1, 0.3)]
    """
    found = []
    for test, values, is_far in _read(readings, far_end):
        judged = judged_limits(test, far_end=is_far)
        for hour, reading in enumerate(values.tolist()):
            found += [
                Flag(hour, test, reading, limit)
                for limit in broken_limits(test, reading)
                if limit in judged and _is_worth_a_flag(limit, reading)
            ]
    return sorted(found, key=lambda flag: flag.hour)


def above_means(
    readings: Mapping[str, np.ndarray], far_end: np.ndarray | None = None
) -> list[Flag]:
    """Readings above a limit on the average of a year or a life, or on most readings of a month.
    One such reading breaks no rule, but a year of them would. Of the 95 % rule a day tells only
    where more than one reading in 20 lies above it."""
    found = []
    for test, values, _ in _read(readings, far_end):
        for limit in limits_of(test):
            above = [
                Flag(hour, test, reading, limit)
                for hour, reading in enumerate(values.tolist())
                if not limit.is_met(reading)
            ]
            some = len(values) * _FEW if limit.of == "most" else 0
            found += above if limit.of != "reading" and len(above) > some else []
    return found


def _read(
    readings: Mapping[str, np.ndarray], far_end: np.ndarray | None
) -> list[tuple[str, np.ndarray, bool]]:
    """Every test with its readings, and whether they are of the far end of the mains."""
    read = [(test, values, False) for test, values in readings.items()]
    return read if far_end is None else [*read, ("free chlorine", far_end, True)]


def judged_limits(test: str, *, far_end: bool = False) -> list[Limit]:
    """Limits that single readings are held to, at the plant's outlet or at the far end; without
    those on means, or on most readings of a month."""
    return [
        limit
        for limit in limits_of(test)
        if limit.of == "reading" and ("far end" in limit.where) == far_end
    ]


def is_aim(limit: Limit) -> bool:
    """Whether a limit is what a dose aims at, about which readings wander."""
    return limit.kind == "recommended" and "optimum" in limit.where


def _is_worth_a_flag(limit: Limit, reading: float) -> bool:
    return not is_aim(limit) or limit.high is None or reading > AIM_TOLERANCE * limit.high
