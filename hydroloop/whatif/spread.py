"""Spread: what the ranges of a scenario do to every measure, and which of them matter most."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike

import numpy as np
import xarray as xr

from hydroloop.arguments import check_scenario
from hydroloop.errors import InputError, Problem
from hydroloop.placenames import with_names
from hydroloop.scenario import Scenario
from hydroloop.scenario.sampling import check_ends
from hydroloop.waterworks.simulate import has_chance
from hydroloop.whatif.job import drawn_job
from hydroloop.whatif.running import Progress, run_job

LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Levels of the bands: half of the members lie in the inner one, nine tenths in the outer."""


def spread(
    scenario: Scenario,
    members: int = 200,
    *,
    seed: int = 1,
    method: str = "latin_hypercube",
    most: int = 5,
    workers: int | None = 1,
    scheduler: str | None = None,
    store: str | PathLike[str] | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Season measures of members that draw from a scenario's ranges.

    An honest answer where inputs are not known is a band. It shows what the ranges given do, not
    what the model leaves out. Generated weather, and years drawn at random, are each member's own.

    Parameters
    ----------
    scenario : Scenario
        With some values written as ranges, or with generated weather.
    members : int
        How many members; some hundred give steady bands.
    seed : int
        The same seed gives the same members.
    method : str
        "latin_hypercube" or "sobol".
    most : int
        Highest use class.
    workers, scheduler, store, progress
        As in `run_job`.

    Returns
    -------
    xarray.Dataset
        Season measures, member last, and `drawn` (key, member), the values of the ranges.

    Raises
    ------
    InputError
        Nothing in the scenario varies, the number or way of drawing is wrong, or the scenario is
        not possible at an end of a range.
    ScenarioError
        What is given is no scenario, but the name of one.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town").changed(
    ...     {"town.larkmill.mains.real_losses": "8 % to 20 %"})
    >>> spread(scenario, 4).sizes["member"]
    4
    """
    check_scenario("spread", scenario)
    if not scenario.ranges and not has_chance(scenario):
        raise InputError(
            Problem(
                scenario.source.name,
                "holds no range, so that all members would be alike.",
                'Write one, such as "8 % to 14 %".',
            )
        )
    job = drawn_job(scenario, members, seed=seed, method=method, most=most)
    check_ends(scenario)
    return with_names(
        run_job(job, workers=workers, scheduler=scheduler, store=store, progress=progress),
        scenario.names,
    )


def bands(table: xr.Dataset, levels: Sequence[float] = LEVELS) -> xr.Dataset:
    """Quantiles of every measure over the members (dim level), linear between the members next to a
    level: definition 7 of Hyndman and Fan 1996. A band is no confidence interval: it is as wide as
    the ranges that were given."""
    if not all(0.0 <= level <= 1.0 for level in levels):
        raise InputError(Problem("levels", "a level lies outside 0 to 1.", "Give 0.5 for 50 %."))
    data = {}
    for name, one in table.drop_vars(["drawn", "key"], errors="ignore").data_vars.items():
        values = one.transpose("member", ...).values
        rest = tuple(dim for dim in one.dims if dim != "member")
        data[name] = (("level", *rest), _quantiles(values, levels), one.attrs)
    coords = {name: coord for name, coord in table.coords.items() if name not in ("member", "key")}
    level = ("level", list(levels), {"units": "1", "long_name": "share of members below"})
    return xr.Dataset(data, {**coords, "level": level}, table.attrs)


def _quantiles(values: np.ndarray, levels: Sequence[float]) -> np.ndarray:
    """Quantiles over the first axis of the values that there are."""
    flat = values.reshape(len(values), -1)
    out = np.full((len(levels), flat.shape[1]), np.nan)
    for column, row in enumerate(flat.T):
        there = row[np.isfinite(row)]
        if there.size:
            out[:, column] = np.quantile(there, levels)
    return out.reshape(len(levels), *values.shape[1:])


def rank_correlations(table: xr.Dataset) -> xr.Dataset:
    """Rank correlation of every measure with every key that was drawn (dim key); 0 where a measure
    does not vary, NaN where it has no value. Below 2 over the root of the members it says nothing.
    Spearman 1904, American Journal of Psychology 15:72."""
    if "drawn" not in table:
        raise InputError(Problem("spread", "no key was drawn.", "Write a value as a range."))
    if table.sizes["member"] < 3:
        raise InputError(
            Problem(
                "spread",
                f"{table.sizes['member']} members show no correlation.",
                "Draw at least 3; some hundred are better.",
            )
        )
    drawn = _ranks(table["drawn"].transpose("member", "key").values)
    data = {}
    for name, one in table.drop_vars("drawn").data_vars.items():
        values = one.transpose("member", ...).values
        rest = tuple(dim for dim in one.dims if dim != "member")
        found = _correlations(drawn, values.reshape(len(values), -1))
        attrs = {"units": "1", "long_name": f"rank correlation of: {one.attrs.get('long_name')}"}
        data[name] = (("key", *rest), found.reshape(len(found), *values.shape[1:]), attrs)
    coords = {name: coord for name, coord in table.coords.items() if name != "member"}
    return xr.Dataset(data, coords)


def _ranks(values: np.ndarray) -> np.ndarray:
    from scipy.stats import rankdata

    return np.asarray(rankdata(values, axis=0))


def _correlations(drawn: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Correlation of ranks, shape (key, column)."""
    there = np.isfinite(values).all(axis=0)
    # Last digits are rounding, and no order: they must not be ranked.
    ranks = _ranks(np.where(there, _rounded(values), 0.0))
    sides = [side - side.mean(axis=0) for side in (drawn, ranks)]
    norms = [np.sqrt((side**2).sum(axis=0)) for side in sides]
    product = norms[0][:, None] * norms[1][None, :]
    found = np.divide(
        sides[0].T @ sides[1], product, out=np.zeros_like(product), where=product > 0.0
    )
    found[:, ~there] = np.nan
    return found


def _rounded(values: np.ndarray) -> np.ndarray:
    """Values to ten figures of the largest of their column."""
    size = np.abs(np.where(np.isfinite(values), values, 0.0)).max(axis=0, initial=0.0)
    unit = np.where(size > 0.0, size, 1.0) * 1e-10
    return np.asarray(np.round(values / unit) * unit)
