"""Basins and weirs: how long water stays, how fast it rises and moves along."""

from __future__ import annotations

import math

from hydroloop.arguments import LENGTH_M, NOT_NEGATIVE, POSITIVE, Values, bounded

MINUTES_A_DAY = 1440.0


@bounded(length_m=LENGTH_M, width_m=LENGTH_M)
def surface_area(length_m: Values, width_m: Values) -> Values:
    """Surface area of a rectangular basin [m2].

    The larger the surface, the slower the water must rise, and the more settles.
    Walls and launders take some of it.

    Parameters
    ----------
    length_m, width_m : float, or array of any shape
        Inner length and width [m]

    Returns
    -------
    float, or array of that shape
        Area [m2]

    Notes
    -----
    A = L W.

    Examples
    --------
    >>> surface_area(20.0, 5.0)
    100.0
    """
    return length_m * width_m


@bounded(diameter_m=LENGTH_M)
def round_area(diameter_m: Values) -> Values:
    """Surface area of a round basin [m2].

    Doubling the diameter makes four times the surface.
    The well in the middle of a clarifier takes some of it.

    Parameters
    ----------
    diameter_m : float, or array of any shape
        Inner diameter [m]

    Returns
    -------
    float, or array of that shape
        Area [m2]

    Notes
    -----
    A = pi D^2 / 4. Operator texts write 0.785 D^2, which is 0.05 % less.

    Examples
    --------
    >>> round(round_area(2.0), 4)
    3.1416
    """
    return math.pi * diameter_m * diameter_m / 4.0


@bounded(diameter_m=LENGTH_M, length_m=LENGTH_M)
def pipe_volume(diameter_m: Values, length_m: Values) -> Values:
    """Volume of a pipe or a round tank [m3].

    What stands in a main between two places, or in a tank of that height.
    A main that is not full holds less.

    Parameters
    ----------
    diameter_m : float, or array of any shape
        Inner diameter [m]
    length_m : float, or array of any shape
        Length of the pipe, or depth of water in the tank [m]

    Returns
    -------
    float, or array of that shape
        Volume [m3]

    Notes
    -----
    V = pi D^2 / 4 L.

    Examples
    --------
    >>> round(pipe_volume(2.0, 10.0), 3)
    31.416
    """
    return round_area(diameter_m) * length_m


@bounded(volume=NOT_NEGATIVE, flow=POSITIVE)
def detention_time(volume: Values, flow: Values) -> Values:
    """Detention time [d].

    The mean time water stays in a basin: the bigger the basin, the longer.
    Some water takes a short way and leaves sooner; see `hydroloop.plants.contact.t10`.

    Parameters
    ----------
    volume : float, or array of any shape
        Water in the basin [m3]
    flow : float, or array of any shape
        Flow through it, above zero [m3/d]

    Returns
    -------
    float, or array of that shape
        Time [d]

    Notes
    -----
    t = V / Q.

    Examples
    --------
    >>> detention_time(2560.0, 20000.0) * 24
    3.072
    """
    return volume / flow


@bounded(detention=NOT_NEGATIVE, flow=NOT_NEGATIVE)
def volume_for(detention: Values, flow: Values) -> Values:
    """Volume that gives a detention time [m3].

    How big a basin must be to hold water that long.
    Real basins need room for sludge and waves besides.

    Parameters
    ----------
    detention : float, or array of any shape
        Time wanted [d]
    flow : float, or array of any shape
        Flow through the basin [m3/d]

    Returns
    -------
    float, or array of that shape
        Volume [m3]

    Notes
    -----
    V = t Q.

    Examples
    --------
    >>> volume_for(0.125, 20000.0)
    2500.0
    """
    return detention * flow


@bounded(flow=NOT_NEGATIVE, area_m2=POSITIVE)
def overflow_rate(flow: Values, area_m2: Values) -> Values:
    """Surface overflow rate [m/d].

    How fast water rises in a settling basin: what sinks more slowly is carried out.
    Holds for still water; wind, warmth and short ways make real basins worse.

    Parameters
    ----------
    flow : float, or array of any shape
        Flow, recirculation included [m3/d]
    area_m2 : float, or array of any shape
        Surface of the basins in use, above zero [m2]

    Returns
    -------
    float, or array of that shape
        Flow for each square metre [m/d]

    Notes
    -----
    v = Q / A. 1 gpd/ft2 is 0.0407458 m/d.

    Examples
    --------
    >>> overflow_rate(20000.0, 800.0)
    25.0
    """
    return flow / area_m2


@bounded(flow=NOT_NEGATIVE, weir_m=LENGTH_M)
def weir_load(flow: Values, weir_m: Values) -> Values:
    """Weir load [m3/m/d].

    Flow over each metre of the edge where water leaves: a short weir pulls solids along.
    Only as even as the weir is level.

    Parameters
    ----------
    flow : float, or array of any shape
        Flow over the weirs [m3/d]
    weir_m : float, or array of any shape
        Length of the weirs in use, above zero [m]

    Returns
    -------
    float, or array of that shape
        Flow for each metre [m3/m/d]

    Notes
    -----
    Load = Q / L. 1 gpd/ft is 0.0124193 m3/m/d.

    Examples
    --------
    >>> weir_load(2480.0, 10.0)
    248.0
    """
    return flow / weir_m


@bounded(flow=NOT_NEGATIVE, width_m=LENGTH_M, depth_m=LENGTH_M)
def horizontal_velocity(flow: Values, width_m: Values, depth_m: Values) -> Values:
    """Flow-through velocity [m/d].

    How fast water moves along a basin; too fast, and it takes settled mud with it.
    A mean over the cross-section: real basins have jets and dead corners.

    Parameters
    ----------
    flow : float, or array of any shape
        Flow through one basin [m3/d]
    width_m, depth_m : float, or array of any shape
        Width and depth of water, above zero [m]

    Returns
    -------
    float, or array of that shape
        Velocity [m/d]

    Notes
    -----
    v = Q / (W D). 1 ft/min is 438.912 m/d.

    Examples
    --------
    >>> horizontal_velocity(2000.0, 5.0, 4.0)
    100.0
    """
    return flow / (width_m * depth_m)


@bounded(rate_m_per_d=POSITIVE, flow=NOT_NEGATIVE)
def area_for(rate_m_per_d: Values, flow: Values) -> Values:
    """Surface that gives an overflow or filter rate [m2].

    How wide a basin or filter must be for that flow.
    Add what is needed while one unit is out.

    Parameters
    ----------
    rate_m_per_d : float, or array of any shape
        Rate wanted, above zero [m/d]
    flow : float, or array of any shape
        Flow [m3/d]

    Returns
    -------
    float, or array of that shape
        Area [m2]

    Notes
    -----
    A = Q / v.

    Examples
    --------
    >>> area_for(25.0, 20000.0)
    800.0
    """
    return flow / rate_m_per_d


@bounded(load=POSITIVE, flow=NOT_NEGATIVE)
def weir_for(load: Values, flow: Values) -> Values:
    """Weir that gives a weir load [m].

    How long an edge the water needs to leave gently.
    Add what is needed while one unit is out.

    Parameters
    ----------
    load : float, or array of any shape
        Weir load wanted, above zero [m3/m/d]
    flow : float, or array of any shape
        Flow over the weirs [m3/d]

    Returns
    -------
    float, or array of that shape
        Length [m]

    Notes
    -----
    L = Q / load.

    Examples
    --------
    >>> weir_for(248.0, 2480.0)
    10.0
    """
    return flow / load
