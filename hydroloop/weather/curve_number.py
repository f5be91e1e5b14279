"""Storm runoff by curve number.

Plain numbers in, plain numbers out, so that a compiled loop can call them; arrays where it says so.
Not for design of real drains or floods: a teaching model.
"""

from __future__ import annotations

from hydroloop.arguments import Values, bounded, each
from hydroloop.weather.arrays import CURVE_NUMBER, RAIN_MM


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
