"""Standardised precipitation index: how unusual a season's rain is."""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import CHANCE, bounded
from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import DEPTHS_MM, Array, Values
from hydroloop.weather.fit import fit_gamma

_FEWEST = 3


@bounded(probability=CHANCE)
def standard_score(probability: Values) -> Values:
    """Standard normal value of a cumulative probability [-].

    Minus two: drier than 98 of 100 years. Zero: the middle.
    It ranks and does not say how much rain is missing.

    Parameters
    ----------
    probability : float or array
        Probability of so little, 0 to 1 without its ends [-]

    Returns
    -------
    float or array
        Standard deviations from the middle [-]

    Examples
    --------
    >>> round(float(standard_score(0.0228)), 2)
    -2.0
    """
    from scipy import special

    return special.ndtri(probability)


@bounded(totals=DEPTHS_MM)
def precipitation_index(totals: Array) -> Array:
    """Standardised precipitation index of each year's season [-].

    A gamma distribution is fitted to the totals, and each total's probability is turned into
    standard deviations from the middle. From a few years it ranks them and no more.

    Parameters
    ----------
    totals : array (year)
        Rain of the same season of each year [mm]

    Returns
    -------
    array (year)
        The index; negative is dry [-]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        Fewer than three totals are above zero.

    Notes
    -----
    H(x) = q + (1 - q) G(x), with q the share of totals without rain and G the gamma distribution of
    Thom's fit; the index is the normal quantile of H. A total of zero gets that of q. H is kept
    1e-12 away from 0 and 1, so the index lies within 7.1 deviations.

    References
    ----------
    Thom's fit as given in a paper on the index; H and its use from memory of McKee, Doesken &
    Kleist 1993.

    Examples
    --------
    >>> index = precipitation_index(np.array([300.0, 500.0, 400.0, 350.0]))
    >>> index.argsort().tolist()
    [0, 3, 2, 1]
    """
    from scipy import special

    totals = np.asarray(totals, dtype=float)
    wet = totals[totals > 0.0]
    if len(wet) < _FEWEST:
        what = f"{len(wet)} seasons with rain are too few."
        raise InputError(Problem("totals", what, "Give at least three, better 30."))
    dry_share = 1.0 - len(wet) / len(totals)
    shape, scale = fit_gamma(wet)
    chance = dry_share + (1.0 - dry_share) * special.gammainc(shape, totals / scale)
    chance = np.clip(chance, CHANCE.low, CHANCE.high)  # a trace of rain has no chance in digits
    index: Array = np.asarray(standard_score(chance), dtype=float)
    return index
