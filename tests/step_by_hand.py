"""A step of a water record worked out anew, store by store, from the volumes at its start and from
what the record says flows in. Written from the pages *How a day is worked out* and *From rain to
river* and from the equations in the reference, in plain Python, without the code that is tested."""

from __future__ import annotations

from math import exp, log

import numpy as np
import xarray as xr

from hydroloop.scenario import Scenario

MILE_KM = 1.609344
USES = ("toilets", "baths", "taps", "laundry")


class Steps:
    """A record and its scenario, read by names."""

    def __init__(self, record: xr.Dataset, scenario: Scenario) -> None:
        self.record, self.scenario = record, scenario
        self.dt = scenario.season.step
        self.per_day = round(1.0 / self.dt)
        self.stores = {name: k for k, name in enumerate(record["store"].values)}
        self.volumes, self.rates = record["volume"].values, record["rate"].values
        self.ends = list(zip(record["source"].values, record["target"].values, strict=True))
        self.kinds = record["kind"].values
        self.rain = record["rain_mm"].values
        self.reference = record["et0_mm"].values
        self.open_water = 1.05 * self.reference  # generated weather: 1.05 times reference
        by_day = record["tmean_c"].values.reshape(-1, self.per_day).mean(axis=1)
        self.mean_c = np.repeat(by_day, self.per_day)

    def held(self, store: str, t: int) -> float:
        """Volume at the start of a step; 0 of a store that is not there [m3]."""
        return float(self.volumes[t, self.stores[store]]) if store in self.stores else 0.0

    def flow(self, source: str, target: str, t: int, *, kind: str = "") -> float:
        """What the record says flows from one to the other [m3/d]."""
        return self._sum(t, lambda a, b, of: (a, b) == (source, target) and kind in ("", of))

    def into(self, store: str, t: int) -> float:
        """All that flows in but rain [m3/d]."""
        return self._sum(t, lambda _, b, of: b == store and of != "rain")

    def out(self, store: str, t: int, *kinds: str) -> float:
        """What flows out, of these kinds [m3/d]."""
        return self._sum(t, lambda a, _, of: a == store and of in kinds)

    def _sum(self, t: int, is_meant) -> float:
        rows = zip(self.rates[t], self.ends, self.kinds, strict=True)
        return float(sum(rate for rate, (a, b), kind in rows if is_meant(a, b, kind)))

    def first_of_day(self, t: int) -> int:
        return t - t % self.per_day

    def wet_mm(self, place: str, area: float, t: int) -> tuple[float, float, float]:
        """Snow that falls, rain, and melt [mm]: all snow at 0, none at 2 degC, between them in
        proportion; 4 mm melt a day and degree, as far as there is snow."""
        falls = min(1.0, max(0.0, (2.0 - self.mean_c[t]) / 2.0)) * self.rain[t]
        lies = falls + 1000.0 * self.held(f"{place}/snow", t) / area
        return falls, self.rain[t] - falls, min(lies, 4.0 * max(0.0, self.mean_c[t]) * self.dt)

    def soil(self, store: str, t: int, area: float, total: float, numbers) -> dict[str, float]:
        """Runoff, evaporation and percolation of soil [m3/d], and what it then holds [m3]."""
        depth_mm, number, crop = numbers
        place, capacity = store.split("/")[0], depth_mm / 1000.0 * area
        begins = self.first_of_day(t)
        number = _moist(number, min(1.0, self.held(store, begins) / capacity))
        wet = [sum(self.wet_mm(place, total, s)[1:]) for s in range(begins, t + 1)]
        runoff_mm = _runoff_mm(sum(wet), number) - _runoff_mm(sum(wet[:-1]), number)
        to_rate, held = area / 1000.0 / self.dt, self.held(store, t)
        enters = (wet[-1] - runoff_mm) * to_rate
        asked = crop * self.reference[t] * to_rate
        evaporates = min(min(1.0, 2.0 * held / capacity) * asked, held / self.dt)
        half = (1.0 - min(1.0, held / capacity) ** 3) * enters - evaporates
        wetness = min(1.0, (held + half * self.dt / 2.0) / capacity)
        passes = wetness**3 * enters
        over = held / self.dt + enters - passes - evaporates - capacity / self.dt
        passes += max(0.0, over)
        after = held + self.dt * (enters - evaporates - passes)
        return {
            "runs off": runoff_mm * to_rate,
            "evaporates": evaporates,
            "passes": passes,
            "after": after,
        }


def _moist(number: float, wetness: float) -> float:
    """Chow, Maidment & Mays 1988: 4.2 N / (10 - 0.058 N) dry, 23 N / (10 + 0.13 N) wet."""
    dry, wet = 4.2 * number / (10 - 0.058 * number), 23 * number / (10 + 0.13 * number)
    return float(np.interp(wetness, [0.0, 0.5, 1.0], [dry, number, wet]))


def _runoff_mm(rain: float, number: float) -> float:
    """TR-55: (P - 0.2 S)^2 / (P + 0.8 S) with S = 25,400 / N - 254 mm."""
    stays = 25_400.0 / number - 254.0
    return max(0.0, rain - 0.2 * stays) ** 2 / (rain + 0.8 * stays)


def ground(steps: Steps, place: str, t: int, numbers) -> dict[str, float]:
    """Two linear stores: what the subsoil and groundwater above the drained level hand on."""
    land, drained, infiltration, mean = numbers
    dt, held = steps.dt, steps.held(f"{place}/groundwater", t)
    leaves = (1.0 - exp(-dt / land.interflow_recession)) / dt * steps.held(f"{place}/subsoil", t)
    to_river, to_sewers = 1.0 / land.recession, infiltration / mean if mean else 0.0
    both = to_river + to_sewers
    drains = max(0.0, held - drained) * (1.0 - exp(-dt * both)) / dt
    return {
        "interflow": land.interflow_share * leaves,
        "recharge": (1.0 - land.interflow_share) * leaves,
        "baseflow": drains * to_river / both,
        "infiltration": drains * to_sewers / both,
    }


def streams(steps: Steps, place: str, t: int, area_km2: float) -> float:
    """A linear store with even inflow; k = A^0.2 / ln 10, A in square miles [m3/d]."""
    k = (area_km2 / MILE_KM**2) ** 0.2 / log(10.0)
    arrives, held = steps.into(f"{place}/streams", t), steps.held(f"{place}/streams", t)
    return arrives + (held - k * arrives) * (1.0 - exp(-steps.dt / k)) / steps.dt


def reach(steps: Steps, store: str, t: int, numbers) -> tuple[float, float, float, float]:
    """Rain and evaporation [m3/d], and both sides of K Q^(1 - b) + dt Q = A [m3]."""
    length_km, width_m, speed, reference, b = numbers
    dt, area = steps.dt, length_km * 1000.0 * width_m
    rain = steps.rain[t] / 1000.0 * area / dt
    water = steps.held(store, t) + dt * (steps.into(store, t) + rain)
    evaporates = min(steps.open_water[t] / 1000.0 * area, water / 2.0) / dt
    leaves = steps.out(store, t, "river", "downstream", "intake")
    factor = length_km * 1000.0 / (speed * 86_400.0) * reference**b
    return rain, evaporates, factor * leaves ** (1.0 - b) + dt * leaves, water - dt * evaporates


def reservoir(steps: Steps, name: str, t: int) -> dict[str, float]:
    """A valley with straight slopes: its surface, release and spill."""
    dam, store, dt = steps.scenario.reservoir[name], f"{name}/reservoir", steps.dt
    held = steps.held(store, t)
    area = dam.area * 1e6 * (held / dam.capacity) ** (2.0 / 3.0)
    evaporates = min(steps.open_water[t] / 1000.0 * area, held / 2.0) / dt
    above = (held - dam.dead_storage * dam.capacity) / dt - evaporates
    releases = min(dam.release, max(0.0, above))
    rain = steps.rain[t] / 1000.0 * area / dt
    comes = steps.into(store, t) + rain
    goes = evaporates + releases + steps.out(store, t, "intake")
    return {
        "rain": rain,
        "evaporation": evaporates,
        "release": releases,
        "spill": max(0.0, held + dt * (comes - goes) - dam.capacity) / dt,
        "left": max(0.0, above - releases),
    }
