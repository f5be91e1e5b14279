"""The separation table of a town's plants: what each step catches, and what passes them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import xarray as xr

from hydroloop.measures import use_shares
from hydroloop.measures.materials import materials
from hydroloop.measures.season import season_mean
from hydroloop.plants.sludge import alum_sludge
from hydroloop.record import flow_mask, flow_total, step_days
from hydroloop.scenario import Scenario
from hydroloop.tracing import count_uses, operator

CAUGHT = ("particles", "iron", "manganese")
"""Materials that steps of a plant catch."""


@dataclass(frozen=True)
class Separation:
    """What the plants of one town take out, on the mean of the season.

    Attributes
    ----------
    caught : dict of dict
        For each step the catch of each material [kg/d].
    alum_solids : float
        Solids that the alum itself adds to the sludge of the water plant [kg/d].
    at_tap : dict
        Mean concentration of each material at the tap [g/m3].
    salt_in_river : float
        Salt of the river at its head [g/m3].
    used_share : float
        Mean used share of the water at the tap [-].
    gap : float
        Largest gap of the mass of any material in any step [-].
    """

    caught: dict[str, dict[str, float]]
    alum_solids: float
    at_tap: dict[str, float]
    salt_in_river: float
    used_share: float
    gap: float


def separation(scenario: Scenario, record: xr.Dataset, town: str) -> Separation:
    """What each step of a town's plants catches, and what passes.

    Particles and metals end in sludge; salt and used water pass every step. Removals are the
    scenario's plain shares (table `quality`), not a plant's own tests.

    Parameters
    ----------
    scenario : Scenario
        What was run.
    record : xarray.Dataset
        Its water record.
    town : str
        Name of the town.

    Returns
    -------
    Separation
        Means of the season.

    Raises
    ------
    AskError
        If an amount of the scenario is negative or no number.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> found = separation(scenario, hl.simulate(scenario), "larkmill")
    >>> found.caught["filters"]["particles"] > 0.0, found.gap < 1e-12
    (True, True)
    """
    return separations(scenario, record, [town])[town]


def separations(scenario: Scenario, record: xr.Dataset,
                towns: Sequence[str]) -> dict[str, Separation]:
    """The same for several towns, with every material followed only once.

    A class that compares its towns asks for all of them together.

    Parameters
    ----------
    scenario : Scenario
        What was run.
    record : xarray.Dataset
        Its water record.
    towns : sequence of str
        Names of towns, at least one.

    Returns
    -------
    dict of Separation
        Means of the season, by town.

    Raises
    ------
    AskError
        If an amount of the scenario is negative or no number.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> list(separations(scenario, hl.simulate(scenario), ["larkmill", "penhollow"]))
    ['larkmill', 'penhollow']
    """
    op = operator(record)
    taps = {town: flow_mask(record, kind="home_use", to_place=town) for town in towns}
    found = materials(record, op, taps, scenario)
    uses = count_uses(op, most=1, warm_up=scenario.season.warm_up)
    days = record["time"].copy(data=step_days(record))
    return {town: _of_town(scenario, record, found.sel(town=town),
                           use_shares(op, uses, taps[town])["used_share"],
                           flow_total(record, taps[town]) * days) for town in towns}


def _of_town(scenario: Scenario, record: xr.Dataset, found: xr.Dataset, used: xr.DataArray,
             volume: xr.DataArray) -> Separation:
    """One town; means over the season are weighted by the water that homes got."""
    mixed = flow_mask(record, from_place=str(found["town"].values), from_role="rapid_mix")
    raw = float(flow_total(record, mixed).mean())
    names = [str(name) for name in found["material"].values]
    caught = found["caught"].transpose("step", "material", ...).values
    mean = season_mean(found["at_tap"], volume).values
    return Separation(
        caught={step: {name: float(row[names.index(name)]) for name in CAUGHT}
                for step, row in zip(found["step"].values.tolist(), caught, strict=True)},
        alum_solids=alum_sludge(raw, scenario.quality.alum_mg_per_l, 0.0),
        at_tap=dict(zip(names, mean.tolist(), strict=True)),
        salt_in_river=scenario.quality.salt_mg_per_l, used_share=float(season_mean(used, volume)),
        gap=float(found["mass_gap"].max()),
    )  # fmt: skip
