"""Rules of a reservoir: surface, what can be let out, and when it spills."""

from __future__ import annotations

from numba import njit


@njit
def water_surface(volume: float, capacity: float, full_area: float) -> float:
    """Water surface of a reservoir that is not full.

    Rain falls on it and evaporation leaves from it; it shrinks as the water falls. A surveyed table
    would do better for a real valley.

    Parameters
    ----------
    volume, capacity : float
        Water now and when full [m3].
    full_area : float
        Surface when full [m2].

    Returns
    -------
    float
        Surface [m2].

    Notes
    -----
    A = A_full (V / V_full)^(2/3): a valley with straight slopes that keeps its shape.

    Examples
    --------
    >>> from hydroloop.waterworks.reservoir import water_surface
    >>> round(water_surface(1.0, 8.0, 4.0), 9)
    1.0
    """
    return full_area * (max(volume, 0.0) / capacity) ** (2.0 / 3.0)


@njit
def controlled_release(
    volume: float, dead_volume: float, evaporation: float, wanted: float, dt: float
) -> float:
    """Water let out through the gates.

    It is what the rule asks for, as far as there is water above the dead storage at the start of
    the step. Inflow of the same day is not yet counted on.

    Parameters
    ----------
    volume, dead_volume : float
        Water at the start, and the part that cannot leave [m3].
    evaporation : float
        Evaporation of the step [m3/d].
    wanted : float
        Release of the rule [m3/d].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Release [m3/d].

    Notes
    -----
    R = min(rule, max(0, (V - V_dead) / dt - E)). Common practice.

    Examples
    --------
    >>> from hydroloop.waterworks.reservoir import controlled_release
    >>> controlled_release(100.0, 90.0, 2.0, 20.0, 1.0)
    8.0
    """
    return min(wanted, max(0.0, (volume - dead_volume) / dt - evaporation))


@njit
def spill(volume: float, net_inflow: float, capacity: float, dt: float) -> float:
    """Water that goes over the spillway of a full reservoir.

    Parameters
    ----------
    volume : float
        Water at the start [m3].
    net_inflow : float
        All inflow less release, withdrawal and evaporation [m3/d].
    capacity : float
        Water when full [m3].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Spill [m3/d].

    Notes
    -----
    S = max(0, V + dt N - capacity) / dt: mass balance.

    Examples
    --------
    >>> from hydroloop.waterworks.reservoir import spill
    >>> spill(95.0, 10.0, 100.0, 1.0)
    5.0
    """
    return max(0.0, volume + dt * net_inflow - capacity) / dt
