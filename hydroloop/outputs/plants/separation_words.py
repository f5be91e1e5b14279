"""What each step of the plants takes out and what passes, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hydroloop.charts.words import percent, place_words
from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import wrap
from hydroloop.studies.separation import CAUGHT, Separation


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
