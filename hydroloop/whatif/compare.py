"""Compare: what two runs have different, and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import xarray as xr

from hydroloop.arguments import check_scenario
from hydroloop.errors import InputError, Problem
from hydroloop.measures import Run
from hydroloop.placenames import Names, with_names
from hydroloop.scenario import Scenario
from hydroloop.waterworks.members import SharedForcing
from hydroloop.whatif.block import block_size
from hydroloop.whatif.contributions import MOST_EXACT, drawn_contributions, exact_contributions
from hydroloop.whatif.difference import (
    Change,
    changes_between,
    changes_of_plan,
    grouped,
    inputs_that_differ,
)
from hydroloop.whatif.plan import Plan
from hydroloop.whatif.season_table import at_places, seasons
from hydroloop.whatif.used_parts import used_parts_of

MOST_CHANGES = 60
"""More changes than this are no answer to the question why."""

Told = Callable[[int, int], None]
"""Called with runs done and runs in all, as far as it is known."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two runs side by side, and what each change contributes to their difference."""

    # the two
    before: Scenario
    after: Scenario
    inputs: list[tuple[str, str, str]]  # keys that differ: key, before, after
    table: xr.Dataset  # season measures of both, with the dim run ("before", "after")
    # of each change to each measure, with the dim change; they add up to after less before
    contributions: xr.Dataset
    error: xr.Dataset | None  # standard error of each contribution; None where every order was run
    # season measures with all changes but one, with the dim change; None where not all were run
    without: xr.Dataset | None
    runs: int  # seasons that were run
    ends: tuple[Run, Run] = field(repr=False)  # arrays of the two

    @cached_property
    def used_parts(self) -> xr.Dataset:
        """The used share of both runs in parts: ``season_used_share_by_way`` (run, town, used_in,
        way) [-], and ``reclaimed_to_supply`` (run, town), mean of the season [m3/d]."""
        return used_parts_of(self.ends, ("before", "after"))

    @property
    def names(self) -> Names:
        """Names that are given to places, by key."""
        return {**self.before.names, **self.after.names}

    @property
    def difference(self) -> xr.Dataset:
        """After less before, for each measure."""
        before, after = (self.table.sel(run=name, drop=True) for name in ("before", "after"))
        return xr.Dataset(
            {
                name: (after[name] - before[name]).assign_attrs(after[name].attrs)
                for name in self.table.data_vars
            }
        )


def compare(
    before: Scenario,
    after: Scenario | Plan | Sequence[Change],
    *,
    asked: Sequence[Change] = (),
    orders: int = 32,
    seed: int = 1,
    most: int = 5,
    told: Told | None = None,
    forcing: SharedForcing | None = None,
) -> Comparison:
    """Compare two runs, and split their difference over what was changed.

    The contribution of a change is its effect averaged over the orders in which all changes can be
    made: every order up to eight changes, some drawn at random beyond. It is the model's answer to
    why; what the model leaves out may matter more.

    Parameters
    ----------
    before : Scenario
        What is compared with.
    after : Scenario, Plan, or sequence of Change
        Another scenario, or what is changed in the first.
    asked : sequence of Change, optional
        Changes that lead to another scenario, as they were asked for: the difference is split over
        them, and over the keys that differ only where they cannot be made one by one.
    orders : int
        Pairs of orders that are drawn for more than eight changes.
    seed : int
        The same seed draws the same orders.
    most : int
        Highest use class.
    told : callable, optional
        Called with runs done and runs in all.
    forcing : SharedForcing, optional
        Where weather and inflow are kept between calls.

    Returns
    -------
    Comparison
        Inputs that differ, measures, contributions.

    Raises
    ------
    InputError
        A change cannot be made, there are too many, or `orders` is less than 2.
    ScenarioError
        A step of a plan cannot be taken, or what is given is no scenario, but the name of one.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> other = scenario.changed({"town.larkmill.people": 30000, "river.wren.inflow": "20 cfs"})
    >>> found = compare(scenario, other)
    >>> found.contributions.change.values.tolist()
    ['river.wren.inflow', 'town.larkmill.people']
    >>> whole = found.contributions.season_used_share.sum("change")
    >>> bool(abs(whole - found.difference.season_used_share).max() < 1e-12)
    True
    """
    check_scenario("compare", before, *([after] if isinstance(after, str) else []))
    if orders < 2:
        raise InputError(Problem("orders", f"{orders} is too few.", "Give at least 2."))
    if isinstance(after, Scenario):
        found = _between(before, after, asked, orders, seed)
    else:
        changes = changes_of_plan(after) if isinstance(after, Plan) else list(after)
        if isinstance(after, Plan):
            after.taken(before)  # says everything that is wrong with it, before anything is run
        found = _Runs(before, changes, orders, seed)
    return found.compared(most, told, forcing or SharedForcing())


def _between(
    before: Scenario, after: Scenario, asked: Sequence[Change], orders: int, seed: int
) -> _Runs:
    """Changes as they were asked for, or key by key; place by place, or all at once, where these
    do not stand alone."""
    single, together = changes_between(before, after), grouped(before, after)
    whole = [Change("all together", lambda scenario: after)]
    for changes in (asked, single, together) if asked else (single, together):
        runs = _Runs(before, changes, orders, seed)
        if len(changes) <= MOST_CHANGES and runs.can_be_made():
            return runs
    return _Runs(before, whole if single else [], orders, seed)


class _Runs:
    """Runs of sets of changes, each set once."""

    def __init__(self, before: Scenario, changes: Sequence[Change], orders: int, seed: int):
        if len(changes) > MOST_CHANGES:
            what = f"{len(changes)} changes are too many to say why."
            raise InputError(Problem("changes", what, f"Make at most {MOST_CHANGES}."))
        self.before, self.changes = before, _told_apart(changes)
        self.orders, self.seed = orders, seed
        self.scenarios: dict[int, Scenario] = {}
        self.is_exact = len(changes) <= MOST_EXACT

    def scenario(self, chosen: int) -> Scenario:
        """The scenario with a set of changes, made in their order."""
        if chosen not in self.scenarios:
            if not chosen:
                return self.before
            last = chosen.bit_length() - 1
            earlier = self.scenario(chosen & ~(1 << last))
            self.scenarios[chosen] = self.changes[last].act(earlier)
        return self.scenarios[chosen]

    def can_be_made(self) -> bool:
        """Whether every set of changes that will be run is a scenario."""
        try:
            self._split(self._only_made)
        except InputError:
            return False
        return True

    def compared(self, most: int, told: Told | None, shared: SharedForcing) -> Comparison:
        """Run what is needed and split the difference."""
        tables, kept = dict[int, xr.Dataset](), dict[int, Run]()
        everything = 2 ** len(self.changes) - 1
        whole = self.scenario(everything)
        towns, stages = (
            list(dict.fromkeys([*before, *after]))
            for before, after in ((self.before.town, whole.town), (self.before.stage, whole.stage))
        )

        def values(sets: Sequence[int]) -> np.ndarray:
            wanted, size = list(sets), block_size(whole)
            for begin in range(0, len(wanted), size):
                block = wanted[begin : begin + size]
                ends = {k for k, one in enumerate(block) if one in (0, everything)}
                made, runs = seasons(
                    [self.scenario(one) for one in block], most=most, forcing=shared, keep=ends
                )
                kept.update({block[k]: run for k, run in runs.items()})
                made = at_places(made, towns, stages)
                tables.update({one: made.isel(member=k, drop=True) for k, one in enumerate(block)})
                if told is not None:
                    told(min(begin + size, len(wanted)), len(wanted))
            return np.stack([_packed(tables[one]) for one in wanted])

        phi, error = self._split(values)
        pair = [tables[0], tables[everything]]
        names = [change.name for change in self.changes]
        runs = xr.IndexVariable("run", ["before", "after"])
        table = xr.concat(pair, runs, combine_attrs="override")
        return Comparison(
            self.before,
            whole,
            inputs_that_differ(self.before, whole),
            with_names(table, {**self.before.names, **whole.names}),
            _unpacked(phi, pair[0], names),
            None if error is None else _unpacked(error, pair[0], names),
            self._all_but_one(tables, everything, names),
            len(tables),
            (kept[0], kept[everything]),
        )

    def _all_but_one(
        self, tables: dict[int, xr.Dataset], everything: int, names: list[str]
    ) -> xr.Dataset | None:
        each = [tables.get(everything & ~(1 << place)) for place in range(len(names))]
        known = [table for table in each if table is not None]
        if not names or len(known) < len(names):
            return None
        return xr.concat(known, xr.IndexVariable("change", names), combine_attrs="override")

    def _split(
        self, values: Callable[[Sequence[int]], np.ndarray]
    ) -> tuple[np.ndarray, np.ndarray | None]:
        if self.is_exact:
            return exact_contributions(len(self.changes), values), None
        return drawn_contributions(len(self.changes), values, orders=self.orders, seed=self.seed)

    def _only_made(self, sets: Sequence[int]) -> np.ndarray:
        for one in sets:
            self.scenario(one)
        return np.zeros((len(sets), 1))


def _told_apart(changes: Sequence[Change]) -> list[Change]:
    """Changes with names that are all different."""
    seen: dict[str, int] = {}
    told = []
    for change in changes:
        seen[change.name] = seen.get(change.name, 0) + 1
        again = seen[change.name]
        told.append(change if again == 1 else Change(f"{change.name} ({again})", change.act))
    return told


def _packed(table: xr.Dataset) -> np.ndarray:
    return np.concatenate([table[name].values.ravel() for name in table.data_vars])


def _unpacked(values: np.ndarray, like: xr.Dataset, names: list[str]) -> xr.Dataset:
    made, begin = {}, 0
    for name, one in like.data_vars.items():
        end = begin + one.size
        part = values[:, begin:end].reshape(len(values), *one.shape)
        made[name] = (("change", *one.dims), part, one.attrs)
        begin = end
    return xr.Dataset(made, {**like.coords, "change": names})
