"""How often a value is reached: plotting positions, and the log-Pearson III distribution."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from hydroloop.arguments import CHANCE, COUNT, bounded
from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import FLOWS, SKEW, VALUES, YEARS, Array, Values

# (m - a) / (n + 1 - 2a): the plotting rules differ in a alone.
PLOTTING_RULES = {
    "weibull": 0.0,
    "blom": 0.375,
    "cunnane": 0.4,
    "gringorten": 0.44,
    "hazen": 0.5,
}
_NEARLY_NORMAL = 1e-5  # skew below which the gamma function loses more digits than the skew adds
_FEWEST_FOR_SKEW = 3


@bounded(n=COUNT)
def plotting_positions(n: int, rule: str = "weibull") -> Array:
    """Plotting positions [-].

    The chance of staying at or below the smallest, second smallest and so on of n values.
    Rules differ most at both ends, where a short record says least.

    Parameters
    ----------
    n : int
        Number of values [-]
    rule : {"weibull", "blom", "cunnane", "gringorten", "hazen"}
        Which rule

    Returns
    -------
    array (n)
        Probability of each value in ascending order [-]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        There are no values, or the rule is not known.

    Notes
    -----
    p = (m - a) / (n + 1 - 2 a) with m = 1 ... n; a = 0 (Weibull), 3/8 (Blom), 0.4 (Cunnane), 0.44
    (Gringorten), 0.5 (Hazen).

    References
    ----------
    De Laat & Savenije, Hydrology, LN0262/09/1, Table 2.5 (Weibull); the other constants are from
    memory of Cunnane 1978, J. Hydrology 37:205.

    Examples
    --------
    >>> plotting_positions(3).tolist()
    [0.25, 0.5, 0.75]
    """
    if rule not in PLOTTING_RULES:
        what = f'there is no plotting rule "{rule}".'
        raise InputError(Problem("rule", what, f"There are {', '.join(PLOTTING_RULES)}."))
    if n < 1:
        raise InputError(Problem("n", "there are no values to plot.", "Give at least one."))
    a = PLOTTING_RULES[rule]
    positions: Array = (np.arange(1.0, n + 1.0) - a) / (n + 1 - 2.0 * a)
    return positions


@bounded(skew=SKEW, probability=CHANCE)
def pearson3_factor(skew: float, probability: Values) -> Values:
    """Frequency factor of the Pearson III distribution [-].

    How many standard deviations from the mean a value of this probability lies.
    Skew from a short record is very uncertain, and so is this.

    Parameters
    ----------
    skew : float
        Coefficient of skew [-]
    probability : float or array
        Probability of staying at or below, 0 to 1 without its ends [-]

    Returns
    -------
    float or array
        Frequency factor K [-]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        A probability is not between 0 and 1.

    Notes
    -----
    K = (g / 2) (G^-1(p; a) - a) with a = 4 / g^2 and G the regularised lower incomplete gamma
    function; for negative skew the upper one. Without skew K is the normal quantile.

    References
    ----------
    FHWA 2002, Highway Hydrology, HDS No. 2, FHWA-NHI-02-001, Table 4.13.

    Examples
    --------
    >>> round(float(pearson3_factor(0.2, 0.9)), 5)
    1.30105
    """
    from scipy import special

    chance = np.asarray(probability, dtype=float)
    if not ((chance > 0.0) & (chance < 1.0)).all():
        what = "a probability is not between 0 and 1."
        raise InputError(Problem("probability", what, "Write for example 0.1."))
    if abs(skew) < _NEARLY_NORMAL:
        z = special.ndtri(chance)
        factor = z + (z * z - 1.0) * skew / 6.0
    else:
        shape = 4.0 / skew**2
        inverse = special.gammaincinv if skew > 0.0 else special.gammainccinv
        factor = 0.5 * skew * (inverse(shape, chance) - shape)
    return float(factor) if np.ndim(probability) == 0 else factor


@dataclass(frozen=True)
class LogPearson3:
    """A log-Pearson III distribution fitted to values, some of which may be zero.

    Attributes
    ----------
    mean, deviation, skew : float
        Moments of the decimal logarithms of the values above zero [-].
    zero_share : float
        Share of the values that are zero [-].
    n : int
        Number of values, zeros among them [-].
    """

    mean: float
    deviation: float
    skew: float
    zero_share: float
    n: int

    def value(self, probability: float) -> float:
        """Value that is not passed with this probability, in the unit of the data.

        Notes
        -----
        With a share z of zeros, P(X <= x) = z + (1 - z) G(x): a probability up to z gives zero, and
        a larger one is looked up in G at (p - z) / (1 - z) (conditional probability).

        Raises
        ------
        InputError
            The probability is not between 0 and 1.
        """
        if probability <= self.zero_share and probability > 0.0:
            return 0.0
        above = (probability - self.zero_share) / (1.0 - self.zero_share)
        return float(10.0 ** (self.mean + self.deviation * pearson3_factor(self.skew, above)))


@bounded(values=FLOWS)
def fit_log_pearson3(values: Array) -> LogPearson3:
    """Log-Pearson III distribution by the moments of the logarithms.

    The usual distribution for yearly low flows and floods.
    With fewer than some 25 years it guesses: the skew alone may be off by one half.

    Parameters
    ----------
    values : array (year)
        One value a year, none negative [any unit]

    Returns
    -------
    LogPearson3
        The fit

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        A value is negative or no number, or fewer than three are above zero.

    Notes
    -----
    Standard deviation with n - 1; skew n sum (x - mean)^3 / ((n - 1)(n - 2) s^3). Values that are
    all alike get no spread.

    References
    ----------
    FHWA 2002, Highway Hydrology, HDS No. 2, FHWA-NHI-02-001, chapter 4.

    Examples
    --------
    >>> fit = fit_log_pearson3(np.array([10.0, 100.0, 1000.0]))
    >>> fit.mean, fit.deviation, round(fit.value(0.5), 9)
    (2.0, 1.0, 100.0)
    """
    values = np.asarray(values, dtype=float)
    if not np.isfinite(values).all() or (values < 0.0).any():
        what = "a value is negative or missing."
        raise InputError(Problem("values", what, "Give one value a year, zero or more."))
    logs = np.log10(values[values > 0.0])
    n = len(logs)
    if n < _FEWEST_FOR_SKEW:
        what = f"{n} values above zero are too few for a skew."
        raise InputError(Problem("values", what, "Give at least three, better 25 or more."))
    mean = float(logs.mean())
    deviation = float(logs.std(ddof=1))
    skew = 0.0
    if deviation > 1e-12 * max(1.0, abs(mean)):
        thirds = float(((logs - mean) ** 3).sum())
        skew = n * thirds / ((n - 1) * (n - 2) * deviation**3)
    return LogPearson3(mean, deviation, skew, 1.0 - n / len(values), len(values))


@bounded(values=VALUES, years=YEARS)
def ranked_value(values: Array, years: float) -> float:
    """Low value that comes once in so many years, between the plotted values.

    Interpolated between the two values whose ranks are nearest: for a record too short to fit.
    Reaches to the lowest value and no further; the lowest of a few years is chance.

    Parameters
    ----------
    values : array (year)
        One value a year [any unit]
    years : float
        Return period, above 1 and at most one more than there are values [a]

    Returns
    -------
    float
        The value [same unit]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        The return period is not above one year, or longer than the ranks reach.

    Notes
    -----
    Weibull plotting positions: X = (1 - e) X(m) + e X(m + 1), m the whole part of (n + 1) / T and e
    the rest; X(1) is the smallest.

    Examples
    --------
    >>> ranked_value(np.array([3.0, 1.0, 2.0]), 4)
    1.0
    """
    check_return_period(years)
    n = len(values)
    place = (n + 1) / years
    if place < 1.0:
        what = f"the ranks of {n} years reach to once in {n + 1} years, not {years:g}."
        raise InputError(Problem("years", what, "Use a longer record, or fit a distribution."))
    ordered = np.sort(values)
    m = min(math.floor(place), n)
    rest = place - m
    return float((1.0 - rest) * ordered[m - 1] + rest * ordered[min(m, n - 1)])


@bounded(values=VALUES, years=YEARS)
def distribution_free_value(values: Array, years: float) -> float:
    """Low value that comes once in so many years, from the ranks alone.

    Interpolated between the two values of the nearest rank: no distribution is assumed.
    Only for return periods below a fifth of the record; longer ones are refused.

    Parameters
    ----------
    values : array (year)
        One value a year [any unit]
    years : float
        Return period, above 1 [a]

    Returns
    -------
    float
        The value [same unit]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        The return period is not above one year, or not below a fifth of the number of years.

    Notes
    -----
    As `ranked_value`, and only if T < n / 5.

    References
    ----------
    As given in a university exercise on low flow.

    Examples
    --------
    >>> distribution_free_value(np.arange(1.0, 20.0), 2.5)
    8.0
    """
    n = len(values)
    check_return_period(years)
    if is_exercise(n, years):
        what = f"{n} years are too few for a value that comes once in {years:g} years."
        cure = f"Ask for less than {n / 5:g} years, or fit a distribution and call it an exercise."
        raise InputError(Problem("years", what, cure))
    return ranked_value(values, years)


def is_exercise(n: int, years: float) -> bool:
    """Whether a record of n years is too short for this return period (T < n / 5 fails): its value
    is then an exercise value, not a design value."""
    return not years < n / 5.0


def check_return_period(years: float) -> None:
    """Refuse a return period that is not a number above one."""
    if not (math.isfinite(years) and years > 1.0):
        what = f"{years:g} is no return period."
        raise InputError(Problem("years", what, "Write a number above 1, for example 10."))
