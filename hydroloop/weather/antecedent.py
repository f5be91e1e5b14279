"""Curve number by the moisture of the soil before a storm.

Plain numbers in, plain numbers out, so that a compiled loop can call them.
"""

from __future__ import annotations


def dry_curve_number(curve_number: float) -> float:
    """Curve number of dry ground [-].

    The same land sheds less rain after a dry spell.
    Between the printed table and this formula lie up to 1.5 units.

    Parameters
    ----------
    curve_number : float
        Curve number at average moisture, above 0, at most 100 [-]

    Returns
    -------
    float
        Curve number of the dry condition (I) [-]

    Notes
    -----
    CN_I = 4.2 CN / (10 - 0.058 CN).

    References
    ----------
    Chow, Maidment & Mays 1988, Applied Hydrology, section 5.5 (from memory); a fit to the table of
    USDA NRCS, National Engineering Handbook 630, chapter 10, Table 10-1.

    Examples
    --------
    >>> round(dry_curve_number(80.0), 1)
    62.7
    """
    return 4.2 * curve_number / (10.0 - 0.058 * curve_number)


def wet_curve_number(curve_number: float) -> float:
    """Curve number of wet ground [-].

    The same land sheds more rain after days of rain.
    Between the printed table and this formula lie up to 1.5 units.

    Parameters
    ----------
    curve_number : float
        Curve number at average moisture, above 0, at most 100 [-]

    Returns
    -------
    float
        Curve number of the wet condition (III) [-]

    Notes
    -----
    CN_III = 23 CN / (10 + 0.13 CN).

    References
    ----------
    Chow, Maidment & Mays 1988, Applied Hydrology, section 5.5 (from memory); a fit to the table of
    USDA NRCS, National Engineering Handbook 630, chapter 10, Table 10-1.

    Examples
    --------
    >>> round(wet_curve_number(80.0), 1)
    90.2
    """
    return 23.0 * curve_number / (10.0 + 0.13 * curve_number)


def curve_number_at(wetness: float, curve_number: float) -> float:
    """Curve number at a moisture of the soil [-].

    From the dry number of empty soil over the average one of half-full soil to the wet one of full
    soil, in straight lines, so that it never jumps from one day to the next.
    That half-full soil is the average one is our own choice.

    Parameters
    ----------
    wetness : float
        Water in the soil over the most that plants can use of it, 0 to 1 [-]
    curve_number : float
        Curve number at average moisture, above 0, at most 100 [-]

    Returns
    -------
    float
        Curve number [-]

    Notes
    -----
    CN = CN_I + 2 w (CN_II - CN_I) up to w = 0.5, above it CN_II + (2 w - 1) (CN_III - CN_II).

    References
    ----------
    Ends: see `dry_curve_number` and `wet_curve_number`. Between them: our own choice.

    Examples
    --------
    >>> [round(curve_number_at(wetness, 80.0), 1) for wetness in (0.0, 0.5, 0.75, 1.0)]
    [62.7, 80.0, 85.1, 90.2]
    """
    if wetness < 0.5:
        dry = 4.2 * curve_number / (10.0 - 0.058 * curve_number)
        return dry + 2.0 * wetness * (curve_number - dry)
    wet = 23.0 * curve_number / (10.0 + 0.13 * curve_number)
    return curve_number + (2.0 * wetness - 1.0) * (wet - curve_number)
