"""Records made up at random, and a basin of like towns: all of them close by construction.

In every step each store lets go of a share of all the water that it had or received. What it lets
go is split among its flows by fixed weights. One linear system then gives every rate, and nothing
can become negative, whatever the network: loops, stores that run empty, stores without volume.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from scipy.sparse import csc_array, identity
from scipy.sparse.linalg import splu

from hydroloop.record import Network, build_record, edges_of


@dataclass
class Letting:
    """Shares let go by each store, weights of the flows, and inflows over the boundary.

    ``share`` (time, store) and ``inflow`` (time, flow), which is zero for flows that leave a store.
    """

    network: Network
    share: np.ndarray
    weight: np.ndarray
    inflow: np.ndarray
    first: np.ndarray

    def record(
        self,
        *,
        days: float = 1.0,
        constant: bool = False,
        start: str = "2031-01-01",
        keep: int | None = None,
    ) -> xr.Dataset:
        """Run it, keep the last steps, and build the record."""
        volume, rate = self.run(days, constant)
        if keep is not None:
            volume, rate = volume[-keep - 1 :], rate[-keep:]
        return build_record(self.network, edges_of(start, len(rate), days), volume, rate)

    def run(self, days: float, constant: bool) -> tuple[np.ndarray, np.ndarray]:
        """Volumes and rates; with `constant` shares the system is factored only once."""
        tail, head = ends(self.network)
        stores, flows = len(self.network.stores), len(tail)
        leaves, enters = tail >= 0, head >= 0
        inner = leaves & enters
        volume, rate = [self.first], []
        solver = None
        for t in range(len(self.share)):
            share = self.share[t]
            if solver is None or not constant:
                part = self.weight * share[tail] * inner
                moved = csc_array((part[inner], (head[inner], tail[inner])), shape=(stores, stores))
                solver = splu((identity(stores) - moved).tocsc())
            outer = np.bincount(head[enters], self.inflow[t, enters], stores)
            total = solver.solve(volume[-1] / days + outer)
            q = np.where(leaves, self.weight * (share * total)[tail], self.inflow[t])
            into = np.bincount(head[enters], q[enters], stores)
            out = np.bincount(tail[leaves], q[leaves], stores)
            after = np.maximum(volume[-1] + days * (into - out), 0.0)
            # What rounding leaves in a store that lets go of everything is no water.
            volume.append(np.where(share == 1.0, 0.0, after))
            rate.append(q)
        return np.array(volume), np.array(rate).reshape(len(rate), flows)


def ends(network: Network) -> tuple[np.ndarray, np.ndarray]:
    """Store that each flow leaves and enters, -1 for a boundary."""
    where = {name: k for k, name in enumerate(network.stores)}
    return tuple(np.array([where.get(n, -1) for n in e]) for e in (network.source, network.target))


def random_record(
    seed: int, *, stores: int = 6, steps: int = 8, days: float = 1.0, members: int = 0
) -> xr.Dataset:
    """A random network with loops in random weather; some stores have no volume, some run dry."""
    rng = np.random.default_rng(seed)
    network = random_network(rng, stores)
    runs = [_random_letting(rng, network, steps).run(days, False) for _ in range(max(1, members))]
    volume, rate = (np.stack(parts, axis=-1) for parts in zip(*runs, strict=True))
    if not members:
        volume, rate = volume[..., 0], rate[..., 0]
    return build_record(network, edges_of("2031-01-01", steps, days), volume, rate)


def random_network(rng: np.random.Generator, stores: int) -> Network:
    """Every store has a way out; pairs are joined at random, in both directions and twice too."""
    names = [f"town_{k % 2}/part_{k}" for k in range(stores)]
    flows = [(name, "sky" if rng.random() < 0.5 else "downstream", "evaporation") for name in names]
    for name in names:
        if rng.random() < 0.6 or name == names[0]:
            flows.append(("rain" if rng.random() < 0.5 else "upstream", name, "rain"))
    for a in names:
        for b in names:
            if a != b and rng.random() < 2.2 / stores:
                flows.append((a, b, "home_use" if rng.random() < 0.35 else "river"))
                if rng.random() < 0.1:
                    flows.append((a, b, "leak"))
    if not any(kind == "home_use" for _, _, kind in flows):
        flows.append((names[0] if stores > 1 else "import", names[-1], "home_use"))
    rng.shuffle(flows)
    source, target, kind = (list(map(str, column)) for column in zip(*flows, strict=True))
    return Network(names, source, target, kind)


def _random_letting(rng: np.random.Generator, network: Network, steps: int) -> Letting:
    tail, _ = ends(network)
    stores, flows = len(network.stores), len(tail)
    # A store lets go of nothing, of a part, or of everything; some of them for the whole record.
    share = rng.choice([0.0, 1.0, -1.0], p=[0.15, 0.2, 0.65], size=(steps, stores))
    share = np.where(share < 0, rng.random((steps, stores)), share)
    share[:, rng.random(stores) < 0.2] = 1.0
    weight = np.where(rng.random(flows) < 0.1, 0.0, rng.random(flows))
    outlet = np.array([t not in network.stores for t in network.target])
    weight[outlet] = 0.05 + rng.random(outlet.sum())
    total = np.bincount(tail[tail >= 0], weight[tail >= 0], stores)
    weight = np.where(tail >= 0, weight / total[tail], 0.0)
    wet = rng.random((steps, flows)) < 0.7
    inflow = np.where((tail < 0) & wet, rng.exponential(10.0, (steps, flows)), 0.0)
    first = np.where(rng.random(stores) < 0.3, 0.0, rng.exponential(20.0, stores))
    return Letting(network, share, weight, inflow, first)


# store of a town: turnover time [d]; zero passes everything on at once
_TOWN = {
    "reach_1": 0.3,
    "reach_2": 0.4,
    "rapid_mix": 0.0,
    "flocculation": 0.02,
    "sedimentation": 0.15,
    "filters": 0.01,
    "clearwell": 0.3,
    "tanks": 1.0,
    "mains": 0.5,
    "toilets": 0.0,
    "baths": 0.0,
    "taps": 0.0,
    "yards": 0.0,
    "workplaces": 0.0,
    "sewers": 0.3,
    "primary": 0.1,
    "aeration": 0.4,
    "final_settling": 0.2,
    "contact": 0.02,
    "soil": 60.0,
    "groundwater": 700.0,
    "storm_drains": 0.1,
}

# source, target, kind, weight; "next" is the first reach of the next town down the river
_FLOWS = (
    ("reach_1", "reach_2", "river", 1.0),
    ("reach_2", "rapid_mix", "intake", 0.2),
    ("reach_2", "next", "river", 0.8),
    ("rapid_mix", "flocculation", "treatment", 1.0),
    ("flocculation", "sedimentation", "treatment", 1.0),
    ("sedimentation", "filters", "treatment", 1.0),
    ("filters", "clearwell", "treatment", 0.96),
    ("filters", "rapid_mix", "backwash", 0.04),
    ("clearwell", "tanks", "supply", 1.0),
    ("tanks", "mains", "supply", 1.0),
    ("mains", "toilets", "home_use", 0.15),
    ("mains", "baths", "home_use", 0.2),
    ("mains", "taps", "home_use", 0.25),
    ("mains", "yards", "yard_use", 0.1),
    ("mains", "workplaces", "work_use", 0.15),
    ("mains", "groundwater", "leak", 0.15),
    ("toilets", "sewers", "sewage", 1.0),
    ("baths", "sewers", "sewage", 1.0),
    ("taps", "sewers", "sewage", 1.0),
    ("workplaces", "sewers", "sewage", 1.0),
    ("yards", "soil", "recharge", 1.0),
    ("sewers", "primary", "sewage", 1.0),
    ("primary", "aeration", "treatment", 1.0),
    ("aeration", "final_settling", "treatment", 1.0),
    ("final_settling", "contact", "treatment", 1.0),
    ("contact", "next", "outfall", 1.0),
    ("soil", "sky", "evaporation", 0.7),
    ("soil", "groundwater", "recharge", 0.3),
    ("groundwater", "reach_1", "baseflow", 1.0),
    ("storm_drains", "next", "stormwater", 1.0),
    ("rain", "soil", "rain", 0.0),
    ("rain", "storm_drains", "rain", 0.0),
)


def basin(towns: int = 5, *, steps: int = 365, seed: int = 1) -> xr.Dataset:
    """Towns along one river, 22 stores and 32 flows each: five of them make 111 and 162."""
    return basin_letting(towns, steps, seed).record(constant=True, keep=steps)


def basin_letting(towns: int, steps: int, seed: int) -> Letting:
    """The basin, with a year of lead so that its stores are filled."""
    rng = np.random.default_rng(seed)
    stores = [f"town_{k}/{part}" for k in range(towns) for part in _TOWN] + ["sea/reach_1"]
    flows = [
        ("upstream", "town_0/reach_1", "upstream", 0.0),
        ("sea/reach_1", "downstream", "river", 1.0),
    ]
    for k in range(towns):
        below = f"town_{k + 1}/reach_1" if k + 1 < towns else "sea/reach_1"
        for a, b, kind, weight in _FLOWS:
            a, b = (
                below if name == "next" else f"town_{k}/{name}" if name in _TOWN else name
                for name in (a, b)
            )
            flows.append((a, b, kind, weight))
    source, target, kind, weight = (list(column) for column in zip(*flows, strict=True))
    network = Network(stores, source, target, kind)
    turnover = np.array([*[tau for _ in range(towns) for tau in _TOWN.values()], 0.3])
    total = 365 + steps
    share = np.broadcast_to(1.0 / (1.0 + turnover), (total, len(stores)))
    season = 1.0 + 0.6 * np.sin(2 * np.pi * np.arange(total) / 365)
    inflow = np.zeros((total, len(flows)))
    inflow[:, 0] = 1e5 * season * rng.lognormal(0.0, 0.3, total)
    wet = rng.random(total) < 0.3
    for column, (a, b) in enumerate(zip(source, target, strict=True)):
        if a == "rain":
            size = 6e4 if b.endswith("soil") else 1e4
            inflow[:, column] = size * wet * rng.exponential(1.0, total)
    first = turnover * 1e4
    return Letting(network, share, np.array(weight), inflow, first)
