"""The figures of an answer worked out again from the record alone, with numpy and scipy.

Labels come from one sparse system over the whole season (`space_time`), water from sums over the
flows by their kinds. Nothing of the package is used but the record and the scenario's people.
"""

from __future__ import annotations

import numpy as np
import xarray as xr
from scipy.sparse.linalg import SuperLU
from space_time import SpaceTime

GATES = {
    "through a home": ("home_use",),
    "through a home or workplace": ("home_use", "work_use"),
    "through a toilet": ("home_use", "work_use"),
    "through a wastewater plant": (),
}
_WORKS = {
    "water plant": ("rapid_mix", "flocculation", "sedimentation", "filters", "clearwell"),
    "storage tanks": ("tanks",),
    "mains": ("mains",),
    "sewers": ("sewers",),
    "wastewater plant": ("primary", "aeration", "final_settling", "contact", "effluent_pond"),
    "groundwater": ("groundwater",),
}


class Oracle:
    """A record of one season, as plain arrays.

    Parameters
    ----------
    record : xarray.Dataset
        Water record without members, warmed up by repeating it, or not at all.
    """

    def __init__(self, record: xr.Dataset):
        self.record, self.system = record, SpaceTime.of(record)
        self.days, self.moved = self.system.days, self.system.moved
        self.rate = record["rate"].values
        self.kind = record["kind"].values.astype(str)
        place, role = (
            np.array([*record[name].values, ""], dtype=str) for name in ("place", "role")
        )
        self.place, self.role = place[:-1], role[:-1]
        source, target = self.system.source, self.system.target
        self.from_place, self.to_place = place[source], place[target]
        self.from_role, self.to_role = role[source], role[target]
        self._entering = self.system.entering(np.ones(len(self.kind)))
        self._every = np.ones(len(self.kind), dtype=bool)
        self._solved: dict[bytes, tuple[SuperLU, np.ndarray | None]] = {}

    def gate(self, through: str) -> np.ndarray:
        """Flows that are one use."""
        if kinds := GATES[through]:
            mask = np.isin(self.kind, kinds)
            return (
                mask & np.isin(self.to_role, ("toilets", "work_toilets"))
                if ("toilet" in through)
                else mask
            )
        return (self.kind == "outfall") | (
            (self.kind == "reclaimed") & (self.from_role != "reclaimed")
        )

    def into(self, town: str) -> np.ndarray:
        """Flows of tap water into a town's homes."""
        return (self.kind == "home_use") & (self.from_place == town)

    def _settled(self, through: np.ndarray, entering: np.ndarray) -> np.ndarray:
        """Label that enters, and that some flows hand on, at the end of every step, (time, store),
        with the season's past."""
        shape = self.system.volume[1:].shape
        if (key := through.tobytes()) not in self._solved:
            solver = self.system.factored(through)
            self._solved[key] = solver, self._kept(solver)
        solver, kept = self._solved[key]
        label = solver.solve(entering.ravel()).reshape(shape)
        if kept is None:
            return label
        # The first label is the last that a store had: one linear system of the stores. What only
        # keeps what it began with stays unknown.
        stores = np.arange(shape[1])
        wet = self.system.volume[:-1] + self._entering > 0.0
        last = np.where(wet.any(axis=0), shape[0] - 1 - wet[::-1].argmax(axis=0), 0)
        again = kept[last, stores]
        again[np.diag(again) > 1.0 - 1e-12] = 0.0
        begun = np.linalg.solve(np.eye(len(stores)) - again, label[last, stores])
        return label + kept @ begun

    def _kept(self, solver: SuperLU) -> np.ndarray | None:
        """What is left in every store of what stood in each at first, (time, store, store); None
        where the season has no past."""
        if str(self.record.attrs["warm_up"]) == "none":
            return None
        steps, stores = self.system.volume[1:].shape
        first = np.zeros((steps, stores, stores))
        first[0] = np.diag(self.system.volume[0])
        return solver.solve(first.reshape(-1, stores)).reshape(first.shape)

    def _above(self, through: str) -> np.ndarray:
        """Shares of boundary inflows by uses before the map, (flow, earlier)."""
        if "used_before" not in self.record or "toilet" in through:
            return np.ones((len(self.kind), 1))
        given = self.record["used_before"].transpose("flow", "earlier_use")
        shares = np.zeros((len(self.kind), int(given["earlier_use"].max()) + 1))
        shares[:, given["earlier_use"].values] = given.values
        shares[:, 0] += 1.0 - shares.sum(axis=1)
        return shares

    def used_share(self, through: str) -> np.ndarray:
        """Share of each store's water that is known to have passed a gate, (time, store)."""
        gate, outside = self.gate(through), self.system.source < 0
        amount = np.where(outside, 1.0 - self._above(through)[:, 0], 0.0)
        return self._settled(~gate, self.system.entering(np.where(gate, 1.0, amount)))

    def known(self, through: str) -> np.ndarray:
        """Share of each store's water that came over a boundary or passed a gate, (time, store)."""
        gate = self.gate(through)
        return self._settled(~gate, self.system.entering((gate | (self.system.source < 0)) * 1.0))

    def last_used_in(self, town: str) -> np.ndarray:
        """Share of each store's water that was last used in a town's homes, (time, store)."""
        gate = self.gate("through a home")
        return self._settled(~gate, self.system.entering((gate & (self.from_place == town)) * 1.0))

    def mean_uses(self) -> np.ndarray:
        """Mean number of passes through homes, (time, store)."""
        above = self._above("home")
        earlier = np.where(self.system.source < 0, above @ np.arange(above.shape[1]), 0.0)
        return self._settled(
            self._every, self.system.entering(earlier + self.gate("through a home"))
        )

    def dye(self, flows: np.ndarray) -> np.ndarray:
        """Share of each store's water that ever ran in some flows, (time, store)."""
        return self._settled(~flows, self.system.entering(flows.astype(float)))

    def mixed(self, label: np.ndarray, flows: np.ndarray) -> float:
        """Mean over the season of the water in some flows of one label; nan without water."""
        drawn = self.moved[:, flows]
        inner = self.system.source[flows]
        total = drawn.sum()
        return float((drawn * label[:, inner]).sum() / total) if total > 0 else np.nan

    def daily(self, label: np.ndarray, flows: np.ndarray) -> np.ndarray:
        """The same step by step."""
        drawn = self.moved[:, flows]
        with np.errstate(invalid="ignore"):
            return (drawn * label[:, self.system.source[flows]]).sum(axis=1) / drawn.sum(axis=1)

    def mean(self, flows: np.ndarray) -> float:
        """Mean flow over the season [m3/d]."""
        return float(self.moved[:, flows].sum() / self.days.sum())

    def turnover(self, town: str, part: str) -> float:
        """Mean volume over the larger of inflow and outflow, added up over a part's stores [d]."""
        own = np.flatnonzero((self.place == town) & np.isin(self.role, _WORKS[part]))
        if not len(own):
            return np.nan
        volume, stay = self.system.volume, 0.0
        for store in own:
            mean = ((volume[1:, store] + volume[:-1, store]) / 2 * self.days).sum()
            through = max(
                self.moved[:, end == store].sum()
                for end in (self.system.source, self.system.target)
            )
            stay += mean / through if through > 0 else np.nan
        return float(stay)

    def short(self, town: str) -> np.ndarray:
        """Water asked for and not delivered, (time, purpose) [m3/d]."""
        asked = self.record["demand"].sel(town=town).transpose("time", "purpose").values
        flows = (
            self.into(town),
            (self.kind == "work_use") & (self.to_place == town),
            np.isin(self.kind, ("yard_use", "reclaimed"))
            & (self.to_place == town)
            & (self.to_role == "yards"),
        )
        came = np.stack([self.rate[:, part].sum(axis=1) for part in flows], axis=1)
        lack = asked - came
        return np.where(lack > 1e-9 * asked, lack, 0.0)

    def account(self, place: str) -> tuple[float, float, float]:
        """In, out and change of store of a place, or of everything [m3]."""
        is_whole = place == "whole map"
        here = np.ones(len(self.place), dtype=bool) if is_whole else self.place == place
        at = np.append(here, False)
        enters, leaves = at[self.system.target], at[self.system.source]
        total = self.moved.sum(axis=0)
        change = (self.system.volume[-1] - self.system.volume[0])[here].sum()
        return total[enters & ~leaves].sum(), total[leaves & ~enters].sum(), float(change)
