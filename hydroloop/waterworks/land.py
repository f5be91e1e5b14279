"""Rules of the land: pavement, soil, yards and what they pass to drains, ground and air."""

from __future__ import annotations

from math import exp

from numba import njit


@njit
def pavement_flows(
    volume: float, arriving: float, evaporation: float, capacity: float, dt: float
) -> tuple[float, float]:
    """Evaporation and runoff of pavement and roofs.

    A thin film stays in the hollows and evaporates; all else runs off within the step.

    Parameters
    ----------
    volume : float
        Water in the hollows at the start [m3].
    arriving : float
        Rain and melt on the pavement [m3/d].
    evaporation : float
        Evaporation that the weather could take [m3/d].
    capacity : float
        Water the hollows hold [m3].
    dt : float
        Length of the step [d].

    Returns
    -------
    tuple of float
        Evaporation and runoff [m3/d].

    Notes
    -----
    E = min(potential, V / dt); R = max(0, V / dt + I - E - capacity / dt). Depression storage,
    common practice.

    Examples
    --------
    >>> from hydroloop.waterworks.land import pavement_flows
    >>> pavement_flows(2.0, 10.0, 1.0, 2.0, 1.0)
    (1.0, 9.0)
    """
    evaporated = min(evaporation, volume / dt)
    return evaporated, max(0.0, volume / dt + arriving - evaporated - capacity / dt)


@njit
def soil_flows(
    volume: float, infiltration: float, evaporation: float, capacity: float, dt: float
) -> tuple[float, float]:
    """Evapotranspiration of soil, and what percolates to groundwater.

    Plants take what the air asks for while the soil is more than half full, then less and less.
    What the soil cannot hold percolates within the step.

    Parameters
    ----------
    volume : float
        Plant-available water at the start [m3].
    infiltration : float
        Water that enters the soil [m3/d].
    evaporation : float
        Evapotranspiration of well-watered plants [m3/d].
    capacity : float
        Water the soil can hold for plants [m3].
    dt : float
        Length of the step [d].

    Returns
    -------
    tuple of float
        Evapotranspiration and recharge [m3/d].

    Notes
    -----
    E = min(Ks ETc, V / dt) with Ks = min(1, V / (0.5 capacity)); recharge = max(0, V / dt + I - E -
    capacity / dt).

    References
    ----------
    Allen et al. 1998, FAO Irrigation and Drainage Paper 56, ch. 8 (water stress coefficient with a
    depletion fraction of 0.5; from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.land import soil_flows
    >>> soil_flows(25.0, 0.0, 4.0, 100.0, 1.0)
    (2.0, 0.0)
    """
    if capacity <= 0.0:
        return 0.0, infiltration
    stress = min(1.0, volume / (0.5 * capacity))
    evaporated = min(stress * evaporation, volume / dt)
    return evaporated, max(0.0, volume / dt + infiltration - evaporated - capacity / dt)


@njit
def is_watered(volume: float, capacity: float) -> bool:
    """Whether a lawn is dry enough to be watered.

    People water when the root zone is more than half empty. Some water by the calendar.

    Parameters
    ----------
    volume, capacity : float
        Water in the root zone, and the most it holds [m3].

    Returns
    -------
    bool
        True below half. The half is the readily available water of FAO-56 (depletion fraction 0.5,
        from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.land import is_watered
    >>> is_watered(40.0, 100.0), is_watered(50.0, 100.0)
    (True, False)
    """
    return volume < 0.5 * capacity


@njit
def yard_need(after: float, potential: float, capacity: float, efficiency: float) -> float:
    """Water that yards ask for.

    People give back what the lawn has used in a day, as far as rain does not. Some water more, some
    let the lawn go brown.

    Parameters
    ----------
    after : float
        Water in it after the rain, evaporation and drainage of the step [m3].
    potential : float
        Water to be given back in the step, less the rain [m3].
    capacity : float
        Water the root zone holds [m3].
    efficiency : float
        Share of the water applied that reaches the soil [-].

    Returns
    -------
    float
        Water applied in the step [m3]; what reaches the soil always has room there.

    Notes
    -----
    A = max(0, min(potential, capacity - after)) / efficiency.

    Examples
    --------
    >>> from hydroloop.waterworks.land import yard_need
    >>> yard_need(38.0, 3.0, 100.0, 0.75)
    4.0
    """
    return max(0.0, min(potential, capacity - after)) / efficiency


@njit
def baseflow(volume: float, drained_volume: float, recession: float, dt: float) -> float:
    """Groundwater that seeps to the river in one step.

    The higher the water table, the more seeps out, so rivers run on after the rain. Below a depth
    nothing more reaches the river.

    Parameters
    ----------
    volume : float
        Groundwater at the start [m3].
    drained_volume : float
        Volume at which baseflow stops [m3].
    recession : float
        Time in which baseflow falls to 37 % [d].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Baseflow [m3/d].

    Notes
    -----
    Q = (V - V0) (1 - exp(-dt / k)) / dt: the exact mean of a linear reservoir without recharge.

    References
    ----------
    De Laat & Savenije, Hydrology, lecture notes, eq. 5.15.

    Examples
    --------
    >>> from hydroloop.waterworks.land import baseflow
    >>> baseflow(100.0, 100.0, 30.0, 1.0)
    0.0
    """
    return max(0.0, volume - drained_volume) * (1.0 - exp(-dt / recession)) / dt


@njit
def storm_drain_outflow(volume: float, inflow: float, drain_time: float, dt: float) -> float:
    """Flow out of the storm drains, untreated, to the river.

    Pipes empty within an hour or so, so a day's storm is gone the same day.

    Parameters
    ----------
    volume : float
        Water in the drains at the start [m3].
    inflow : float
        Runoff from pavement, soil and yards [m3/d].
    drain_time : float
        Mean time in the drains [d].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Outflow [m3/d].

    Notes
    -----
    Implicit linear reservoir: Q = (V + dt I) / (k + dt).

    References
    ----------
    FHWA 2002, Highway Hydrology, HDS 2, ch. 7 (storage routing).

    Examples
    --------
    >>> from hydroloop.waterworks.land import storm_drain_outflow
    >>> storm_drain_outflow(0.0, 100.0, 1.0, 1.0)
    50.0
    """
    return (volume + dt * inflow) / (drain_time + dt)
