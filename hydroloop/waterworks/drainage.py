"""Rules of drainage areas: how land grows along a river, and how long streams take to gather."""

from __future__ import annotations

from math import log

KM_PER_MILE = 1.609344


def area_at_end(area_km2: float, length_km: float) -> float:
    """Drainage area of a river some way below a place [km2].

    A river gains land on both sides as it runs.
    A first guess: give the area if you know it, for basins differ by a factor of two either way.

    Parameters
    ----------
    area_km2 : float
        Drainage area at the upper place [km2].
    length_km : float
        Length of the river between the places [km].

    Returns
    -------
    float
        Drainage area at the lower place, tributaries in it [km2].

    Notes
    -----
    Length of a river from its divide L = 1.4 A^0.6 (miles, square miles), solved for A once the
    stretch is added to L.

    References
    ----------
    Hack 1957, USGS Professional Paper 294-B (from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.drainage import area_at_end
    >>> round(area_at_end(150.0, 0.0), 6), round(area_at_end(150.0, 60.0))
    (150.0, 1115)
    """
    miles = 1.4 * (area_km2 / KM_PER_MILE**2) ** 0.6 + length_km / KM_PER_MILE
    return float((miles / 1.4) ** (1.0 / 0.6) * KM_PER_MILE**2)


def runoff_recession(area_km2: float) -> float:
    """Time in which the storm runoff of a catchment falls to 37 % [d].

    The larger the land, the longer its streams take to gather a storm, so large rivers rise and
    fall more slowly. Steep or paved land is faster, land with lakes and wetlands slower.

    Parameters
    ----------
    area_km2 : float
        Drainage area [km2].

    Returns
    -------
    float
        Time constant of a linear store [d].

    Notes
    -----
    Storm runoff ends N = A^0.2 days after the peak (A in square miles). Taken as the time in which
    it falls tenfold: k = N / ln 10, which is 0.65 d for 20 km2 and 1.6 d for 2,000 km2. In 22
    basins of Illinois surface flow fell tenfold in 1.8 to 6.0 days.

    References
    ----------
    Linsley, Kohler & Paulhus 1975, Hydrology for Engineers, ch. 7 (N = A^0.2; from memory); Singh &
    Stall 1971, Water Resources Research 7 (abstract).

    Examples
    --------
    >>> from hydroloop.waterworks.drainage import runoff_recession
    >>> round(runoff_recession(20.0), 2), round(runoff_recession(2000.0), 2)
    (0.65, 1.64)
    """
    return float((area_km2 / KM_PER_MILE**2) ** 0.2 / log(10.0))
