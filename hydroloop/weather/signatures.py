"""Signatures of a river: numbers that tell how it answers to rain, as hydrologists compare them."""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import POSITIVE_SHARE, Bounds, bounded
from hydroloop.errors import AskError, Problem
from hydroloop.weather.arrays import FLOWS, Array

_PASSES = 3
_YEAR_MM = Bounds(1e-6, 1e9, "Give millimetres, above zero.")


def _flowing(flow: Array) -> float:
    """Sum of the flows, which must not be zero."""
    total = float(flow.sum())
    if not total > 0.0:
        raise AskError(Problem("flow", "the river is dry throughout.", "Give a river that flows."))
    return total


@bounded(flow=FLOWS, filter_parameter=POSITIVE_SHARE)
def baseflow_index(flow: Array, filter_parameter: float = 0.925) -> float:
    """Baseflow index of a river [-].

    The share of the flow that comes slowly, from the ground, by a filter over daily flows. Near 0.2
    on clay, 0.9 on chalk. The filter sees only the shape of the hydrograph: melting snow, lakes and
    steady effluent count as baseflow.

    Parameters
    ----------
    flow : array (time)
        Daily mean flow, some years of it [any unit of flow]
    filter_parameter : float
        How fast quick flow dies away, 0.9 to 0.95 [-]

    Returns
    -------
    float
        Baseflow over flow [-]

    Raises
    ------
    AskError
        An argument is out of its bounds, or the river is dry.

    Notes
    -----
    Quick flow q_t = a q_(t-1) + (1 + a) / 2 (Q_t - Q_(t-1)); baseflow Q - q, at least 0 and at most
    Q; passed forward, backward and forward.

    References
    ----------
    Nathan & McMahon 1990, Water Resources Research 26: parameter 0.925, three passes.

    Examples
    --------
    >>> baseflow_index(np.full(400, 5.0))
    1.0
    """
    base = np.array(flow, dtype=float)
    total = _flowing(base)
    for _ in range(_PASSES):
        quick, before, kept = 0.0, float(base[0]), np.empty_like(base)
        for day, now in enumerate(base.tolist()):
            quick = filter_parameter * quick + 0.5 * (1.0 + filter_parameter) * (now - before)
            kept[day], before = max(0.0, now - max(0.0, quick)), now
        base = kept[::-1]
    return float(base.sum() / total)


@bounded(flow=FLOWS)
def flashiness(flow: Array) -> float:
    """Flashiness of a river [-].

    How much it rises and falls from day to day, over its flow. Small streams on clay or pavement
    pass 0.5, large rivers and springs stay under 0.1. It falls where the flow is regulated.

    Parameters
    ----------
    flow : array (time)
        Daily mean flow [any unit of flow]

    Returns
    -------
    float
        Flashiness index [-]

    Raises
    ------
    AskError
        An argument is out of its bounds, or the river is dry.

    Notes
    -----
    Sum of abs(Q_t - Q_(t-1)) over the sum of Q_t, from the second day on.

    References
    ----------
    Baker, Richards, Loftus & Kramer 2004, Journal of the American Water Resources Association 40,
    503.

    Examples
    --------
    >>> flashiness(np.array([2.0, 1.0, 2.0, 1.0]))
    0.75
    """
    daily = np.asarray(flow, dtype=float)
    total = _flowing(daily[1:])
    return float(np.abs(np.diff(daily)).sum() / total)


@bounded(flow=FLOWS)
def low_flow_ratio(flow: Array) -> float:
    """Low flow of a river over its mean [-].

    The flow exceeded on 95 of 100 days, over the mean flow. It tells what can be counted on without
    a reservoir.

    Parameters
    ----------
    flow : array (time)
        Daily mean flow, some years of it [any unit of flow]

    Returns
    -------
    float
        Q95 over the mean [-]

    Raises
    ------
    AskError
        An argument is out of its bounds, or the river is dry.

    Examples
    --------
    >>> low_flow_ratio(np.full(400, 5.0))
    1.0
    """
    daily = np.asarray(flow, dtype=float)
    return float(np.quantile(daily, 0.05) * len(daily) / _flowing(daily))


@bounded(rain_mm=_YEAR_MM, potential_mm=_YEAR_MM)
def budyko_evaporation(rain_mm: float, potential_mm: float) -> float:
    """Evaporation of a catchment in the long run, by Budyko's curve [mm].

    What a mean catchment evaporates of its rain, for the evaporation that the air could take.
    Single catchments lie a tenth of the rain above or below, those with wet winters below.

    Parameters
    ----------
    rain_mm, potential_mm : float
        Rain, and evaporation of well-watered land, mean of many years [mm]

    Returns
    -------
    float
        Evaporation [mm]

    Notes
    -----
    E / P = [phi tanh(1 / phi) (1 - exp(-phi))]^0.5 with the aridity phi = E0 / P.

    References
    ----------
    Budyko 1974, Climate and Life (from memory).

    Examples
    --------
    >>> round(budyko_evaporation(1000.0, 1000.0), 1)
    693.8
    """
    aridity = potential_mm / rain_mm
    share = np.sqrt(aridity * np.tanh(1.0 / aridity) * (1.0 - np.exp(-aridity)))
    return float(rain_mm * share)


@bounded(rain_mm=_YEAR_MM, potential_mm=_YEAR_MM)
def turc_pike_evaporation(rain_mm: float, potential_mm: float) -> float:
    """Evaporation of a catchment in the long run, by the curve of Turc and Pike [mm].

    See `budyko_evaporation`: another curve through other catchments.

    Parameters
    ----------
    rain_mm, potential_mm : float
        Rain, and evaporation of well-watered land, mean of many years [mm]

    Returns
    -------
    float
        Evaporation [mm]

    Notes
    -----
    E / P = (1 + phi^-2)^-0.5 with the aridity phi = E0 / P.

    References
    ----------
    Turc 1954; Pike 1964, Journal of Hydrology 2 (from memory).

    Examples
    --------
    >>> round(turc_pike_evaporation(1000.0, 1000.0), 1)
    707.1
    """
    return float(rain_mm / np.sqrt(1.0 + (rain_mm / potential_mm) ** 2))
