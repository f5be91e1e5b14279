"""Rules of sewers and wastewater treatment: what is carried, what overflows, what bypasses."""

from __future__ import annotations

from numba import njit


@njit
def sewer_flows(
    volume: float, inflow: float, travel_time: float, capacity: float, storage: float, dt: float
) -> tuple[float, float]:
    """Flow the sewers carry to the plant, and what overflows.

    The sewers hand on their water over the travel time, up to their capacity; beyond that they
    fill, and when they are full the rest overflows to the river. A daily step cannot show an
    overflow of an hour: use hours for that.

    Parameters
    ----------
    volume : float
        Water in the sewers at the start [m3].
    inflow : float
        All that comes in [m3/d].
    travel_time : float
        Mean time to the plant [d].
    capacity : float
        Most that is carried to the plant [m3/d].
    storage : float
        Most that the sewers hold [m3].
    dt : float
        Length of the step [d].

    Returns
    -------
    tuple of float
        Flow to the plant and overflow [m3/d].

    Notes
    -----
    Implicit linear reservoir: Q = min(capacity, (V + dt I) / (k + dt)); overflow =
    max(0, V + dt (I - Q) - storage) / dt.

    References
    ----------
    FHWA 2002, Highway Hydrology, HDS 2, ch. 7 (storage routing).

    Examples
    --------
    >>> from hydroloop.waterworks.wastewater import sewer_flows
    >>> sewer_flows(0.0, 100.0, 0.25, 60.0, 30.0, 1.0)
    (60.0, 10.0)
    """
    carried = min(capacity, (volume + dt * inflow) / (travel_time + dt))
    overflow = max(0.0, volume + dt * (inflow - carried) - storage) / dt
    return carried, overflow


@njit
def wet_weather_split(flow: float, capacity: float) -> tuple[float, float]:
    """Flow that gets the full treatment, and the wet-weather bypass.

    What exceeds the capacity of aeration passes from primary settling to disinfection, so that the
    living sludge is not washed out. Permits say when that is allowed.

    Parameters
    ----------
    flow : float
        Flow out of primary settling [m3/d].
    capacity : float
        Capacity of aeration and final settling [m3/d].

    Returns
    -------
    tuple of float
        Flow to aeration and bypass [m3/d].

    Notes
    -----
    Common practice; each plant's permit sets the rule.

    Examples
    --------
    >>> from hydroloop.waterworks.wastewater import wet_weather_split
    >>> wet_weather_split(130.0, 100.0)
    (100.0, 30.0)
    """
    treated = min(flow, capacity)
    return treated, flow - treated
