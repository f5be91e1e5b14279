"""Rules of treatment, storage tanks and mains: how much to make, and who is cut first."""

from __future__ import annotations

from numba import njit


@njit
def needed_input(demand: float, real_losses: float) -> float:
    """Water to put into the mains so that customers get what they ask for.

    Leaks take their share first, so a town must put in more than it uses.

    Parameters
    ----------
    demand : float
        Water that homes, workplaces and yards ask for [m3/d].
    real_losses : float
        Share of the system input that leaks [-].

    Returns
    -------
    float
        System input [m3/d].

    Notes
    -----
    input = demand / (1 - losses): the annual balance of IWA and AWWA without apparent losses.

    References
    ----------
    Thornton, Sturm & Kunkel 2008, Water Loss Control, 2nd ed., ch. 7.

    Examples
    --------
    >>> from hydroloop.waterworks.plant_and_mains import needed_input
    >>> needed_input(80.0, 0.2)
    100.0
    """
    return demand / (1.0 - real_losses)


@njit
def planned_production(
    mean_need: float,
    need: float,
    level: tuple[float, float],
    tanks: tuple[float, float, float],
    dt: float,
) -> float:
    """Treated water the plant sets out to make in a step.

    The plant runs evenly at the day's mean, and the tanks take the peaks: they fill by night and
    are drawn down by day. Real operators also look at the price of power by the hour.

    Parameters
    ----------
    mean_need : float
        System input needed on average over the day [m3/d].
    need : float
        System input needed in this step [m3/d].
    level : tuple of float
        Water in the tanks now, and the most that they held within the last day [m3].
    tanks : tuple of float
        Water that the tanks should hold when they are fullest, water they can hold [m3], and the
        time over which a shortfall is made up [d].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Flow into the tanks that is aimed at [m3/d].

    Notes
    -----
    P = min(max(mean + (target - H) / max(refill, 1 d), need - V / dt, 0),
    need + (capacity - V) / dt), with V the water now and H the most of the last day: how far a day
    draws the tanks down is what they are there for, and no shortfall. In a daily step H = V. Only
    tanks that would run empty, or over, make the plant follow the hour. Common practice.

    Examples
    --------
    >>> from hydroloop.waterworks.plant_and_mains import planned_production
    >>> planned_production(100.0, 100.0, (80.0, 80.0), (100.0, 110.0, 2.0), 1.0)
    110.0
    """
    volume, highest = level
    target, capacity, refill = tanks
    aim = max(mean_need + (target - highest) / max(refill, 1.0), need - volume / dt, 0.0)
    return min(aim, need + (capacity - volume) / dt)


@njit
def raw_for(treated: float, sludge: float, backwash: float) -> float:
    """Raw water needed for a flow of treated water.

    Some water leaves with the sludge and some washes the filters, so more comes in than goes out.

    Parameters
    ----------
    treated : float
        Treated water [m3/d].
    sludge : float
        Share of raw water lost with sludge [-].
    backwash : float
        Share of filtered water used for washing [-].

    Returns
    -------
    float
        Raw water [m3/d].

    Notes
    -----
    raw = treated / ((1 - sludge) (1 - backwash)): mass balance of settling and filters.

    Examples
    --------
    >>> from hydroloop.waterworks.plant_and_mains import raw_for
    >>> raw_for(75.0, 0.0, 0.25)
    100.0
    """
    return treated / ((1.0 - sludge) * (1.0 - backwash))


@njit
def shared_out(
    delivered: float, homes: float, work: float, yards: float
) -> tuple[float, float, float]:
    """Who gets how much when water is short.

    Yards are cut first, then workplaces, then homes. Real plans also protect hospitals and fire
    fighting, which the model does not tell apart.

    Parameters
    ----------
    delivered : float
        Water that reaches customers [m3/d].
    homes, work, yards : float
        What each asks for [m3/d].

    Returns
    -------
    tuple of float
        Water for homes, workplaces and yards [m3/d].

    Notes
    -----
    Common practice in shortage plans: outdoor use stops first.

    Examples
    --------
    >>> from hydroloop.waterworks.plant_and_mains import shared_out
    >>> shared_out(70.0, 50.0, 30.0, 20.0)
    (50.0, 20.0, 0.0)
    """
    to_homes = min(homes, delivered)
    to_work = min(work, delivered - to_homes)
    to_yards = min(yards, delivered - to_homes - to_work)
    return to_homes, to_work, to_yards
