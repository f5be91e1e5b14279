"""The balance of the land in depth, as a table and in one line where storage wants explaining."""

from __future__ import annotations

import numpy as np

from hydroloop.charts.words import place_words
from hydroloop.measures import LAND_TERMS
from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.outputs.run.result import Result
from hydroloop.units.printing import figures

_SOME_MM = 5.0  # a smaller depth is not worth a line


def land(result: Result) -> Table:
    """Where the rain on each piece of land went, as depth over its area."""
    table = result.table.get("land_balance")
    names = [] if table is None else [str(name) for name in table["land"].values]
    columns = (
        ()
        if table is None
        else tuple(
            Column(term, _depths(table.sel(land_term=term).values), "depth") for term in LAND_TERMS
        )
    )
    return Table(
        "land",
        "The land in depth, over the season",
        [places_column("land", names, result.names), *columns],
    )


def _depths(values: np.ndarray) -> list[float]:
    """Depths to a hundredth of a millimetre, which is less than anybody measures."""
    return [float(value) + 0.0 for value in values.round(2)]


def land_sentences(result: Result) -> list[str]:
    """What came before the first day, and where storage changes more than the weather explains."""
    run_up = str(result.record.attrs.get("weather_run_up", ""))
    said = [
        f"Before the first day: {run_up}."
        if run_up
        else "Before the first day: nothing, as season.run_up is off; levels are guesses."
    ]
    unexplained = result.table["unexplained_storage"]
    for name in unexplained["land"].values:
        depth = float(unexplained.sel(land=name))
        if abs(depth) >= _SOME_MM:
            said.append(_storage_words(result, str(name), depth, run_up))
    return said


def _storage_words(result: Result, name: str, depth: float, run_up: str) -> str:
    terms = result.table["land_balance"].sel(land=name)
    seeps = float(terms.sel(land_term=["recharge", "leaks and reuse"]).sum())
    taken = float(terms.sel(land_term="sewers and wells"))
    unit, shown = ("mm", abs(depth)) if result.system == "metric" else ("in", abs(depth) / 25.4)
    if not run_up:
        why = "its first levels are guesses (season.run_up)"
    elif taken > seeps:
        why = "wells and sewers take more than seeps in"
    else:
        why = "the levels given for the first day are not those that its past holds up"
    way = "gains" if depth > 0.0 else "loses"
    return (
        f"The land of {place_words(name, result.names)} {way} {figures(round(shown, 1))} "
        f"{unit} more than the weather explains: {why}."
    )
