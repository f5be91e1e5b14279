"""How well a town is supplied: how often, for how long and how badly water is short."""

from __future__ import annotations

import numpy as np

from hydroloop.measures.run_arrays import Run

_ROUNDING = 1e-9  # a minimum flow kept to the last digit is kept; less than this is no flow


def reliability(short: np.ndarray) -> np.ndarray:
    """Share of steps in which all demand is met [-].

    0.95: on one day in twenty somebody goes short.
    Says nothing of how much is short, nor whether the days come in a row.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]

    Returns
    -------
    numpy.ndarray
        Shape (...) [-]

    Notes
    -----
    Steps without shortage over all steps.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> float(reliability(np.array([0.0, 0.0, 2.0, 0.0])))
    0.75
    """
    return np.asarray((np.asarray(short) <= 0.0).mean(axis=0))


def resilience(short: np.ndarray) -> np.ndarray:
    """Share of failing steps after which supply recovers [-].

    One over the mean length of a failure: 0.1 means that shortages last ten steps on average.
    NaN where nothing failed: there was nothing to recover from.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]

    Returns
    -------
    numpy.ndarray
        Shape (...) [-]

    Notes
    -----
    Recoveries over failing steps. A failure that lasts beyond the last step has no recovery in it.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> float(resilience(np.array([0.0, 1.0, 2.0, 0.0])))
    0.5
    """
    fails = np.asarray(short) > 0.0
    recoveries, failing = (fails[:-1] & ~fails[1:]).sum(axis=0), fails.sum(axis=0)
    unknown = np.full(np.shape(failing), np.nan)
    return np.divide(recoveries, failing, out=unknown, where=failing > 0)


def vulnerability(short: np.ndarray, *, variant: str = "mean") -> np.ndarray:
    """Worst shortage of a failure [m3/d].

    How bad it gets: the worst step of each failure, on average or of all.
    The mean may fall when many small failures join a large one: look at both.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]
    variant : {"mean", "largest"}
        Mean over failures (Hashimoto's, with failures alike likely), or the largest of all

    Returns
    -------
    numpy.ndarray
        Shape (...); 0 where nothing failed [m3/d]

    Raises
    ------
    ValueError
        If there is no such variant.

    Notes
    -----
    A failure is a run of steps with shortage; its severity is the largest shortage in it.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> short = np.array([0.0, 1.0, 3.0, 0.0, 1.0])
    >>> float(vulnerability(short)), float(vulnerability(short, variant="largest"))
    (2.0, 3.0)
    """
    if variant not in ("mean", "largest"):
        raise ValueError(f'there is no variant "{variant}": write "mean" or "largest".')
    short = np.asarray(short, dtype=float)
    if variant == "largest" or not (short > 0.0).any():
        return np.asarray(short.max(axis=0, initial=0.0))
    columns = short.reshape(len(short), -1).T
    return np.array([_mean_severity(column) for column in columns]).reshape(short.shape[1:])


def longest_failure(short: np.ndarray) -> np.ndarray:
    """Longest run of steps with shortage [-].

    What a household or a fire brigade would have to bridge.
    A failure cut off by the season's end counts as far as it was seen.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]

    Returns
    -------
    numpy.ndarray
        Number of steps, shape (...) [-]

    Examples
    --------
    >>> int(longest_failure(np.array([1.0, 0.0, 2.0, 2.0])))
    2
    """
    short = np.asarray(short, dtype=float)
    columns = short.reshape(len(short), -1).T
    runs = [max((end - start for start, end in _failures(column)), default=0) for column in columns]
    return np.array(runs).reshape(short.shape[1:])


def unmet(run: Run) -> np.ndarray:
    """Water asked for and not delivered.

    Zero on a day when everybody got what they asked for. Reclaimed water counts as delivered.

    Parameters
    ----------
    run : Run
        Arrays of the record, with what is asked for.

    Returns
    -------
    numpy.ndarray
        Shape (time, town, purpose, member) [m3/d].

    Notes
    -----
    demand - delivered, and zero where that is below a billionth of the demand.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> float(unmet(run_of(hl.simulate(hl.read_scenario("first_town")))).sum())
    0.0
    """
    assert run.demand is not None
    came = np.stack([run.flow(part) for part in ("taps", "to_work", "to_yards")], axis=2)
    short = run.demand - came
    return np.where(short <= _ROUNDING * run.demand, 0.0, short)


def supply(unmet: np.ndarray, demand: np.ndarray, days: np.ndarray) -> dict[str, np.ndarray]:
    """How well towns are supplied over the season.

    Reliability says how often, resilience how soon it is over, vulnerability how bad it gets.
    Use that drought stages cut is not asked for, and so not short: see `cut` in the record.

    Parameters
    ----------
    unmet, demand : numpy.ndarray
        Water not delivered and water asked for, shape (time, town, purpose, member) [m3/d].
    days : numpy.ndarray
        Lengths of the steps, shape (time) [d].

    Returns
    -------
    dict of numpy.ndarray
        `reliability`, `volume_reliability`, `resilience` [-], `vulnerability`, `largest_shortage`
        [m3/d], `longest_failure` [d] (town, member), `unmet_total` (town, purpose, member) [m3].
        NaN for a town of which it is not known what it asks for.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> asked = np.ones((4, 1, 1, 1))
    >>> found = supply(asked * np.array([0, 1, 1, 0]).reshape(4, 1, 1, 1), asked, np.ones(4))
    >>> found["reliability"].item(), found["longest_failure"].item()
    (0.5, 2.0)
    """
    short = unmet.sum(axis=2)
    missing = np.tensordot(days, unmet, axes=1)
    asked = np.tensordot(days, demand, axes=1).sum(axis=1)
    met = 1.0 - np.divide(missing.sum(axis=1), asked, out=np.zeros_like(asked), where=asked > 0.0)
    found = {
        "reliability": reliability(short),
        "resilience": resilience(short),
        "vulnerability": vulnerability(short),
        "largest_shortage": vulnerability(short, variant="largest"),
        "longest_failure": longest_failure(short) * float(days[0]),
        "volume_reliability": met,
    }
    unknown = np.isnan(short).any(axis=0)
    return {
        **{name: np.where(unknown, np.nan, values) for name, values in found.items()},
        "unmet_total": missing,
    }


def cut_share(cut: np.ndarray, demand: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Share of use that drought stages cut in the season.

    How much people were asked to do without, over all that they would have used.
    A lawn that gets less asks for more later: the season's use falls by less than is cut.

    Parameters
    ----------
    cut, demand : numpy.ndarray
        What stages cut, and what is asked for, shape (time, town, purpose, member) [m3/d].
    days : numpy.ndarray
        Lengths of the steps, shape (time) [d].

    Returns
    -------
    numpy.ndarray
        Shape (town, member); 0 where nothing is asked for [-].

    Notes
    -----
    sum of cut / sum of (demand + cut): what is cut is asked for no longer, so it is not in demand.

    Examples
    --------
    >>> one = np.ones((2, 1, 1, 1))
    >>> cut_share(one, 3.0 * one, np.ones(2)).item()
    0.25
    """
    less, asked = (np.tensordot(days, part, axes=1).sum(axis=1) for part in (cut, demand))
    return np.divide(less, less + asked, out=np.zeros_like(less), where=less > 0.0)


def dilution(run: Run) -> np.ndarray:
    """How far the river dilutes a town's effluent and overflow.

    The mean of a whole step, well mixed: along the bank it may be less.

    Parameters
    ----------
    run : Run
        Arrays of the record.

    Returns
    -------
    numpy.ndarray
        Shape (time, town, member) [-]; NaN where no effluent meets a river.

    Notes
    -----
    Flow that comes down the river to the outfall / effluent and overflow there.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> bool((dilution(run_of(hl.simulate(hl.read_scenario("first_town")))) > 1.0).all())
    True
    """
    river, returned = run.flow("at_outfall"), run.flow("returned")
    ends = np.array([(run.op.target[town.outfalls] >= 0).any() for town in run.towns], dtype=bool)
    with np.errstate(over="ignore"):  # of next to no effluent there is no telling
        found = np.divide(
            river, returned, out=np.full_like(river, np.nan), where=(returned > 0.0) & ends[:, None]
        )
    found[~np.isfinite(found)] = np.nan
    return np.where(found < _ROUNDING, 0.0, found)  # a river drawn empty is empty


def lowest(values: np.ndarray) -> np.ndarray:
    """Lowest of the season that is known, shape (time, ...) to (...); NaN where none is."""
    found = np.where(np.isnan(values), np.inf, values).min(axis=0)
    return np.where(np.isfinite(found), found, np.nan)


def days_under_minimum(run: Run) -> np.ndarray:
    """Days on which less than the minimum flow passes a town's intake.

    They are the river's own doing: the intake takes nothing then.

    Parameters
    ----------
    run : Run
        Arrays of the record.

    Returns
    -------
    numpy.ndarray
        Shape (town, member) [d]; NaN where no minimum flow is known, or nothing is taken from a
        river.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> days_under_minimum(run_of(hl.simulate(hl.read_scenario("first_town")))).ravel().tolist()
    [0.0, 0.0]
    """
    left = run.flow("past_intake")
    if run.minimum_flow is None:
        return np.full(left.shape[1:], np.nan)
    under = left < run.minimum_flow * (1.0 - _ROUNDING)
    found = np.tensordot(run.days, under, axes=1)
    known = np.array([town.at_intake.any() for town in run.towns], dtype=bool)[:, None]
    return np.where(known & ~np.isnan(run.minimum_flow).any(axis=0), found, np.nan)


def days_in_stages(stage_days: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Days for which each drought stage was in force in the season.

    How often people were asked to use less, and for how long in all.
    A stage that stands at the season's end goes on beyond it.

    Parameters
    ----------
    stage_days : numpy.ndarray
        Days that each stage has been in force, shape (time, stage, member) [d].
    days : numpy.ndarray
        Lengths of the steps, shape (time) [d].

    Returns
    -------
    numpy.ndarray
        Shape (stage, member) [d].

    Examples
    --------
    >>> days_in_stages(np.array([0.0, 1.0, 2.0]).reshape(3, 1, 1), np.ones(3)).ravel().tolist()
    [2.0]
    """
    return np.asarray(np.tensordot(days, stage_days > 0.0, axes=1))


def _failures(short: np.ndarray) -> list[tuple[int, int]]:
    """First step of each failure, and the step after its last."""
    fails = np.concatenate([[False], np.asarray(short) > 0.0, [False]])
    turns = np.flatnonzero(fails[1:] != fails[:-1])
    return list(zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True))


def _mean_severity(short: np.ndarray) -> float:
    worst = [float(short[start:end].max()) for start, end in _failures(short)]
    return float(np.mean(worst)) if worst else 0.0
