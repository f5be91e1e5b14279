"""Tracer tests: from a curve of time and concentration to mean, variance and contact time."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np

from hydroloop.arguments import LARGEST, NOT_NEGATIVE, POSITIVE, Bounds, bounded
from hydroloop.errors import AskError, HydroloopWarning, Problem

READINGS = Bounds(0.0, LARGEST, "Give readings of zero or more, none missing.", fewest=3)
PART = Bounds(0.001, 0.999, "Give a share of 0.001 to 0.999: 10 % is 0.1.")
TANKS = Bounds(0.1, 1000.0, "Give a number of tanks, 0.1 to 1,000.")

_LONG_TAIL = 0.05


@dataclass(frozen=True, eq=False)
class TracerCurve:
    """What a tracer test tells of a tank; times are in the unit in which they were given.

    Attributes
    ----------
    time : numpy.ndarray
        Times of the readings, shape (reading) [unit of time].
    left : numpy.ndarray
        Share of the tracer that has left by then, shape (reading) [-].
    area : float
        Area under a pulse [unit of concentration x unit of time]; last share of a step [-].
    mean : float
        Mean time in the tank [unit of time].
    variance : float
        Variance of it [unit of time squared].
    slope : numpy.ndarray or None
        Rate at which the tracer leaves at each reading, of a pulse, shape (reading).
    rule : str
        What lies between the readings: as in `pulse_test`.
    """

    time: np.ndarray
    left: np.ndarray
    area: float
    mean: float
    variance: float
    slope: np.ndarray | None = None
    rule: str = "straight"

    @bounded(share=PART)
    def time_of(self, share: float) -> float:
        """Time by which a share has left: 0.1 gives T10, 0.5 the median [unit of time].

        Raises
        ------
        AskError
            If the share is out of bounds, or so much had not left when the test ended.
        """
        reached = np.flatnonzero(self.left >= share)
        if not len(reached):
            what = f"only {self.left.max():.3g} of the tracer had left when the test ended."
            raise AskError(Problem("share", what, "Ask for less, or go on longer."))
        k = int(reached[0])
        if k == 0:
            return float(self.time[0])
        step, rest = self.time[k] - self.time[k - 1], share - self.left[k - 1]
        if self.slope is None:
            return float(self.time[k - 1] + step * rest / (self.left[k] - self.left[k - 1]))
        bend = (self.slope[k] - self.slope[k - 1]) / (2.0 * step)
        root = np.sqrt(max(self.slope[k - 1] ** 2 + 4.0 * bend * rest, 0.0))
        return float(self.time[k - 1] + 2.0 * rest / (self.slope[k - 1] + root))

    @bounded(("start", "end"), start=NOT_NEGATIVE, end=NOT_NEGATIVE)
    def share_between(self, start: float, end: float) -> float:
        """Share of the tracer that leaves between two times [-].

        Raises
        ------
        AskError
            If a time is negative, or the second lies before the first.
        """
        if self.rule == "simpson":
            return self._by_simpson(start, end) / self._by_simpson(self.time[0], self.time[-1])
        return self._left_by(end) - self._left_by(start)

    @property
    def t10(self) -> float:
        """Time by which a tenth has left: the contact time that counts [unit of time]."""
        return self.time_of(0.1)

    @property
    def morrill_index(self) -> float:
        """T90 over T10: one in a pipe without mixing, 22 in one mixed tank [-]."""
        return self.time_of(0.9) / self.t10

    @property
    def tanks(self) -> float:
        """Number of equal mixed tanks in a row that spread as much, mean^2 / variance [-]."""
        return self.mean**2 / self.variance

    def _by_simpson(self, start: float, end: float) -> float:
        """Area between two times over the readings there, as it is done by hand."""
        from scipy.integrate import simpson

        first, last = np.clip([start, end], self.time[0], self.time[-1])
        between = self.time[(self.time > first) & (self.time < last)]
        at = np.concatenate([[first], between, [last]])
        assert self.slope is not None  # only a pulse has the rule
        return float(simpson(np.interp(at, self.time, self.slope), x=at)) if first < last else 0.0

    def _left_by(self, when: float) -> float:
        if self.slope is None or not self.time[0] < when < self.time[-1]:
            return float(np.interp(when, self.time, self.left, left=0.0))
        k = int(np.searchsorted(self.time, when, side="right")) - 1
        gone, step = when - self.time[k], self.time[k + 1] - self.time[k]
        bend = (self.slope[k + 1] - self.slope[k]) / (2.0 * step)
        return float(self.left[k] + self.slope[k] * gone + bend * gone**2)


@bounded(time=READINGS, concentration=READINGS, base=NOT_NEGATIVE)
def pulse_test(
    time: np.ndarray, concentration: np.ndarray, *, base: float = 0.0, rule: str = "straight"
) -> TracerCurve:
    """Tracer test by a pulse: all of it at once, and what comes out.

    How long water stays in a tank, and how unequally: from the curve at the outlet.
    Where the test ends before the tracer has come out, mean and variance are too small.

    Parameters
    ----------
    time : array (reading)
        Times since the pulse, rising [any unit of time]
    concentration : array (reading)
        Tracer at the outlet [any unit]
    base : float
        Tracer in the water without the pulse [same unit]
    rule : str
        ``"straight"``: lines between the readings; ``"simpson"``: mean, variance and
        shares between times by Simpson's rule, as textbooks do it by hand

    Returns
    -------
    TracerCurve
        Mean, variance, T10, shares between times

    Raises
    ------
    AskError
        If the readings are too few, negative or do not rise in time, if nothing came out, or if
        there is no such rule.

    Notes
    -----
    E = C / area, mean = integral of t E, variance = integral of (t - mean)^2 E. Straight lines are
    integrated exactly, moments too: they suppose nothing between readings, hold for uneven times,
    and give shares that never run backwards. The trapezoid of t C, which is often used instead,
    makes a variance too small (12.5 for a triangle of five readings whose variance is 16.7). On a
    smooth curve of few readings Simpson's parabolas come nearer to the truth; at a kink they do
    not, and shares of two stretches need not add up. Times of shares are by straight lines in both.

    References
    ----------
    Fogler: Elements of Chemical Reaction Engineering, 4th ed., chapter 13 (from memory).

    Examples
    --------
    >>> curve = pulse_test([10, 15, 20, 25, 30], [0, 5, 10, 5, 0])
    >>> [round(x, 3) for x in (curve.mean, curve.variance, curve.t10, curve.share_between(15, 20))]
    [20.0, 16.667, 14.472, 0.375]
    """
    times, above = _readings(time, concentration)
    above = above - base
    step, first, last = np.diff(times), above[:-1], above[1:]
    begin, end = times[:-1], times[1:]
    pieces = step * (first + last) / 2.0
    area = float(pieces.sum())
    if not area > 0.0:
        raise AskError(
            Problem(
                "pulse_test",
                "no tracer came out above the base.",
                "Check the base and the readings.",
                "concentration",
            )
        )
    if rule == "straight":
        once = (step * (first * (2 * begin + end) + last * (begin + 2 * end)) / 6.0).sum()
        twice = (
            step
            / 12.0
            * (
                first * (3 * begin**2 + 2 * begin * end + end**2)
                + last * (begin**2 + 2 * begin * end + 3 * end**2)
            )
        ).sum()
        whole = area
    elif rule == "simpson":
        from scipy.integrate import simpson

        whole, once, twice = (float(simpson(above * times**k, x=times)) for k in range(3))
    else:
        raise AskError(
            Problem("rule", f'there is no rule "{rule}".', "There are straight and simpson.")
        )
    _tell_tail(above[-1] / above.max())
    mean = float(once / whole)
    return TracerCurve(
        times,
        np.append(0.0, np.cumsum(pieces) / area),
        float(whole),
        mean,
        float(twice / whole - mean**2),
        above / area,
        rule,
    )


@bounded(time=READINGS, concentration=READINGS, dose=POSITIVE, base=NOT_NEGATIVE)
def step_test(
    time: np.ndarray, concentration: np.ndarray, *, dose: float, base: float = 0.0
) -> TracerCurve:
    """Tracer test by a step: a feed that is turned on and stays on.

    How long water stays in a tank: from the rise at the outlet.
    Readings wobble, so a share may fall back; T10 is where a tenth is reached for the first time.

    Parameters
    ----------
    time : array (reading)
        Times since the feed began, rising [any unit of time]
    concentration : array (reading)
        Tracer at the outlet [any unit]
    dose : float
        What the feed adds [same unit]
    base : float
        Tracer in the water without the feed [same unit]

    Returns
    -------
    TracerCurve
        Mean, variance, T10, shares between times

    Raises
    ------
    AskError
        If the readings are too few, negative or do not rise in time, or the dose is not above zero.

    Notes
    -----
    F = (C - base) / dose, straight between readings; mean = integral of (1 - F), variance = 2 x
    integral of t (1 - F) - mean^2, to the last reading.

    References
    ----------
    US EPA, Surface Water Treatment Rule guidance manual, tracer studies (from memory).

    Examples
    --------
    >>> curve = step_test([0, 10, 20], [0.2, 0.2, 2.2], dose=2.0, base=0.2)
    >>> curve.t10, curve.mean
    (11.0, 15.0)
    """
    times, read = _readings(time, concentration)
    left = (read - base) / dose
    still = 1.0 - left
    begin, end, step = times[:-1], times[1:], np.diff(times)
    mean = times[0] + (step * (still[:-1] + still[1:]) / 2.0).sum()
    second = (
        times[0] ** 2
        + 2.0
        * (step * (still[:-1] * (2 * begin + end) + still[1:] * (begin + 2 * end)) / 6.0).sum()
    )
    _tell_tail(still[-1])
    return TracerCurve(times, left, float(left[-1]), float(mean), float(second - mean**2))


@bounded(tanks=TANKS, share=PART)
def tanks_in_series_time(tanks: float, share: float) -> float:
    """Time by which a share has left equal mixed tanks in a row, over the mean time [-].

    One tank lets a tenth through in a tenth of the mean time; ten tanks hold it for six tenths.
    With a share of 0.1 it is the baffling factor of a tank that mixes like so many.

    Parameters
    ----------
    tanks : float
        Number of tanks; need not be whole [-]
    share : float
        Share that has left [-]

    Returns
    -------
    float
        Time over mean time [-]

    Notes
    -----
    The quantile of a gamma distribution of shape N and mean 1.

    References
    ----------
    Levenspiel: Chemical Reaction Engineering, chapter 14 (from memory).

    Examples
    --------
    >>> round(tanks_in_series_time(1, 0.1), 3), round(tanks_in_series_time(10, 0.1), 3)
    (0.105, 0.622)
    """
    from scipy.special import gammaincinv

    return float(gammaincinv(tanks, share) / tanks)


def _readings(time: np.ndarray, concentration: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    times, read = np.asarray(time, dtype=float), np.asarray(concentration, dtype=float)
    if times.ndim != 1 or times.shape != read.shape:
        raise AskError(
            Problem(
                "tracer test",
                f"{times.shape} times, {read.shape} readings.",
                "Give one reading for each time.",
            )
        )
    if (np.diff(times) <= 0.0).any():
        raise AskError(Problem("time", "the times do not rise.", "Sort the readings."))
    return times, read


def _tell_tail(part: float) -> None:
    if part > _LONG_TAIL:
        warnings.warn(
            f"The curve ends at {part:.0%} of its height: the tail is cut off, and mean "
            "and variance are too small.",
            HydroloopWarning,
            stacklevel=4,
        )
