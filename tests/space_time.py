"""All steps of a record as one sparse linear system, solved by SuperLU: an oracle for tracing.

Unknown is the label of every store at the end of every step. It is written with numpy and scipy
from the equation of a step, and shares no code with the package.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from scipy.sparse import csc_array
from scipy.sparse.linalg import SuperLU, splu


@dataclass
class SpaceTime:
    """Arrays of a record without members."""

    volume: np.ndarray
    moved: np.ndarray
    days: np.ndarray
    source: np.ndarray
    target: np.ndarray

    @classmethod
    def of(cls, record: xr.Dataset) -> SpaceTime:
        where = {name: k for k, name in enumerate(record["store"].values)}
        days = np.diff(record["edge"].values) / np.timedelta64(1, "D")
        source, target = (
            np.array([where.get(name, -1) for name in record[end].values])
            for end in ("source", "target")
        )
        moved = record["rate"].values * days[:, None]
        return cls(record["volume"].values, moved, days, source, target)

    def factored(self, through: np.ndarray) -> SuperLU:
        """The whole system, with the flows of `through` handing their label on."""
        steps, stores = self.volume.shape[0] - 1, self.volume.shape[1]
        diagonal = self.volume[1:].copy()
        for flow in np.flatnonzero(self.source >= 0):
            diagonal[:, self.source[flow]] += self.moved[:, flow]
        diagonal[diagonal == 0] = 1.0
        every = np.arange(steps * stores)
        inner = np.flatnonzero((self.source >= 0) & (self.target >= 0) & through)
        base = stores * np.arange(steps)[:, None]
        rows = [every, every[stores:], (base + self.target[inner]).ravel()]
        columns = [every, every[:-stores], (base + self.source[inner]).ravel()]
        values = [diagonal.ravel(), -self.volume[1:-1].ravel(), -self.moved[:, inner].ravel()]
        matrix = csc_array(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
            shape=(len(every),) * 2,
        )
        return splu(matrix)

    def entering(self, amount: np.ndarray) -> np.ndarray:
        """Label brought into every store by an amount per flow, or per step and flow."""
        given = np.zeros((len(self.moved), self.volume.shape[1]))
        for flow in np.flatnonzero(self.target >= 0):
            given[:, self.target[flow]] += (self.moved * amount)[:, flow]
        return given

    def uses(self, gate: np.ndarray, most: int) -> np.ndarray:
        """Shares by class 0 ... most, then unknown: shape (most + 2, time, store); no warm-up."""
        shut, whole = self.factored(~gate), self.factored(np.ones_like(gate))
        outside = self.source < 0
        passes = gate & ~outside
        first = np.zeros_like(self.volume[1:])
        first[0] = self.volume[0]
        unknown = shut.solve(first.ravel()).reshape(first.shape)
        classes: list[np.ndarray] = []
        for k in range(most + 1):
            amount = np.zeros_like(self.moved)
            if k < 2:
                amount += outside & (gate if k else ~gate)
            if k:
                lower = classes[-1] + (unknown if k == 1 else 0.0)
                amount += np.where(passes, lower[:, self.source], 0.0)
            solver = whole if k == most else shut
            classes.append(solver.solve(self.entering(amount).ravel()).reshape(first.shape))
        return np.array([*classes, unknown])

    def ages(self) -> np.ndarray:
        """Mean age, counted from the first edge: shape (time, store)."""
        grown = self.volume[:-1] * self.days[:, None]
        whole = self.factored(np.ones(len(self.source), dtype=bool))
        return whole.solve(grown.ravel()).reshape(grown.shape)

    def last_passes(self, gate: np.ndarray, step: int, store: int) -> np.ndarray:
        """Share of a glass by step of its last pass: the transposed solve."""
        drawn = np.zeros_like(self.volume[1:])
        drawn[step, store] = 1.0
        weight = self.factored(~gate).solve(drawn.ravel(), trans="T").reshape(drawn.shape)
        return (self.moved * weight[:, self.target] * gate)[: step + 1].sum(axis=1)[::-1]
