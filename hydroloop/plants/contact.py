"""Disinfection contact: chlorine times minutes, against what the tables ask for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from hydroloop.arguments import DOSE, LOGS, NOT_NEGATIVE, POSITIVE, SHARE, SMALLEST, Values, bounded
from hydroloop.errors import AskError, Problem
from hydroloop.plants.contact_tables import TABLE_LOGS, Germ, table_entry

MINUTES_A_DAY = 1440.0

BAFFLING = {"unbaffled": 0.1, "poor": 0.3, "average": 0.5, "superior": 0.7, "perfect": 1.0}
"""T10 over mean time, by baffling (AWWA/ASCE, Water Treatment Plant Design, Table 10.3) [-]."""

GERMS: tuple[Germ, ...] = ("giardia", "virus")
"""Germs with a table."""

LOGS_REQUIRED = {"giardia": 3.0, "virus": 4.0}
"""Logs that a plant must remove or inactivate in all (AWWA/ASCE, Table 10.2) [-]."""

CREDITS: dict[str, dict[str, float]] = {
    "conventional": {"giardia": 2.5, "virus": 2.0},
    "direct": {"giardia": 2.0, "virus": 1.0},
    "groundwater": {"giardia": 3.0, "virus": 0.0},
    "none": {"giardia": 0.0, "virus": 0.0},
}
"""Logs credited to the steps before disinfection (AWWA/ASCE, Table 10.2) [-].

Groundwater not under the influence of surface water holds no *Giardia*: nothing is left to do for
it, and all four logs of viruses (40 CFR 141.403, from memory).
"""


class SeasonContact(NamedTuple):
    """Contact in water of one temperature.

    Attributes
    ----------
    name : str
        Season or month.
    temperature_c : float
        Temperature of the water [degC].
    giardia, virus : float
        CT required [mg min/L].
    flow : float
        Flow at which contact stops being enough [m3/d].
    binding : str
        ``"giardia"`` or ``"virus"``, whichever stops it first.
    """

    name: str
    temperature_c: float
    giardia: float
    virus: float
    flow: float
    binding: str


def logs_left(treatment: str) -> dict[str, float]:
    """Logs left for disinfection [-].

    What chlorine still has to do after settling and filtering have done their part.
    The credit holds while filters work as the law asks.

    Parameters
    ----------
    treatment : str
        ``"conventional"``, ``"direct"``, ``"groundwater"`` or ``"none"``

    Returns
    -------
    dict
        Logs by germ, ``"giardia"`` and ``"virus"`` [-]

    Raises
    ------
    AskError
        If there is no such treatment.

    References
    ----------
    AWWA/ASCE, Water Treatment Plant Design, Table 10.2.

    Examples
    --------
    >>> logs_left("conventional")
    {'giardia': 0.5, 'virus': 2.0}
    """
    if treatment not in CREDITS:
        raise AskError(
            Problem(
                "treatment",
                f'there is no treatment "{treatment}".',
                f"There are: {', '.join(CREDITS)}.",
            )
        )
    return {germ: LOGS_REQUIRED[germ] - done for germ, done in CREDITS[treatment].items()}


@bounded(logs=LOGS)
def required_ct(
    germ: Germ, logs: float, *, temperature_c: float, ph: float, chlorine_mg_per_l: float
) -> float:
    """CT required [mg min/L].

    Chlorine times minutes that leave one germ in ten for each log.
    Free chlorine only; outside the tables it is refused.

    Parameters
    ----------
    germ : str
        ``"giardia"`` or ``"virus"``
    logs : float
        Logs of inactivation wanted [-]
    temperature_c : float
        Temperature of the water [degC]
    ph : float
        pH at the end of the contact [-]
    chlorine_mg_per_l : float
        Free chlorine at the end of the contact [mg/L]

    Returns
    -------
    float
        CT [mg min/L]

    Raises
    ------
    AskError
        If a reading lies outside the tables, or the logs outside what they hold.

    Notes
    -----
    Table entry (temperature down, pH and chlorine up) x logs / logs of the table (3 for *Giardia*,
    4 for viruses).

    References
    ----------
    40 CFR 141.74(b)(3)(v); EPA 815-R-20-003 Tables B-1, B-2; rules as given on a page of contact
    tables.

    Examples
    --------
    >>> required_ct("giardia", 1.5, temperature_c=0.4, ph=7.6, chlorine_mg_per_l=0.82)
    152.0
    """
    entry = table_entry(germ, temperature_c, ph, chlorine_mg_per_l)
    most = TABLE_LOGS[germ]
    if not 0.0 <= logs <= most:
        raise AskError(
            Problem(
                "logs",
                f"{logs:g} logs: the table for {germ} holds 0 to {most:g}.",
                "Give logs within it.",
            )
        )
    return entry.ct * logs / most


@bounded(volume=NOT_NEGATIVE, flow=POSITIVE, baffling=SHARE)
def t10(volume: Values, flow: Values, baffling: Values) -> Values:
    """Contact time T10 [min].

    Nine tenths of the water stays at least this long; the rest has found a short way.
    The factor is a rule: a tracer study of the tank itself is better.

    Parameters
    ----------
    volume : float, or array of any shape
        Lowest volume in use [m3]
    flow : float, or array of any shape
        Highest flow, above zero [m3/d]
    baffling : float, or array of any shape
        T10 over mean time [-]

    Returns
    -------
    float, or array of that shape
        Time [min]

    Notes
    -----
    T10 = factor x V / Q x 1440.

    References
    ----------
    AWWA/ASCE, Water Treatment Plant Design, Table 10.3.

    Examples
    --------
    >>> t10(1000.0, 4800.0, 0.3)
    90.0
    """
    return baffling * volume / flow * MINUTES_A_DAY


@bounded(chlorine_mg_per_l=DOSE, t10_min=NOT_NEGATIVE)
def available_ct(chlorine_mg_per_l: Values, t10_min: Values) -> Values:
    """CT available [mg min/L].

    More chlorine or more time: the product counts.
    Chlorine is taken at the end of the contact, where it is lowest.

    Parameters
    ----------
    chlorine_mg_per_l : float, or array of any shape
        Free chlorine at the end of the contact [mg/L]
    t10_min : float, or array of any shape
        Contact time [min]

    Returns
    -------
    float, or array of that shape
        CT [mg min/L]

    Notes
    -----
    CT = C x T10.

    Examples
    --------
    >>> available_ct(1.2, 50.0)
    60.0
    """
    return chlorine_mg_per_l * t10_min


@bounded(available=NOT_NEGATIVE, table_ct=POSITIVE)
def log_inactivation(available: Values, table_ct: Values, *, germ: Germ) -> Values:
    """Log inactivation reached [-].

    One log kills nine in ten, two logs 99 in a hundred, three logs 999 in a thousand.
    Straight proportion: good near the table, a rule far from it.

    Parameters
    ----------
    available : float, or array of any shape
        CT available [mg min/L]
    table_ct : float, or array of any shape
        CT of the table [mg min/L]
    germ : str
        Whose table it is: ``"giardia"``, which holds 3 logs, or ``"virus"``, which holds 4

    Returns
    -------
    float, or array of that shape
        Logs [-]

    Raises
    ------
    AskError
        An argument is out of its bounds, or there is no such table.

    Notes
    -----
    logs = 3 x CT / CT(99.9 %) for *Giardia*, 4 x CT / CT(99.99 %) for viruses.

    References
    ----------
    40 CFR 141.534.

    Examples
    --------
    >>> log_inactivation(50.0, 150.0, germ="giardia"), log_inactivation(6.0, 6.0, germ="virus")
    (1.0, 4.0)
    """
    if germ not in TABLE_LOGS:
        raise AskError(
            Problem(
                "germ", f'there is no table for "{germ}".', f"There are: {', '.join(TABLE_LOGS)}."
            )
        )
    return TABLE_LOGS[germ] * available / table_ct


@bounded(required=NOT_NEGATIVE, chlorine_mg_per_l=DOSE, volume=NOT_NEGATIVE, baffling=SHARE)
def contact_flow(
    required: float, *, chlorine_mg_per_l: float, volume: float, baffling: float
) -> float:
    """Flow at which contact stops being enough [m3/d].

    Faster water has less time with its chlorine: a capacity too, and in winter often the lowest.
    Chlorine and volume are held as they are; a plant can raise the one and baffle the other.

    Parameters
    ----------
    required : float
        CT required [mg min/L]
    chlorine_mg_per_l : float
        Free chlorine at the end of the contact [mg/L]
    volume : float
        Volume in use [m3]
    baffling : float
        T10 over mean time [-]

    Returns
    -------
    float
        Flow; infinite where nothing is required [m3/d]

    Notes
    -----
    C f V 1440 / Q = CT required, so Q = C f V 1440 / CT required.

    Examples
    --------
    >>> contact_flow(60.0, chlorine_mg_per_l=1.0, volume=1000.0, baffling=0.5)
    12000.0
    """
    if required < SMALLEST:
        return float("inf")
    return chlorine_mg_per_l * baffling * volume * MINUTES_A_DAY / required


@bounded(volume=NOT_NEGATIVE, baffling=SHARE)
def contact_by_season(
    temperatures_c: Mapping[str, float],
    *,
    volume: float,
    baffling: float,
    chlorine_mg_per_l: float,
    ph: float,
    treatment: str = "conventional",
) -> list[SeasonContact]:
    """Flow at which contact stops being enough, by season [m3/d].

    Cold water needs far more time, so the same clearwell serves less in winter.
    Water temperature, not air: it lags behind and does not fall below zero.

    Parameters
    ----------
    temperatures_c : mapping
        Water temperature by name of season or month [degC]
    volume : float
        Volume in use [m3]
    baffling : float
        T10 over mean time [-]
    chlorine_mg_per_l : float
        Free chlorine at the end of the contact [mg/L]
    ph : float
        pH at the end of the contact [-]
    treatment : str
        As in `logs_left`

    Returns
    -------
    list of SeasonContact
        One for each name, in their order

    Raises
    ------
    AskError
        With everything that lies outside the tables, or an unknown treatment.

    Examples
    --------
    >>> winter, summer = contact_by_season({"January": 1.0, "July": 22.0}, volume=1000.0,
    ...     baffling=0.3, chlorine_mg_per_l=1.0, ph=7.5)
    >>> winter.flow < summer.flow
    True
    """
    left = logs_left(treatment)
    rows: list[SeasonContact] = []
    problems: list[Problem] = []
    for name, temperature_c in temperatures_c.items():
        reading = {
            "temperature_c": temperature_c,
            "ph": ph,
            "chlorine_mg_per_l": chlorine_mg_per_l,
        }
        try:
            ct = {germ: _required(germ, left[germ], reading) for germ in GERMS}
        except AskError as error:
            problems += [p for p in error.problems if p not in problems]
            continue
        worst = max(GERMS, key=ct.__getitem__)
        flow = contact_flow(
            ct[worst], chlorine_mg_per_l=chlorine_mg_per_l, volume=volume, baffling=baffling
        )
        rows.append(SeasonContact(name, temperature_c, ct["giardia"], ct["virus"], flow, worst))
    if problems:
        raise AskError(problems)
    return rows


def _required(germ: Germ, logs: float, reading: Mapping[str, float]) -> float:
    """CT required; nothing, and no table entered, where nothing is left to do."""
    return required_ct(germ, logs, **reading) if logs > 0.0 else 0.0
