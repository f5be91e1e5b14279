"""Rules of the river: storage and travel time, and how much an intake may take."""

from __future__ import annotations

from numba import njit

_MOST_STEPS = 60
_NOTHING = 1e-100  # volume that stays where it is: its powers would be lost
_SMALL = 1e-5  # its cube is lost in the last digits of a number


def storage_factor(
    length_m: float, speed_m_per_day: float, reference_flow: float, speed_exponent: float
) -> float:
    """Factor K of a river cell's storage law V = K Q^(1 - b).

    It ties the volume of a stretch to the flow that leaves it. It holds while the bed keeps its
    shape; a flood over the banks slows the water more than the law says.

    Parameters
    ----------
    length_m : float
        Length of the cell [m].
    speed_m_per_day : float
        Speed of the water at the reference flow [m/d].
    reference_flow : float
        Flow at which that speed holds [m3/d].
    speed_exponent : float
        Power b of flow with which speed grows [-].

    Returns
    -------
    float
        K, so that V = K Q^(1 - b) is in m3 for Q in m3/d.

    Notes
    -----
    Travel time is length / speed and speed = s_ref (Q / Q_ref)^b, so V = Q x time =
    (length / s_ref) Q_ref^b Q^(1 - b).

    References
    ----------
    Leopold & Maddock 1953, USGS Professional Paper 252 (power law of speed; from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.river import storage_factor
    >>> round(storage_factor(34_560.0, 34_560.0, 1000.0, 0.0))
    1
    """
    return length_m / speed_m_per_day * reference_flow**speed_exponent


@njit
def reach_outflow(
    available: float, dt: float, factor: float, speed_exponent: float, held: float
) -> float:
    """Flow out of a river cell in one step.

    It shares the water of a step between what stays and what leaves, so that travel time lengthens
    as flow falls. A step much longer than the travel time only spreads a pulse, it loses no water.

    Parameters
    ----------
    available : float
        Volume at the start plus all that comes in within the step [m3].
    dt : float
        Length of the step [d].
    factor : float
        K of `storage_factor`.
    speed_exponent : float
        Power b of flow with which speed grows [-].
    held : float
        Volume at the start, from which the search begins [m3].

    Returns
    -------
    float
        Flow Q that solves K Q^(1 - b) + dt Q = available [m3/d]; at least 0, at most
        available / dt.

    Notes
    -----
    The implicit step of dV/dt = inflow - Q with V = K Q^(1 - b). The left side grows with Q, so
    there is one answer. With p = 1 / (1 - b) and Q = x^p it is sought by Halley's method for
    K x + dt x^p, from yesterday's volume or, where that is far off, from the smaller x at which one
    of the terms alone would be all the water. The last correction r of x is so small that the
    power follows it by its series, which spares one more power:
    (1 - r)^p = 1 - p r + p (p - 1) r^2 / 2.

    References
    ----------
    Chow, Maidment & Mays 1988, Applied Hydrology, ch. 8 (level-pool routing; from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.river import reach_outflow
    >>> round(reach_outflow(30.0, 1.0, 2.0, 0.0, 5.0), 9)
    10.0
    """
    if available <= _NOTHING:
        return 0.0
    if factor <= 0.0:
        return available / dt
    power = 1.0 / (1.0 - speed_exponent)
    x = min(held, available) / factor if held > _NOTHING else available / factor
    flow = 0.0
    for _ in range(_MOST_STEPS):
        lifted = x**power
        steep = dt * power * lifted / x
        slope, bend = factor + steep, (power - 1.0) * steep / x
        excess = factor * x + dt * lifted - available
        if not -0.5 * available <= excess <= 1.5 * available:
            x = min((available / dt) ** (1.0 - speed_exponent), available / factor)
            continue
        step = excess * slope / (slope * slope - 0.5 * excess * bend)
        part = step / x
        if abs(part) <= _SMALL:
            flow = lifted * (1.0 - power * part * (1.0 - 0.5 * (power - 1.0) * part))
            break
        x = min(x - step, available / factor)
    return min(flow, available / dt)


@njit
def allowed_withdrawal(wanted: float, passing: float, minimum_flow: float, limit: float) -> float:
    """Water an intake takes from a river.

    It is what the town wants, as long as the river keeps its minimum flow and the intake's capacity
    and permit are kept. A river below its minimum gives nothing.

    Parameters
    ----------
    wanted : float
        Flow the town wants [m3/d].
    passing : float
        Flow that arrives at the intake [m3/d].
    minimum_flow : float
        Flow that must be left in the river [m3/d].
    limit : float
        Least of capacity and permit [m3/d].

    Returns
    -------
    float
        Withdrawal [m3/d].

    Notes
    -----
    W = max(0, min(wanted, limit, Q - Q_min)). Common practice (pass-by flow).

    Examples
    --------
    >>> from hydroloop.waterworks.river import allowed_withdrawal
    >>> allowed_withdrawal(50.0, 100.0, 70.0, 40.0)
    30.0
    """
    return max(0.0, min(wanted, limit, passing - minimum_flow))


@njit
def surface_evaporation(depth_mm: float, area_m2: float, available: float, dt: float) -> float:
    """Evaporation from open water of a river, pond or reservoir.

    It takes the depth the weather asks for, but never more than half of the water that is there, so
    that a shallow river dries up over days and not below zero.

    Parameters
    ----------
    depth_mm : float
        Open-water evaporation within the step [mm].
    area_m2 : float
        Water surface [m2].
    available : float
        Water there in the step [m3].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Evaporation [m3/d].

    Notes
    -----
    E = min(depth x area, available / 2) / dt. The half is a numerical guard, our own choice.

    Examples
    --------
    >>> from hydroloop.waterworks.river import surface_evaporation
    >>> surface_evaporation(5.0, 1000.0, 100.0, 1.0)
    5.0
    """
    return min(depth_mm / 1000.0 * area_m2, 0.5 * available) / dt


def width_of_water(reference_flow_m3_per_s: float) -> float:
    """Mean width of a river's water surface.

    A first guess from flow alone, for rain on the river and evaporation from it. Real rivers differ
    by a factor of two either way: give the width if you know it.

    Parameters
    ----------
    reference_flow_m3_per_s : float
        A flow near the mean [m3/s].

    Returns
    -------
    float
        Width [m].

    Notes
    -----
    w = 4.8 Q^0.5.

    References
    ----------
    Leopold & Maddock 1953, USGS Professional Paper 252: exponent 0.5 downstream; coefficient from
    memory.

    Examples
    --------
    >>> from hydroloop.waterworks.river import width_of_water
    >>> width_of_water(4.0)
    9.6
    """
    return 4.8 * reference_flow_m3_per_s**0.5
