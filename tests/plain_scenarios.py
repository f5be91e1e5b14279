"""Random scenarios of an ordinary kind: one to three towns on a river, some with a dam, another
river, wells, reuse, combined sewers, or used water from above. The same for the same seed."""

from __future__ import annotations

import numpy as np
import tomlkit

from hydroloop.scenario import Scenario, read_toml

NAMES = ("larkmill", "penhollow", "osselby")


def plain_scenario(seed: int) -> Scenario:
    """One random scenario."""
    rng = np.random.default_rng(seed)

    def perhaps(chance: float) -> bool:
        return bool(rng.random() < chance)

    start = np.datetime64(str(rng.choice(["2031-01-10", "2031-05-01", "2031-07-15"])))
    rivers = {"wren": {"length": "90 km", "inflow": f"{rng.uniform(0.1, 4):.2f} m3/s"}}
    if perhaps(0.3):
        rivers["wren"]["used_before"] = f"{rng.integers(1, 30)} %"
    if perhaps(0.4):
        rivers["fenlow"] = {
            "length": "20 km",
            "joins": "wren",
            "joins_at": "40 km",
            "catchment": f"{rng.integers(20, 200)} km2",
        }
    made: dict = {
        "title": "A place",
        "season": {
            "start": start.item(),
            "end": (start + int(rng.integers(15, 45))).item(),
            "step": str(rng.choice(["1 day", "1 day", "6 hour"])),
            "warm_up": str(rng.choice(["repeat", "repeat", "none"])),
            "run_up": str(rng.choice(["1 year", "0 day"])),
        },
        "weather": {
            "seed": int(rng.integers(1, 100)),
            "climate": str(rng.choice(["wet_winter", "dry_plateau"])),
        },
        "river": rivers,
        "town": {},
    }
    if perhaps(0.3):
        made["reservoir"] = {
            "mere": {
                "river": "wren",
                "at": "5 km",
                "area": "1 km2",
                "capacity": f"{rng.uniform(0.5, 8):.2f} hm3",
            }
        }
    for number in range(rng.integers(1, 4)):
        made["town"][NAMES[number]] = _town(rng, 10 + 25 * number, perhaps, "reservoir" in made)
    return read_toml(tomlkit.dumps(made))


def _town(rng: np.random.Generator, at: int, perhaps, has_dam: bool) -> dict:
    """A town with its intake and outfall along the river."""
    people = int(rng.integers(2_000, 60_000))
    town: dict = {
        "people": people,
        "outfall": {"river": "wren", "at": f"{at + 6} km"},
        "intake": {"reservoir": "mere"}
        if has_dam and perhaps(0.4)
        else {"river": "wren", "at": f"{at} km"},
    }
    if perhaps(0.3):
        town["wells"] = {"capacity": f"{people * 0.05:.0f} m3/day"}
    if perhaps(0.4):
        town["sewers"] = {"kind": "combined"}
    if perhaps(0.4):
        way = str(rng.choice(["yards", "plant", "groundwater"]))
        town["reuse"] = {way: f"{people * 0.1:.0f} m3/day"}
    if perhaps(0.3):
        town["intake"]["minimum_flow"] = "0.2 m3/s"
    return town
