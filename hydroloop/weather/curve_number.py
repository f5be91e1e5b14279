"""Storm runoff by curve number.

Plain numbers in, plain numbers out, so that a compiled loop can call them; arrays where it says so.
Not for design of real drains or floods: a teaching model.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hydroloop.arguments import POSITIVE, SHARE, Values, bounded, each
from hydroloop.weather.arrays import CURVE_NUMBER, RAIN_MM, Array

PAVED = 98.0  # curve number of paved ground, TR-55 Table 2-2a


@bounded(curve_number=CURVE_NUMBER)
def retention_depth(curve_number: Values) -> Values:
    """Most water that the ground holds back in a storm [mm].

    The lower the curve number, the more the ground takes.
    The first fifth of it is lost before anything runs off.

    Parameters
    ----------
    curve_number : float, or array of any shape
        Curve number, above 0, at most 100 [-]

    Returns
    -------
    float, or array of that shape
        Retention [mm]

    Notes
    -----
    S = 25.4 (1000 / CN - 10).

    References
    ----------
    USDA SCS 1986, TR-55, equation 2-4.

    Examples
    --------
    >>> round(retention_depth(74.0) / 25.4, 2)
    3.51
    """
    return 25.4 * (1000.0 / curve_number - 10.0)


@bounded(rain_mm=RAIN_MM, curve_number=CURVE_NUMBER)
@each
def runoff_depth(rain_mm: Values, curve_number: Values) -> Values:
    """Runoff of a storm [mm].

    The part of a storm's rain that runs off the ground.
    For the sum of a storm: of a storm in progress take the difference of two sums.

    Parameters
    ----------
    rain_mm : float, or array of any shape
        Rain since the storm began [mm]
    curve_number : float, or array of any shape
        Curve number, above 0, at most 100 [-]

    Returns
    -------
    float, or array of that shape
        Runoff since the storm began [mm]

    Notes
    -----
    Q = (P - 0.2 S)^2 / (P + 0.8 S) where P is above 0.2 S, else 0; S = 25.4 (1000 / CN - 10) [mm].
    Made for storms of a day; poor for small ones.

    References
    ----------
    USDA SCS 1986, TR-55, equations 2-3 and 2-4.

    Examples
    --------
    >>> round(runoff_depth(4.3 * 25.4, 74.0) / 25.4, 2)
    1.82
    >>> runoff_depth([20.0, 50.0, 100.0], 80.0).round(1).tolist()
    [0.8, 13.8, 50.5]
    """
    retention_mm = 25.4 * (1000.0 / curve_number - 10.0)
    surplus_mm = rain_mm - 0.2 * retention_mm
    if surplus_mm <= 0.0:
        return 0.0
    return surplus_mm * surplus_mm / (surplus_mm + retention_mm)


@bounded(rain_mm=RAIN_MM, curve_number=CURVE_NUMBER)
def storm_in_progress(rain_mm: Array, curve_number: float) -> Array:
    """Runoff of each step of one storm [mm].

    Little runs off at first, most of the rain later, when the ground is full.
    One storm: after a dry day begin a new one.

    Parameters
    ----------
    rain_mm : array (time)
        Rain of each step [mm]
    curve_number : float
        Curve number, above 0, at most 100 [-]

    Returns
    -------
    array (time)
        Runoff of each step [mm]

    Notes
    -----
    Differences of the runoff of the rain summed up so far.

    References
    ----------
    USDA NRCS 2004, National Engineering Handbook 630, chapter 10, example 10-6.

    Examples
    --------
    >>> runoff = storm_in_progress(np.array([50.0, 50.0]), 80.0)
    >>> bool(runoff[1] > runoff[0]), bool(abs(runoff.sum() - runoff_depth(100.0, 80.0)) < 1e-9)
    (True, True)
    """
    so_far = [runoff_depth(total, curve_number) for total in np.cumsum(rain_mm).tolist()]
    return np.diff(np.array([0.0, *so_far]))


@bounded(curve_numbers=CURVE_NUMBER, areas=POSITIVE)
def weighted_curve_number(curve_numbers: Sequence[float], areas: Sequence[float]) -> float:
    """Curve number of several pieces of land together [-].

    Weighted by area.
    Where numbers differ much the runoff comes out low: weight the runoff instead.

    Parameters
    ----------
    curve_numbers : sequence of float
        Curve number of each piece [-]
    areas : sequence of float
        Area of each, all in one unit [any unit of area]

    Returns
    -------
    float
        Curve number of the whole [-]

    References
    ----------
    USDA NRCS 2004, National Engineering Handbook 630, chapter 10, example 10-4.

    Examples
    --------
    >>> round(weighted_curve_number([75, 69], [400, 230]), 1)
    72.8
    """
    return float(np.average(np.asarray(curve_numbers, float), weights=np.asarray(areas, float)))


@bounded(pervious_number=CURVE_NUMBER, impervious_share=SHARE, unconnected_share=SHARE)
def composite_curve_number(
    pervious_number: float, impervious_share: float, unconnected_share: float = 0.0
) -> float:
    """Curve number of land that is partly paved [-].

    Paved ground that drains over lawns counts less than that which drains into pipes.
    The unconnected part holds for up to 30 % paved land.

    Parameters
    ----------
    pervious_number : float
        Curve number of the unpaved ground [-]
    impervious_share : float
        Share of the land that is paved, 0 to 1 [-]
    unconnected_share : float
        Share of the paved land that drains over unpaved ground, 0 to 1 [-]

    Returns
    -------
    float
        Curve number of the whole [-]

    Notes
    -----
    CNc = CNp + p (98 - CNp) (1 - 0.5 R).

    References
    ----------
    USDA SCS 1986, TR-55, page 2-9, figures 2-3 and 2-4, and appendix F.

    Examples
    --------
    >>> round(composite_curve_number(61, 0.2)), round(composite_curve_number(61, 0.2, 0.75))
    (68, 66)
    """
    paved = impervious_share * (PAVED - pervious_number)
    return pervious_number + paved * (1.0 - 0.5 * unconnected_share)
