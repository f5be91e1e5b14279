"""Limits for the tests an operator makes on tap water: what law asks, and what is recommended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from hydroloop.errors import AskError, Problem


@dataclass(frozen=True)
class Limit:
    """A limit for a test.

    Attributes
    ----------
    test : str
        What is measured: ``"free chlorine"``.
    low, high : float or None
        Ends of what is allowed; None where there is none.
    unit : str
        Unit of both.
    kind : str
        ``"legal"`` (must be met), ``"health"`` (advised for health, not law everywhere),
        ``"recommended"`` (taste, colour, or best effect).
    where : str
        Where or how it is measured.
    source : str
        Rule.
    meaning : str
        What a reading beyond it means, in plain words.
    of : str
        What it holds for: ``"reading"`` (every single one), ``"most"`` (95 % of the readings of a
        month) or ``"mean"`` (of a year, or a life).
    """

    test: str
    low: float | None
    high: float | None
    unit: str
    kind: Literal["legal", "health", "recommended"]
    where: str
    source: str
    meaning: str
    of: Literal["reading", "most", "mean"] = "reading"

    def is_met(self, reading: float) -> bool:
        """Whether a reading lies within the limit, ends included; a missing reading does not."""
        above = self.low is None or reading >= self.low
        below = self.high is None or reading <= self.high
        return reading == reading and above and below


_TASTE = "people taste or see it; this limit is not about health"
_DISINFECTION = "too little is left to protect the water in the mains"
_BYPRODUCT = "chlorine has met too much organic matter, or for too long"

LIMITS: tuple[Limit, ...] = (
    Limit(
        "free chlorine",
        0.2,
        None,
        "mg/L",
        "legal",
        "entry to the mains, not lower for more than 4 h",
        "40 CFR 141.72(a)(3), (b)(2)",
        _DISINFECTION,
    ),
    Limit(
        "free chlorine",
        0.2,
        None,
        "mg/L",
        "legal",
        "far end of the mains, Texas",
        "30 TAC 290.110(b)(4)",
        _DISINFECTION,
    ),
    Limit(
        "total chlorine",
        0.5,
        None,
        "mg/L",
        "legal",
        "entry and far end, where chloramine is used, Texas",
        "30 TAC 290.110(b)(2), (4)",
        _DISINFECTION,
    ),
    Limit(
        "free chlorine",
        None,
        4.0,
        "mg/L",
        "legal",
        "running mean of a year",
        "40 CFR 141.65",
        "more chlorine than may be left, as the average of a year",
        "mean",
    ),
    Limit(
        "chloramines",
        None,
        4.0,
        "mg/L",
        "legal",
        "running mean of a year",
        "40 CFR 141.65",
        "more than may be left, as the average of a year",
        "mean",
    ),
    Limit(
        "chlorine dioxide",
        None,
        0.8,
        "mg/L",
        "legal",
        "entry to the mains",
        "40 CFR 141.65",
        "more than may be left",
    ),
    Limit(
        "turbidity",
        None,
        0.3,
        "NTU",
        "legal",
        "filtered water, 95 % of readings",
        "40 CFR 141.173, 141.551",
        "filters let particles through; germs can hide in them",
        "most",
    ),
    Limit(
        "turbidity",
        None,
        1.0,
        "NTU",
        "legal",
        "filtered water, any reading",
        "40 CFR 141.173, 141.551",
        "filters let many particles through: act at once",
    ),
    Limit(
        "iron",
        None,
        0.3,
        "mg/L",
        "recommended",
        "tap",
        "40 CFR 143.3",
        f"rusty colour and stains; {_TASTE}",
    ),
    Limit(
        "manganese",
        None,
        0.05,
        "mg/L",
        "recommended",
        "tap",
        "40 CFR 143.3",
        "black stains and a metallic taste; the limits for health lie above it",
    ),
    Limit(
        "manganese",
        None,
        0.08,
        "mg/L",
        "health",
        "tap, provisional guideline, infants on the bottle first",
        "WHO 2021",
        "more than is advised for infants on the bottle: ask the health authority",
    ),
    Limit(
        "manganese",
        None,
        0.3,
        "mg/L",
        "health",
        "mean of a lifetime",
        "US EPA 2004, lifetime health advisory",
        "can harm nerves over years",
        "mean",
    ),
    Limit(
        "pH",
        6.5,
        8.5,
        "-",
        "recommended",
        "tap",
        "40 CFR 143.3",
        "low water eats pipes, high water tastes and leaves scale",
    ),
    Limit(
        "dissolved solids",
        None,
        500.0,
        "mg/L",
        "recommended",
        "tap",
        "40 CFR 143.3",
        f"salty; {_TASTE}",
    ),
    Limit(
        "chloride", None, 250.0, "mg/L", "recommended", "tap", "40 CFR 143.3", f"salty; {_TASTE}"
    ),
    Limit("sulfate", None, 250.0, "mg/L", "recommended", "tap", "40 CFR 143.3", _TASTE),
    Limit(
        "aluminium",
        None,
        0.2,
        "mg/L",
        "recommended",
        "tap; the rule gives 0.05 to 0.2",
        "40 CFR 143.3",
        "too much alum, or flocs that passed the filters",
    ),
    Limit(
        "fluoride",
        None,
        0.7,
        "mg/L",
        "recommended",
        "tap, optimum (before 2015: 0.7 to 1.2)",
        "US PHS 2015, 80 FR 24936",
        "above the best dose for teeth",
    ),
    Limit(
        "fluoride",
        None,
        2.0,
        "mg/L",
        "recommended",
        "tap",
        "40 CFR 143.3",
        "can stain the teeth of children",
    ),
    Limit(
        "fluoride",
        None,
        4.0,
        "mg/L",
        "legal",
        "tap",
        "40 CFR 141.62(b)(1)",
        "harms bones over years",
    ),
    Limit(
        "trihalomethanes",
        None,
        0.080,
        "mg/L",
        "legal",
        "running mean of a year",
        "40 CFR 141.64",
        _BYPRODUCT,
        "mean",
    ),
    Limit(
        "haloacetic acids",
        None,
        0.060,
        "mg/L",
        "legal",
        "running mean of a year",
        "40 CFR 141.64",
        _BYPRODUCT,
        "mean",
    ),
    Limit(
        "bromate",
        None,
        0.010,
        "mg/L",
        "legal",
        "running mean of a year",
        "40 CFR 141.64",
        "ozone has met bromide",
        "mean",
    ),
    Limit(
        "chlorite",
        None,
        1.0,
        "mg/L",
        "legal",
        "mean of samples",
        "40 CFR 141.64",
        "left by chlorine dioxide",
        "mean",
    ),
    Limit(
        "nitrate", None, 10.0, "mg/L as N", "legal", "tap", "40 CFR 141.62", "harms small babies"
    ),
)
"""Every limit, by test."""


def limits_of(test: str) -> tuple[Limit, ...]:
    """Limits of a test.

    What law and good practice say of a reading.
    United States, federal unless the limit says otherwise; the local authority decides.

    Parameters
    ----------
    test : str
        ``"iron"``, ``"free chlorine"``, ...

    Returns
    -------
    tuple of Limit
        All of them, legal and recommended

    Raises
    ------
    AskError
        If no limit is known for such a test.

    Examples
    --------
    >>> [limit.high for limit in limits_of("iron")]
    [0.3]
    """
    found = tuple(limit for limit in LIMITS if limit.test == test)
    if found:
        return found
    tests = ", ".join(dict.fromkeys(limit.test for limit in LIMITS))
    raise AskError(Problem("test", f'no limit is known for "{test}".', f"There are: {tests}."))


def broken_limits(test: str, reading: float) -> tuple[Limit, ...]:
    """Limits that a reading does not meet.

    A flag beside a reading, and what it means.
    Limits on means of a year are not broken by one reading: look at `Limit.where`.

    Parameters
    ----------
    test : str
        What was measured
    reading : float
        In the unit of the limits of that test

    Returns
    -------
    tuple of Limit
        None, if all is well

    Raises
    ------
    AskError
        If no limit is known for such a test.

    Examples
    --------
    >>> broken_limits("manganese", 0.2)[0].kind
    'recommended'
    """
    return tuple(limit for limit in limits_of(test) if not limit.is_met(reading))
