"""The separation table of a town's plants: what each step catches, and what passes them all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import xarray as xr

from hydroloop.charts.words import percent, place_words
from hydroloop.measures import use_shares
from hydroloop.measures.materials import materials
from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import wrap
from hydroloop.plants.sludge import alum_sludge
from hydroloop.record import flow_mask, flow_total
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
    found = materials(record, op, taps, scenario.quality)
    uses = count_uses(op, most=1)
    return {town: _of_town(scenario, record, found.sel(town=town),
                           use_shares(op, uses, taps[town])["used_share"]) for town in towns}


def _of_town(scenario: Scenario, record: xr.Dataset, found: xr.Dataset,
             used: xr.DataArray) -> Separation:
    mixed = flow_mask(record, from_place=str(found["town"].values), from_role="rapid_mix")
    raw = float(flow_total(record, mixed).mean())
    names = [str(name) for name in found["material"].values]
    caught = found["caught"].transpose("step", "material", ...).values
    mean = found["at_tap"].mean("time").values
    return Separation(
        caught={step: {name: float(row[names.index(name)]) for name in CAUGHT}
                for step, row in zip(found["step"].values.tolist(), caught, strict=True)},
        alum_solids=alum_sludge(raw, scenario.quality.alum_mg_per_l, 0.0),
        at_tap=dict(zip(names, mean.tolist(), strict=True)),
        salt_in_river=scenario.quality.salt_mg_per_l, used_share=float(used.mean()),
        gap=float(found["mass_gap"].max()),
    )  # fmt: skip


def separation_lines(found: Separation, place: str) -> list[str]:
    """The separation table in words.

    Parameters
    ----------
    found : Separation
        What was found.
    place : str
        The town's name as it is written.

    Returns
    -------
    list of str
        Lines of text.
    """
    rows = [["", *CAUGHT]]
    rows += [[step, *(_kilograms(amounts[name]) for name in CAUGHT)]
             for step, amounts in found.caught.items()]
    return [
        "What each step takes out, kg a day on the mean of the season", *as_lines(rows), "",
        *(wrap(f"The alum that makes fine particles clump adds {found.alum_solids:,.0f} kg a day "
               "of its own solids to the sludge of the water plant.", "  ")
          if found.alum_solids >= 0.5 else []),
        *wrap(f"Salt passes every step: {found.at_tap['salt']:.0f} mg/L at {place}'s taps against "
              f"{found.salt_in_river:.0f} at the river's head, while "
              f"{percent(found.used_share)} of the tap water was used before. Each use adds salt, "
              "and evaporation takes water and leaves the salt; what is used cannot become more "
              "used by evaporation, as vapour takes its part of it along.", "  "),
        *wrap(f"Chlorine left in the mains: {found.at_tap['chlorine']:.2g} mg/L; fluoride "
              f"{found.at_tap['fluoride']:.2g} mg/L. The mass of every material closes to "
              f"{found.gap:.0e} of what is there.", "  "),
    ]  # fmt: skip


def together_lines(found: Mapping[str, Separation]) -> list[str]:
    """Salt, used water and an imagined dye at the taps of all towns, side by side.

    Parameters
    ----------
    found : mapping of str to Separation
        What was found, by town, in the order of the scenario.

    Returns
    -------
    list of str
        Lines of text.
    """
    rows = [["", "salt", "used share", "imagined dye"]]
    rows += [[place_words(town), f"{one.at_tap['salt']:.0f} mg/L", percent(one.used_share),
              f"{one.at_tap['dye']:.2g} mg/L"] for town, one in found.items()]
    return [
        "Salt, used water and an imagined dye at the taps, mean of the season", *as_lines(rows), "",
        *wrap("The dye is for a class to think with: 1 mg/L of it goes into water at each use in a "
              "home, and no step takes it out. Like the salt it counts every use; the used share "
              "counts water once, however often it was used, and cannot pass 100 %.", "  "),
    ]  # fmt: skip


def separation_facts(found: Separation) -> dict[str, Any]:
    """The same as plain values for a script.

    Parameters
    ----------
    found : Separation
        What was found.

    Returns
    -------
    dict
        Catch [kg/d], concentrations [g/m3], used share and gap [-].
    """
    return {"caught_kg_per_d": found.caught, "alum_solids_kg_per_d": found.alum_solids,
            "at_tap_g_per_m3": found.at_tap, "used_share": found.used_share, "gap": found.gap}


def _kilograms(amount: float) -> str:
    if amount < 5e-4:
        return "-"
    return f"{amount:,.0f}" if amount >= 10 else f"{amount:.2g}"
