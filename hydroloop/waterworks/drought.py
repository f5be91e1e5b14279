"""Rules of drought: when a stage begins and ends, and the minimum flow by a share of the mean."""

from __future__ import annotations

from numba import njit


@njit
def stage_holds(
    is_on: bool, level: float, begins_below: float, ends_above: float, held_on: bool
) -> bool:
    """Is a drought stage in force?

    It begins when the river or reservoir falls below one mark and ends only above a higher one, and
    not before it has stood for its shortest time, so that it does not flicker. Real plans leave the
    last word to a council.

    Parameters
    ----------
    is_on : bool
        Whether it was in force in the step before.
    level : float
        River flow [m3/d] or how full the reservoir is [-], at the start of the step.
    begins_below, ends_above : float
        Marks, in the unit of the level.
    held_on : bool
        Whether its shortest time has not yet passed.

    Returns
    -------
    bool
        Whether it is in force in this step.

    Notes
    -----
    Common practice in drought plans: a separate end trigger and a minimum hold.

    Examples
    --------
    >>> from hydroloop.waterworks.drought import stage_holds
    >>> stage_holds(True, 0.75, 0.7, 0.8, False), stage_holds(False, 0.75, 0.7, 0.8, False)
    (True, False)
    """
    if is_on:
        return held_on or level <= ends_above
    return level < begins_below
