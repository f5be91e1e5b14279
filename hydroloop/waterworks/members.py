"""Many members of one scenario, side by side: their seasons as arrays with the member innermost."""

from __future__ import annotations

import json
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from hydroloop.record import ALLOWED_GAP, Network, build_record
from hydroloop.scenario import Scenario
from hydroloop.waterworks.forcing import Forcing, past_forcing, season_forcing
from hydroloop.waterworks.one_season import SeasonRun, run_scenario

# Places that what drives a season from outside does not depend on, beside the towns' names.
_NOT_OUTSIDE = ("title", "about", "town", "aquifer", "stage")


@dataclass(frozen=True, eq=False)
class Members:
    """Seasons of members that share their stores and flows.

    Attributes
    ----------
    numbers : ndarray of shape (member,)
        Which of the scenarios they are.
    network : Network
        Stores and flows.
    edges : ndarray of shape (edge,)
        Instants between steps.
    step : float
        Length of a step [d].
    volume : ndarray of shape (edge, store, member)
        Volumes [m3].
    rate : ndarray of shape (time, flow, member)
        Rates [m3/d].
    demand, cut : ndarray of shape (time, town, purpose, member)
        Water asked for, and what drought stages cut of it [m3/d].
    stage_days : ndarray of shape (time, stage, member)
        Days that each drought stage has been in force [d].
    used_before : dict
        Shares used above the record, by flow.
    first : SeasonRun
        The first member's run, for what they share.
    forcings : list of Forcing
        What drove each member from outside.
    minimum_flow : ndarray of shape (time, town, member)
        Flow that must pass each town's intake [m3/d].
    """

    numbers: np.ndarray
    network: Network
    edges: np.ndarray
    step: float
    volume: np.ndarray
    rate: np.ndarray
    demand: np.ndarray
    cut: np.ndarray
    stage_days: np.ndarray
    used_before: dict[str, list[float]]
    first: SeasonRun
    forcings: list[Forcing]
    minimum_flow: np.ndarray


class SharedForcing:
    """What drives a season from outside, worked out once for members that share it."""

    def __init__(self, most: int = 64):
        self._known: dict[str, Any] = {}
        self._most = most

    def of(self, scenario: Scenario, seed: int | None = None) -> Forcing:
        """Forcing of a scenario; the same object where nothing that drives it differs."""
        return self._kept(
            _outside(scenario, seed), lambda: season_forcing(scenario, seed, self._past)
        )

    def _past(self, scenario: Scenario, seed: int | None) -> Forcing | None:
        """The years before, which a dry season does not change."""
        key = _outside(scenario, seed, "dry_season")
        return self._kept(f"past {key}", lambda: past_forcing(scenario, seed))

    def _kept(self, key: str, make: Callable[[], Any]) -> Any:
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = make()
            # Threads of a worker share this: another may have let go of the same one.
            for oldest in list(self._known)[: -self._most]:
                self._known.pop(oldest, None)
        return found


def _outside(scenario: Scenario, seed: int | None, *less: str) -> str:
    """What drives a scenario from outside, in words."""
    without = (*_NOT_OUTSIDE, *less)
    outside = {name: part for name, part in scenario.data.items() if name not in without}
    return json.dumps([outside, seed, str(scenario.folder)], default=str)


def run_members(
    scenarios: Sequence[Scenario],
    *,
    seeds: Sequence[int] | None = None,
    forcing: SharedForcing | None = None,
) -> Iterator[Members]:
    """Seasons of several scenarios, those with the same stores and flows side by side."""
    shared = forcing or SharedForcing()
    groups: dict[tuple[Hashable, ...], list[tuple[int, SeasonRun]]] = {}
    for number, scenario in enumerate(scenarios):
        seed = None if seeds is None else seeds[number]
        run = run_scenario(scenario, shared.of(scenario, seed))
        groups.setdefault(_kind_of_network(run), []).append((number, run))
    for group in groups.values():
        numbers, runs = zip(*group, strict=True)
        yield _side_by_side(np.array(numbers), list(runs))


def _kind_of_network(run: SeasonRun) -> tuple[Hashable, ...]:
    """What is the same for runs that can stand side by side."""
    ledger = run.works.ledger
    words = (ledger.stores, ledger.source_names, ledger.target_names, ledger.kinds)
    before = tuple((flow, tuple(shares)) for flow, shares in run.used_before().items())
    # The warm-up is no part of the network, but members side by side are traced in one go.
    return (
        *map(tuple, words),
        tuple(run.scenario.stage),
        before,
        run.scenario.season.warm_up,
        run.scenario.season.count_as,
        run.forcing.step,
        run.forcing.time[0],
        len(run.forcing.time),
    )


def _side_by_side(numbers: np.ndarray, runs: list[SeasonRun]) -> Members:
    first = runs[0]
    arrays = [
        _innermost([getattr(run, name) for run in runs])
        for name in ("volume", "rate", "demand", "cut", "stage_days")
    ]
    members = Members(
        numbers,
        first.network(),
        first.edges,
        first.forcing.step,
        arrays[0],
        arrays[1],
        arrays[2],
        arrays[3],
        arrays[4],
        first.used_before(),
        first,
        [run.forcing for run in runs],
        _innermost([run.minimum_flow for run in runs]),
    )
    _check_closes(members)
    return members


def _innermost(parts: list[np.ndarray]) -> np.ndarray:
    """Arrays of equal shape as one, members innermost."""
    rows = [part.reshape(len(part), -1) for part in parts]
    out = np.empty((*rows[0].shape, len(parts)))
    for begin in range(0, len(parts), 8):
        some = rows[begin : begin + 8]
        if len(some) == 8:
            _interleave(tuple(some), out, begin)
        else:
            for k, part in enumerate(some):
                out[..., begin + k] = part
    return out.reshape(*parts[0].shape, len(parts))


@njit(cache=True, error_model="numpy")
def _interleave(parts, out, begin):
    a, b, c, d, e, f, g, h = parts
    for i in range(a.shape[0]):
        for j in range(a.shape[1]):
            out[i, j, begin] = a[i, j]
            out[i, j, begin + 1] = b[i, j]
            out[i, j, begin + 2] = c[i, j]
            out[i, j, begin + 3] = d[i, j]
            out[i, j, begin + 4] = e[i, j]
            out[i, j, begin + 5] = f[i, j]
            out[i, j, begin + 6] = g[i, j]
            out[i, j, begin + 7] = h[i, j]


def _check_closes(members: Members) -> None:
    """Refuse accounts that do not close, with the message that a single run would give."""
    ledger = members.first.works.ledger
    ends = np.array(ledger.sources), np.array(ledger.targets)
    volume, rate = members.volume, members.rate
    fine = volume.min(initial=0.0) >= 0.0 and rate.min(initial=0.0) >= 0.0
    if fine and _largest_gap(volume, rate, *ends, members.step) <= ALLOWED_GAP:
        return
    build_record(members.network, members.edges, volume, rate, members=members.numbers.tolist())


@njit(cache=True, error_model="numpy")
def _largest_gap(volume, rate, source, target, dt):
    """Largest gap over throughput; see `hydroloop.record.closure_gap`, whose bound is never less.

    Rows of members are handled at once. Not a number counts as infinite.
    """
    edges, stores, members = volume.shape
    into = np.zeros((stores + 1, members))
    out = np.zeros((stores + 1, members))
    worst = np.zeros((stores, members))
    for t in range(edges - 1):
        into[:] = 0.0
        out[:] = 0.0
        for q in range(len(source)):
            a, b = source[q], target[q]
            a = a if a >= 0 else stores
            b = b if b >= 0 else stores
            for m in range(members):
                moved = dt * rate[t, q, m]
                out[a, m] += moved
                into[b, m] += moved
        for s in range(stores):
            for m in range(members):
                before, after = volume[t, s, m], volume[t + 1, s, m]
                scale = max(before + into[s, m], after + out[s, m])
                gap = abs((after - before) - (into[s, m] - out[s, m]))
                if gap > worst[s, m] * scale:
                    worst[s, m] = gap / scale
                elif not gap <= worst[s, m] * scale:
                    worst[s, m] = np.inf
    return worst.max() if worst.size else 0.0
