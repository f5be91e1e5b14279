"""Rules of linear stores: what flows out grows in proportion to what they hold."""

from __future__ import annotations

from math import exp

from numba import njit


@njit
def drained(volume: float, recession: float, dt: float) -> float:
    """Outflow of a store that drains in proportion to what it held at the start.

    The more it holds, the more flows out, so rivers run on after the rain. What comes in within the
    step waits for the next one, so that a loop through such a store is cut.

    Parameters
    ----------
    volume : float
        Water that can drain, at the start [m3].
    recession : float
        Time in which the outflow falls to 37 % [d].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Mean outflow of the step [m3/d], never more than volume / dt.

    Notes
    -----
    Q = V (1 - exp(-dt / k)) / dt: the exact mean of a linear reservoir without inflow.

    References
    ----------
    De Laat & Savenije, Hydrology, lecture notes, eq. 5.15.

    Examples
    --------
    >>> from hydroloop.waterworks.linear_store import drained
    >>> round(drained(100.0, 10.0, 1.0), 4)
    9.5163
    """
    return volume * (1.0 - exp(-dt / recession)) / dt


@njit
def streams_outflow(volume: float, inflow: float, recession: float, dt: float) -> float:
    """Flow of a catchment's streams into its river.

    Brooks take time to gather a storm, the more the larger the land, and spread it. A long river's
    own reaches spread it further.

    Parameters
    ----------
    volume : float
        Water in the streams at the start [m3].
    inflow : float
        Runoff and seepage into them [m3/d].
    recession : float
        Time in which storm runoff falls to 37 % [d].
    dt : float
        Length of the step [d].

    Returns
    -------
    float
        Mean outflow of the step [m3/d].

    Notes
    -----
    Exact mean outflow of a linear reservoir with even inflow I: with f = 1 - exp(-dt / k),
    Q = I + (V - k I) f / dt.

    References
    ----------
    De Laat & Savenije, Hydrology, lecture notes, eq. 5.15; Chow, Maidment & Mays 1988, Applied
    Hydrology, ch. 8 (linear reservoir; from memory).

    Examples
    --------
    >>> from hydroloop.waterworks.linear_store import streams_outflow
    >>> streams_outflow(20.0, 10.0, 2.0, 1.0)
    10.0
    """
    emptied = 1.0 - exp(-dt / recession)
    return inflow + (volume - recession * inflow) * emptied / dt
