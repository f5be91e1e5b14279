"""Flows that come to a wastewater plant: what people bring, what seeps in, what rains in."""

from __future__ import annotations

import numpy as np

from hydroloop.plants.peaking import Flows, sewage_flows


def wet_and_dry_flows(
    sanitary: float,
    people: float,
    seeping: float,
    inflow: tuple[float, float, float],
    most: float = np.inf,
) -> Flows:
    """Flows that come to a wastewater plant, dry and wet [m3/d].

    People make the peaks of a dry day; ground and rain come on top of them, and are not multiplied.
    What the sewers cannot carry overflows before it comes to the plant.

    Parameters
    ----------
    sanitary : float
        Wastewater of homes and workplaces on the average day, above zero [m3/d]
    people : float
        People served, above zero [people]
    seeping : float
        Infiltration, and wash water of the filters, on the average day [m3/d]
    inflow : tuple of float
        Rain that runs into the sewers: on average, on the wettest day, at its highest [m3/d]
    most : float
        Most that the sewers carry [m3/d]

    Returns
    -------
    Flows
        Average, maximum day and peak hour [m3/d]

    Raises
    ------
    AskError
        If no wastewater comes from homes or workplaces.

    Notes
    -----
    Q = p s + seeping + inflow, with s the sanitary flow and p of `sewage_flows`; p = 1 on average.

    References
    ----------
    40 CFR 35.2005(b)(20) and (21): infiltration and inflow are not wastewater of people.
    10 CSR 20-8.110, eq. 110-1: the peak hour of what people bring.

    Examples
    --------
    >>> wet_and_dry_flows(1000.0, 1000.0, 400.0, (10.0, 600.0, 900.0)).peak_hour
    5100.0
    """
    dry = sewage_flows(sanitary, people)
    beside = [seeping + inflow[0]]
    for peak, rain in zip((dry.maximum_day, dry.peak_hour), inflow[1:], strict=True):
        beside.append(seeping + min(rain, max(0.0, most - peak - seeping)))
    day, hour = dry.maximum_day + beside[1], dry.peak_hour + beside[2]
    return Flows(
        sanitary + beside[0],
        max(day, sanitary + beside[0]),
        max(hour, day),
        f"{dry.source}, for what people bring; seepage and rain in the sewers are added "
        "as they are",
        (beside[0], beside[1], beside[2]),
    )
