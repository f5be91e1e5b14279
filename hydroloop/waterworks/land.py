"""Rules of the land: pavement, soil, ground and what they pass to drains, streams and air."""

from __future__ import annotations

from math import exp

from numba import njit


@njit
def pavement_flows(
    volume: float, arriving: float, evaporation: float, capacity: float, dt: float
) -> tuple[float, float]:
    """Evaporation and runoff of pavement and roofs.

    A thin film stays in the hollows and evaporates, while it rains too; all else runs off within
    the step. Hollows in old asphalt hold more, steep roofs less.

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
    E = min(potential, V / dt + I); R = max(0, V / dt + I - E - capacity / dt): exact for even rain
    and evaporation, so that days and hours come to nearly the same. Depression storage, common
    practice.

    Examples
    --------
    >>> from hydroloop.waterworks.land import pavement_flows
    >>> pavement_flows(2.0, 10.0, 1.0, 2.0, 1.0)
    (1.0, 9.0)
    """
    evaporated = min(evaporation, volume / dt + arriving)
    return evaporated, max(0.0, volume / dt + arriving - evaporated - capacity / dt)


@njit
def _passing_share(wetness):
    # How steeply percolation grows as the soil fills: as its third power (Bergström & Forsman 1973,
    # Nordic Hydrology 4:147, from memory: 1 to 6 in practice).
    return wetness * wetness * wetness


@njit
def soil_flows(
    volume: float, infiltration: float, evaporation: float, capacity: float, dt: float
) -> tuple[float, float]:
    """Evapotranspiration of soil, and what percolates below the roots.

    Plants take what the air asks for while the soil is more than half full, then less and less.
    Some of the rain passes the roots before the soil is full, for soil is thinner in one place than
    in the next; what full soil cannot hold percolates within the step.

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
        Evapotranspiration and percolation [m3/d].

    Notes
    -----
    E = min(Ks ETc, V / dt) with Ks = min(1, 2 V / capacity). With the wetness w_0 = V / capacity at
    the start and w = w_0 + ((1 - w_0^3) I - E) dt / (2 capacity), at most 1, in the middle of the
    step: percolation = w^3 I + max(0, V / dt + (1 - w^3) I - E - capacity / dt).

    References
    ----------
    Allen et al. 1998, FAO Irrigation and Drainage Paper 56, ch. 8 (water stress coefficient with a
    depletion fraction of 0.5; from memory). Bergström & Forsman 1973, Nordic Hydrology 4:147 (share
    of the rain that passes the soil as a power of its wetness; from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.land import soil_flows
    >>> soil_flows(25.0, 0.0, 4.0, 100.0, 1.0)
    (2.0, 0.0)
    >>> soil_flows(50.0, 8.0, 7.0, 100.0, 1.0)
    (7.0, 1.0)
    """
    if capacity <= 0.0:
        return 0.0, infiltration
    evaporated = min(min(1.0, volume / (0.5 * capacity)) * evaporation, volume / dt)
    kept = infiltration * (1.0 - _passing_share(min(1.0, volume / capacity)))
    wetness = min(1.0, (volume + 0.5 * dt * (kept - evaporated)) / capacity)
    passing = infiltration * _passing_share(wetness)
    left = infiltration - passing
    return evaporated, passing + max(0.0, volume / dt + left - evaporated - capacity / dt)


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
def groundwater_flows(
    active: float, recession: float, sewers: tuple[float, float], dt: float
) -> tuple[float, float]:
    """Groundwater that seeps to the river, and how much of their mean the sewers get.

    Both grow with the water table, and share what drains in the step. Sewers that lie above the
    table all year get none in truth; here they get their mean wherever the ground can give it.

    Parameters
    ----------
    active : float
        Groundwater above the level at which nothing drains, at the start [m3].
    recession : float
        Time in which baseflow falls to 37 % without recharge and sewers [d].
    sewers : tuple of float
        Mean infiltration into all sewers over it [m3/d], and the long-run mean of `active` [m3].
    dt : float
        Length of the step [d].

    Returns
    -------
    tuple of float
        Baseflow [m3/d], and infiltration over its long-run mean [-].

    Notes
    -----
    Two outlets of one linear reservoir: baseflow V / k and infiltration I V / V_mean, so that
    infiltration is I when the water table stands at its long-run mean. Together they drain
    V (1 - exp(-l dt)) / dt with l = 1 / k + I / V_mean.

    References
    ----------
    De Laat & Savenije, Hydrology, lecture notes, eq. 5.15 (linear reservoir).

    Examples
    --------
    >>> from hydroloop.waterworks.land import groundwater_flows
    >>> flow, share = groundwater_flows(100.0, 50.0, (2.0, 100.0), 0.001)
    >>> round(flow, 2), round(share, 2)
    (2.0, 1.0)
    """
    if active <= 0.0:
        return 0.0, 0.0
    to_river = 1.0 / recession
    to_sewers = sewers[0] / sewers[1] if sewers[1] > 0.0 else 0.0
    out = active * (1.0 - exp(-dt * (to_river + to_sewers))) / dt
    baseflow = out * (to_river / (to_river + to_sewers))
    seeping = out * (to_sewers / (to_river + to_sewers))
    return baseflow, seeping / sewers[0] if sewers[0] > 0.0 else 0.0


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
