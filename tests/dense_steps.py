"""A small record step by step with dense matrices, and a town to try it on: an oracle for tracing.

Written from the equation of a step with numpy alone; it shares no code with the package.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.record import Network, build_record

# source, target, kind, least and largest rate [m3/d]
TOWN = (
    ("wren/reach", "ash/mains", "intake", 3.0, 5.0),
    ("ash/mains", "ash/homes", "home_use", 2.0, 3.0),
    ("ash/mains", "ash/groundwater", "leak", 0.2, 0.9),
    ("upstream", "wren/reach", "upstream", 6.0, 9.0),
    ("ash/homes", "sky", "evaporation", 0.3, 0.6),
    ("wren/reach", "downstream", "river", 2.0, 6.0),
    ("rain", "ash/groundwater", "rain", 0.0, 4.0),
    ("ash/groundwater", "wren/reach", "baseflow", 1.0, 2.0),
    ("wren/reach", "elm/workplaces", "home_use", 0.5, 1.0),
    ("elm/workplaces", "wren/reach", "overflow", 0.1, 0.4),
    ("import", "elm/workplaces", "home_use", 0.5, 1.5),
    ("ash/homes", "wren/reach", "outfall", 0.0, 0.0),  # all that is left in the homes
)
STORES = ("ash/homes", "wren/reach", "ash/groundwater", "ash/mains", "elm/workplaces")
USED_BEFORE = {"upstream > wren/reach": [0.25, 0.05], "import > elm/workplaces": [0.0, 0.125]}
DAYS = (1.0, 0.5, 2.0, 1.5)


def town(
    seed: int = 1, *, members: int = 0, days: tuple[float, ...] = DAYS, deep: float = 0.0
) -> xr.Dataset:
    """A river, a town and a workshop that lead to each other, in steps of unequal length; with so
    much more groundwater [m3]."""
    rng = np.random.default_rng(seed)
    source, target, kind, low, high = map(np.array, zip(*TOWN, strict=True))
    many = max(1, members)
    rate = rng.uniform(low[:, None], high[:, None], (len(days), len(TOWN), many))
    rate[:, -1] = rate[:, 1] - rate[:, 4]
    names = np.array(STORES)[:, None]
    gain = (target == names).astype(float) - (source == names)
    lengths = np.array(days)[:, None, None]
    change = np.cumsum(lengths * np.einsum("sf,tfm->tsm", gain, rate), axis=0)
    change[:, 0] = 0.0  # homes hold no water
    volume = np.concatenate([np.zeros_like(change[:1]), change])
    spare = rng.uniform(0.5, 4.0, volume.shape[1:]) * np.array([0, 1, 1, 1, 1])[:, None]
    volume += spare - volume.min(axis=0)
    volume[:, 2] += deep
    hours = np.cumsum([0, *days]) * 24
    edges = np.datetime64("2031-03-01") + hours.astype("timedelta64[h]")
    network = Network(STORES, source, target, kind)
    if not members:
        volume, rate = volume[..., 0], rate[..., 0]
    return build_record(network, edges, volume, rate, used_before=USED_BEFORE)


def handed_on(year: Callable[[np.ndarray], np.ndarray], shape: tuple[int, ...]) -> np.ndarray:
    """Labels that a year, which is a matrix and what it brings, ends with as it began."""
    brought = year(np.zeros(shape))
    ones = np.eye(brought.size).reshape(-1, *shape)
    kept = np.array([(year(one) - brought).ravel() for one in ones]).T
    return np.linalg.solve(np.eye(brought.size) - kept, brought.ravel()).reshape(shape)


@dataclass
class Dense:
    """Arrays of a record, or of one of its members."""

    volume: np.ndarray  # (edge, store)
    moved: np.ndarray  # (time, flow)
    days: np.ndarray
    source: np.ndarray
    target: np.ndarray
    before: np.ndarray  # shares by passes above the record 0, 1, 2, ...; (flow, earlier)

    @classmethod
    def of(cls, record: xr.Dataset, member: int | None = None) -> Dense:
        if member is not None:
            record = record.isel(member=member)
        where = {name: k for k, name in enumerate(record["store"].values)}
        days = np.diff(record["edge"].values) / np.timedelta64(1, "D")
        source, target = (
            np.array([where.get(name, -1) for name in record[end].values])
            for end in ("source", "target")
        )
        before = np.ones((len(source), 1))
        if "used_before" in record:
            known = record["used_before"].values
            before = np.concatenate([1.0 - known.sum(axis=1, keepdims=True), known], axis=1)
        moved = record["rate"].values * days[:, None]
        return cls(record["volume"].values, moved, days, source, target, before)

    @property
    def every(self) -> np.ndarray:
        return np.ones(len(self.source), dtype=bool)

    def solve(
        self, t: int, amount: np.ndarray, through: np.ndarray, carries: np.ndarray | None = None
    ) -> tuple[np.ndarray, np.ndarray]:
        """Labels at the end of a step, and what is left dry, from the label given to each store.
        `through` is the share of a flow's label that goes on to its target."""
        held = self.volume[t + 1].copy()
        matrix = np.zeros((len(held), len(held)))
        for flow, moved in enumerate(self.moved[t] * (1.0 if carries is None else carries)):
            a, b = self.source[flow], self.target[flow]
            if a >= 0:
                held[a] += moved
                if b >= 0:
                    matrix[b, a] -= moved * through[flow]
        dry = held == 0
        label = np.linalg.solve(matrix + np.diag(np.where(dry, 1.0, held)), amount)
        return np.where(dry, 0.0, label), np.where(dry, label, 0.0)

    def given(self, t: int, amount: np.ndarray) -> np.ndarray:
        """Label that flows bring to each store in a step, from an amount per unit of each flow."""
        brought = np.zeros(self.volume.shape[1])
        for flow in np.flatnonzero(self.target >= 0):
            brought[self.target[flow]] += self.moved[t, flow] * amount[flow]
        return brought

    def labels(self, first: np.ndarray, amounts: np.ndarray, through: np.ndarray) -> np.ndarray:
        """Labels at every edge, (edge, store), from amounts per unit of flow, (time, flow)."""
        found = [first]
        for t, amount in enumerate(amounts):
            found.append(
                self.solve(t, self.volume[t] * found[-1] + self.given(t, amount), through)[0]
            )
        return np.array(found)

    def entering(self, gate: np.ndarray, most: int) -> np.ndarray:
        """Passes of what enters by each flow: classes 0 to most, none of unknown past, mean."""
        table = np.zeros((most + 3, len(gate)))
        for flow in np.flatnonzero(self.source < 0):
            for earlier, share in enumerate(self.before[flow]):
                uses = earlier + bool(gate[flow])
                table[min(uses, most), flow] += share
                table[-1, flow] += share * uses
        return table

    def uses(self, gate: np.ndarray, most: int, first: np.ndarray) -> np.ndarray:
        """Classes 0 to most, unknown past and mean passes, (row, edge, store)."""
        table, passes = self.entering(gate, most), gate & (self.source >= 0)
        found = [first]
        for t in range(len(self.moved)):
            old, new = found[-1], np.zeros_like(first)
            rows = [most + 1, *range(most + 1), most + 2]
            for row in rows:
                amount = table[row].copy()
                if 0 < row <= most:
                    lower = new[row - 1] + (new[most + 1] if row == 1 else 0.0)
                    amount += passes * lower[self.source]
                if row == most + 2:
                    amount += passes
                through = self.every if row in (most, most + 2) else ~gate
                brought = self.volume[t] * old[row] + self.given(t, amount)
                new[row] = self.solve(t, brought, through)[0]
            found.append(new)
        return np.array(found).swapaxes(0, 1)

    def steady_uses(self, gate: np.ndarray, most: int) -> np.ndarray:
        """The same under the mean flows for ever, for stores that all are fed, (row, store)."""
        mean = self.moved.sum(axis=0) / self.days.sum()
        table, passes = self.entering(gate, most), gate & (self.source >= 0)
        labels = np.zeros((most + 3, self.volume.shape[1]))
        for row in [*range(most + 1), most + 2]:
            matrix, given = np.zeros((2, labels.shape[1], labels.shape[1]))
            given = given[0]
            for flow in np.flatnonzero(self.target >= 0):
                a, b = self.source[flow], self.target[flow]
                matrix[b, b] += mean[flow]
                given[b] += mean[flow] * table[row, flow]
                if passes[flow] and row > 0:
                    given[b] += mean[flow] * (1.0 if row > most else labels[row - 1, a])
                if a >= 0 and (row >= most or not passes[flow]):
                    matrix[b, a] -= mean[flow]
            labels[row] = np.linalg.solve(matrix, given)
        return labels

    def parcel(
        self, gate: np.ndarray, most: int, begin: tuple[int, int]
    ) -> tuple[np.ndarray, np.ndarray]:
        """A unit given to a store in a step: shares in the stores at the end of each step from then
        on, (use, edge, store), and what has left by each flow by then, (use, edge, flow)."""
        store, step = begin
        passes = gate & (self.source >= 0) & (self.target >= 0)
        stands, left = [], [np.zeros((most + 1, len(gate)))]
        amount = np.zeros((most + 1, self.volume.shape[1]))
        amount[0, store] = 1.0
        for t in range(step, len(self.moved)):
            label, gone = np.zeros_like(amount), left[-1].copy()
            for use in range(most + 1):
                given = amount[use]
                if use:
                    given = given + self.given(t, passes * label[use - 1][self.source])
                label[use] = self.solve(t, given, ~passes if use < most else self.every)[0]
                for flow in np.flatnonzero((self.target < 0) & (self.source >= 0)):
                    now = min(use + bool(gate[flow]), most)
                    gone[now, flow] += self.moved[t, flow] * label[use, self.source[flow]]
            amount = label * self.volume[t + 1]
            stands.append(amount)
            left.append(gone)
        return np.array(stands).swapaxes(0, 1), np.array(left[1:]).swapaxes(0, 1)

    def brought(self, t: int, flow: int, through: np.ndarray) -> np.ndarray:
        """What one flow brought in one step, in all later labels, (edge, store)."""
        amounts = np.zeros_like(self.moved)
        amounts[t, flow] = 1.0
        return self.labels(np.zeros(self.volume.shape[1]), amounts, through)

    def standing(self, store: int, through: np.ndarray) -> np.ndarray:
        """What stood in one store at the first edge, in all later labels, (edge, store)."""
        first = np.zeros(self.volume.shape[1])
        first[store] = 1.0
        return self.labels(first, np.zeros_like(self.moved), through)
