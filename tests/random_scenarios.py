"""Random towns, rivers and weather, some absurd, to see whether the account still closes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from hydroloop.scenario.schema import ScenarioFile
from hydroloop.waterworks.demand import hourly_factors
from hydroloop.waterworks.layout import Series
from hydroloop.waterworks.minimum_flow import town_minimum_flows
from hydroloop.waterworks.stepping import run_season
from hydroloop.waterworks.whole_network import Works, draw_works


@dataclass(frozen=True)
class Run:
    """A random scenario and what came of it; the spare store and flow are cut off."""

    scenario: ScenarioFile
    works: Works
    dt: float
    volume: np.ndarray
    rate: np.ndarray
    demand: np.ndarray
    spare: float

    @property
    def names(self) -> list[str]:
        return self.works.ledger.stores

    def in_and_out(self) -> tuple[np.ndarray, np.ndarray]:
        """Inflow and outflow of every store, (time, store) [m3/d]."""
        ledger = self.works.ledger
        shape = (len(self.rate), len(ledger.stores) + 1)
        inflow, outflow = np.zeros(shape), np.zeros(shape)
        for flow, (source, target) in enumerate(zip(ledger.sources, ledger.targets, strict=True)):
            outflow[:, source] += self.rate[:, flow]
            inflow[:, target] += self.rate[:, flow]
        return inflow[:, :-1], outflow[:, :-1]


def random_run(rng: np.random.Generator, steps: int = 40) -> Run:
    """One random scenario, run."""
    scenario = random_scenario(rng)
    dt = float(rng.choice([1.0, 0.25, 1.0 / 24.0]))
    sky = _random_sky(rng, steps, dt)
    flows = {
        name: float(rng.choice([0.0, 1.0, 1.0])) * rng.gamma(0.7, 1.0, steps) * 2e5
        for name, river in scenario.river.items()
        if river.inflow is not None
    }
    gains = {
        name: rng.gamma(0.7, 1.0, steps) * 5e4
        for name, river in scenario.river.items()
        if river.lateral_inflow is not None
    }
    works = draw_works(scenario, flows, float(sky[:, 0].mean()) / dt, None, gains)
    head, lateral = (
        np.column_stack([given.get(name, np.zeros(steps)) for name in scenario.river])
        for given in (flows, gains)
    )
    release = np.tile([np.ravel(dam.release)[0] for dam in scenario.reservoir.values()], (steps, 1))
    factors = np.column_stack(hourly_factors(steps, dt))
    begins = np.arange(steps) % max(1, round(1.0 / dt)) == 0
    rivers = {name: np.full(steps, river.minimum_flow) for name, river in scenario.river.items()}
    minimum = town_minimum_flows(scenario.town, rivers)
    volume, rate, demand, *_ = run_season(
        works.tables,
        Series(
            sky, head, lateral, release.reshape(steps, -1).astype(float), factors, begins, minimum
        ),
        works.ends,
        np.array(works.ledger.volumes),
        dt,
    )
    spare = float(np.abs(volume[:, -1]).max() + np.abs(rate[:, -1]).max())
    return Run(scenario, works, dt, volume[:, :-1], rate[:, :-1], demand, spare)


def _random_sky(rng: np.random.Generator, steps: int, dt: float) -> np.ndarray:
    rain = np.where(rng.random(steps) < 0.4, rng.gamma(0.6, 15.0, steps), 0.0) * dt
    temperature = rng.normal(rng.uniform(-8.0, 25.0), 5.0, steps)
    reference = rng.uniform(0.0, 9.0, steps) * dt
    return np.column_stack([rain, temperature, reference, 1.1 * reference])


def random_scenario(rng: np.random.Generator) -> ScenarioFile:
    """A main river with tributaries, reservoirs, shared groundwater and up to five towns."""
    rivers = {"main": _river(rng, 100.0)}
    for number in range(rng.integers(0, 3)):
        rivers[f"side{number}"] = _river(rng, 30.0) | {
            "joins": "main",
            "joins_at": f"{rng.integers(1, 100)} km",
        }
    dams = {f"dam{i}": _dam(rng, 10.0 + 37.0 * i) for i in range(rng.integers(0, 3))}
    aquifers = {
        "gravel": {
            "area": f"{rng.uniform(0.01, 50):.4f} km2",
            "river": "main",
            "at": f"{rng.integers(0, 101)} km",
            "storage": "300 mm",
        }
    }
    towns = {f"town{i}": _town(rng, list(rivers), list(dams)) for i in range(rng.integers(1, 6))}
    return ScenarioFile.model_validate(
        {
            "title": "random",
            "season": {"start": date(2031, 1, 1), "end": date(2031, 1, 1)},
            "river": rivers,
            "reservoir": dams,
            "aquifer": aquifers,
            "town": towns,
        }
    )


def _river(rng: np.random.Generator, length: float) -> dict:
    made: dict = {
        "length": f"{length} km",
        "minimum_flow": f"{rng.choice([0.0, 0.1, 2.0])} m3/s",
        "cell": f"{rng.choice([3.0, 20.0, 80.0])} km",
    }
    if rng.random() < 0.3:
        made["catchment"] = f"{rng.uniform(0.1, 500.0):.3f} km2"
    else:
        made["inflow"] = "1 m3/s"
    how = rng.random()
    if how < 0.3:
        made["lateral_inflow"] = "1 m3/s"
    elif how < 0.6:
        made |= {"catchment": "300 km2", "catchment_at_end": f"{rng.uniform(300, 900):.0f} km2"}
    return made


def _dam(rng: np.random.Generator, at: float) -> dict:
    return {
        "river": "main",
        "at": f"{at} km",
        "capacity": f"{rng.uniform(1e3, 1e7):.0f} m3",
        "area": f"{rng.uniform(0.001, 5.0):.4f} km2",
        "start": f"{rng.uniform(0, 100):.1f} %",
        "release": f"{rng.uniform(0.0, 5.0):.3f} m3/s",
    }


def _town(rng: np.random.Generator, rivers: list[str], dams: list[str]) -> dict:
    def place() -> dict:
        river = str(rng.choice(rivers))
        return {"river": river, "at": f"{rng.integers(0, 101 if river == 'main' else 31)} km"}

    people = int(10 ** rng.uniform(1.5, 5.5))
    made: dict = {
        "people": people,
        "outfall": place(),
        "homes": {
            "septic": f"{rng.choice([0, 0, 40, 100])} %",
            "consumed": f"{rng.integers(0, 30)} %",
        },
        "mains": {"real_losses": f"{rng.integers(0, 50)} %"},
        "tanks": {
            "start": f"{rng.integers(0, 101)} %",
            "volume": f"{rng.uniform(1, 500) * people / 1e3:.3f} m3",
        },
        "plant": {
            "backwash_to": str(rng.choice(["sewer", "river", "plant"])),
            "sludge": f"{rng.choice([0.0, 0.5])} %",
            "backwash": f"{rng.choice([0.0, 5.0])} %",
        },
        "sewers": {"kind": str(rng.choice(["separate", "combined"]))},
        "yards": {"area_per_person": f"{rng.choice([0, 40, 900])} m2"},
    }
    if rng.random() < 0.5:
        made["storm_outlet"] = place()
    if rng.random() < 0.8:
        made["intake"] = (
            {"reservoir": str(rng.choice(dams))} if dams and rng.random() < 0.3 else place()
        )
    if rng.random() < 0.4 or "intake" not in made:
        made["wells"] = {"capacity": f"{people * rng.uniform(0.05, 2.0):.1f} m3/day"}
        if rng.random() < 0.5:
            made["wells"]["aquifer"] = "gravel"
    if rng.random() < 0.5:
        made["land"] = {"aquifer": "gravel", "paved": f"{rng.integers(0, 101)} %"}
    if rng.random() < 0.3:
        made["imported"] = f"{people * 0.3:.1f} m3/day"
    if rng.random() < 0.4:
        made["reuse"] = {
            route: f"{people * rng.uniform(0.0, 0.4):.1f} m3/day"
            for route in ("yards", "groundwater", "plant")
        }
        if dams:
            made["reuse"] |= {
                "reservoir": f"{people * 0.1:.1f} m3/day",
                "into": str(rng.choice(dams)),
            }
    return made
