"""Filters: how hard they work, and the water that washes them."""

from __future__ import annotations

from hydroloop.arguments import NOT_NEGATIVE, POSITIVE, Values, bounded


@bounded(flow=NOT_NEGATIVE, area_m2=POSITIVE)
def filter_rate(flow: Values, area_m2: Values) -> Values:
    """Filter rate [m/d].

    How much water each square metre of filter has to clean in a day.
    A dirty filter takes less; near the end of its run the rate falls or the water gets cloudy.

    Parameters
    ----------
    flow : float, or array of any shape
        Flow [m3/d]
    area_m2 : float, or array of any shape
        Surface of the filters in use, above zero [m2]

    Returns
    -------
    float, or array of that shape
        Flow for each square metre [m/d]

    Notes
    -----
    v = Q / A. 1 gpm/ft2 is 58.674 m/d.

    Examples
    --------
    >>> filter_rate(11735.0, 100.0)
    117.35
    """
    return flow / area_m2


@bounded(drop_m=NOT_NEGATIVE, time=POSITIVE)
def drop_test_rate(drop_m: Values, time: Values) -> Values:
    """Filter rate from a drop test [m/d].

    Shut the inflow, watch the water over the filter fall, and you know its rate.
    Made while the filter runs as usual, and over a drop that can be read well.

    Parameters
    ----------
    drop_m : float, or array of any shape
        Fall of the water level [m]
    time : float, or array of any shape
        Time it took, above zero [d]

    Returns
    -------
    float, or array of that shape
        Rate [m/d]

    Notes
    -----
    v = drop / time.

    Examples
    --------
    >>> drop_test_rate(0.5, 0.005)
    100.0
    """
    return drop_m / time


@bounded(rate_m_per_d=NOT_NEGATIVE, area_m2=NOT_NEGATIVE, time=NOT_NEGATIVE)
def backwash_volume(rate_m_per_d: Values, area_m2: Values, time: Values) -> Values:
    """Water for a backwash [m3].

    Washing a filter takes clean water, which the plant must make besides.
    Air scour needs less.

    Parameters
    ----------
    rate_m_per_d : float, or array of any shape
        Wash rate: flow for each square metre [m/d]
    area_m2 : float, or array of any shape
        Surface of the filter [m2]
    time : float, or array of any shape
        Length of the wash [d]

    Returns
    -------
    float, or array of that shape
        Volume of one wash [m3]

    Notes
    -----
    V = rate A t.

    Examples
    --------
    >>> backwash_volume(880.0, 10.0, 0.01)
    88.0
    """
    return rate_m_per_d * area_m2 * time


@bounded(washed=NOT_NEGATIVE, filtered=POSITIVE)
def backwash_share(washed: Values, filtered: Values) -> Values:
    """Backwash share [-].

    Which part of the filtered water goes back into washing.
    Over whole runs: within a run it is nothing, then much.

    Parameters
    ----------
    washed : float, or array of any shape
        Water used for washing [m3]
    filtered : float, or array of any shape
        Water filtered meanwhile, above zero [m3]

    Returns
    -------
    float, or array of that shape
        Share [-]

    Notes
    -----
    Share = wash water / filtered water.

    Examples
    --------
    >>> backwash_share(2.0, 100.0)
    0.02
    """
    return washed / filtered
