"""The separation table of a town's plants: what each step catches, and what passes them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.measures import Mix, find_towns, season_mean, use_shares
from hydroloop.measures.materials import materials
from hydroloop.record import flow_mask
from hydroloop.scenario import Scenario
from hydroloop.tracing import as_counted, operator, uses_at

CAUGHT = ("particles", "iron", "manganese")
"""Materials that steps of a plant catch."""

ALUM_SOLIDS = 0.44
"""Dry solids from works alum, with the water bound in them; Cornwell et al., water-treatment
sludge, from memory [kg/kg]."""


@dataclass(frozen=True)
class Separation:
    """What the plants of one town take out, on average over the season."""

    caught: dict[str, dict[str, float]]  # for each step the catch of each material [kg/d]
    alum_solids: float  # solids that the alum itself adds to the sludge of the water plant [kg/d]
    at_tap: dict[str, float]  # mean concentration of each material at the tap [g/m3]
    salt_in_river: float  # salt of the river at its head [g/m3]
    used_share: float  # mean used share of the water at the tap [-]
    gap: float  # largest gap of the mass of any material in any step [-]


def separations(
    scenario: Scenario, record: xr.Dataset, towns: Sequence[str]
) -> dict[str, Separation]:
    """What each step of the towns' plants catches, and what passes: means of the season, by town.
    Every material is followed only once."""
    op = operator(record)
    taps = {town.name: town.taps for town in find_towns(op, towns) if town.name in towns}
    found = materials(record, op, taps, scenario)
    mix = Mix(op, list(taps.values()))
    uses, _ = uses_at(op, mix.stores, None, 1, warm_up=scenario.season.warm_up)
    used = use_shares(mix, uses, as_counted(op, None).used_before)["used_share"]
    mixed = flow_mask(record, from_role="rapid_mix")
    place = np.array([*op.places, ""])[op.source]
    raw = [float(op.water.rate[:, mixed & (place == town)].sum(axis=1).mean()) for town in towns]
    return {
        town: _of_town(
            scenario,
            found.isel(town=number),
            raw[number],
            used[:, number, 0],
            op.water.rate[:, taps[town], 0].sum(axis=1) * op.water.days,
        )
        for number, town in enumerate(towns)
    }


def _of_town(
    scenario: Scenario, found: xr.Dataset, raw: float, used: np.ndarray, volume: np.ndarray
) -> Separation:
    """One town; means over the season are weighted by the water that homes got."""
    names = [str(name) for name in found["material"].values]
    caught = found["caught"].transpose("step", "material", ...).values
    mean = season_mean(found["at_tap"].transpose("time", "material").values, volume[:, None])
    return Separation(
        caught={
            step: {name: float(row[names.index(name)]) for name in CAUGHT}
            for step, row in zip(found["step"].values.tolist(), caught, strict=True)
        },
        alum_solids=ALUM_SOLIDS * scenario.quality.alum_mg_per_l * raw / 1000.0,
        at_tap=dict(zip(names, mean.tolist(), strict=True)),
        salt_in_river=scenario.quality.salt_mg_per_l,
        used_share=float(season_mean(used, volume)),
        gap=float(found["mass_gap"].max()),
    )
