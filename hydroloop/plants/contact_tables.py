"""The published contact tables, and the published rules for entering them.

What is outside the tables is refused where no table covers it (pH above 9 for *Giardia*, above 10
for viruses, below 6 for viruses; a temperature no liquid water has). It is taken at the edge, with
a note, where the published rule says so: chlorine above 3 mg/L at the 3 mg/L row, chlorine below
0.4 mg/L at the 0.4 mg/L row, water below 0.5 C and above 25 C at those tables.
"""

from __future__ import annotations

import csv
import math
from functools import lru_cache
from importlib.resources import files
from typing import Literal, NamedTuple

from hydroloop.errors import AskError, Problem

Germ = Literal["giardia", "virus"]

TABLE_LOGS = {"giardia": 3.0, "virus": 4.0}
"""Logs of inactivation that the tables hold [-]."""

# EPA 815-R-20-003 (2020), Table B-2: CT [mg min/L] for 4-log inactivation of viruses by free
# chlorine, as given on a page of contact tables.
_VIRUS_TEMPERATURES_C = (0.5, 5.0, 10.0, 15.0, 20.0, 25.0)
_VIRUS_CT = {
    9.0: (12.0, 8.0, 6.0, 4.0, 3.0, 2.0),
    10.0: (90.0, 60.0, 45.0, 30.0, 22.0, 15.0),
}
_COLDEST_C, _HOTTEST_C = 0.0, 40.0
_MOST_CHLORINE_MG_PER_L = 20.0
_MILDEST_PH = 6.0


class Entry(NamedTuple):
    """The cell of a contact table that a reading is entered at."""

    ct: float  # CT for the logs of the table [mg min/L]
    # headings of the cell; chlorine is nan in the table for viruses, which has none
    temperature_c: float
    ph: float
    chlorine_mg_per_l: float
    notes: tuple[str, ...]  # where a reading lay outside and was taken at the edge of the table


class GiardiaTable(NamedTuple):
    """The six tables for *Giardia*."""

    # headings, rising
    temperatures_c: tuple[float, ...]
    phs: tuple[float, ...]
    chlorines_mg_per_l: tuple[float, ...]
    # CT for 3 logs by temperature, chlorine and pH [mg min/L]
    ct: dict[tuple[float, float, float], float]


@lru_cache(maxsize=1)
def giardia_table() -> GiardiaTable:
    """CT for 3-log inactivation of Giardia by free chlorine [mg min/L].

    The product of chlorine and minutes that the law asks for, measured in laboratories.
    Free chlorine only, not chloramine.

    Returns
    -------
    GiardiaTable
        Headings and the 588 cells

    References
    ----------
    40 CFR 141.74(b)(3)(v), Tables 1.1 to 1.6, as given in a transcription.

    Examples
    --------
    >>> giardia_table().ct[0.5, 1.0, 8.0]
    304.0
    """
    text = (
        files("hydroloop.plants").joinpath("data/giardia_ct_free_chlorine.csv").read_text("utf-8")
    )
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    heading, *rows = csv.reader(lines)
    phs = tuple(float(name.removeprefix("ph_")) for name in heading[2:])
    cells = {
        (float(row[0]), float(row[1]), ph): float(cell)
        for row in rows
        for ph, cell in zip(phs, row[2:], strict=True)
    }
    temperatures = tuple(sorted({key[0] for key in cells}))
    return GiardiaTable(temperatures, phs, tuple(sorted({key[1] for key in cells})), cells)


def table_entry(germ: Germ, temperature_c: float, ph: float, chlorine_mg_per_l: float) -> Entry:
    """The cell of the contact table for a reading.

    Temperature is rounded down, pH and chlorine up, to the next heading: always to the safe side.
    Refuses what no table covers; takes the edge, with a note, where the rule says so.

    Parameters
    ----------
    germ : str
        ``"giardia"`` or ``"virus"``
    temperature_c : float
        Temperature of the water [degC]
    ph : float
        pH at the end of the contact [-]
    chlorine_mg_per_l : float
        Free chlorine at the end of the contact [mg/L]

    Returns
    -------
    Entry
        CT of the table, its headings, and notes

    Raises
    ------
    AskError
        With everything that lies outside the tables.

    References
    ----------
    EPA's wording of the rules, as given on a page of contact tables.

    Examples
    --------
    >>> table_entry("giardia", 15.0, 7.2, 1.1).ct
    92.0
    """
    problems = _outside(germ, temperature_c, ph, chlorine_mg_per_l)
    if problems:
        raise AskError(problems)
    if germ == "virus":
        return _virus_entry(temperature_c, ph)
    table = giardia_table()
    cell = (
        _down(temperature_c, table.temperatures_c),
        _up(chlorine_mg_per_l, table.chlorines_mg_per_l),
        _up(ph, table.phs),
    )
    notes = _notes(temperature_c, chlorine_mg_per_l, table)
    return Entry(table.ct[cell], cell[0], cell[2], cell[1], notes)


def _virus_entry(temperature_c: float, ph: float) -> Entry:
    row = _up(ph, tuple(_VIRUS_CT))
    warm = _down(temperature_c, _VIRUS_TEMPERATURES_C)
    ct = _VIRUS_CT[row][_VIRUS_TEMPERATURES_C.index(warm)]
    return Entry(ct, warm, row, math.nan, ())


def _down(value: float, headings: tuple[float, ...]) -> float:
    return max((h for h in headings if h <= value), default=headings[0])


def _up(value: float, headings: tuple[float, ...]) -> float:
    return min((h for h in headings if h >= value), default=headings[-1])


def _notes(temperature_c: float, chlorine_mg_per_l: float, table: GiardiaTable) -> tuple[str, ...]:
    """Readings off the table that the published rule lets in at its edge."""
    least, most = table.chlorines_mg_per_l[0], table.chlorines_mg_per_l[-1]
    notes = []
    if chlorine_mg_per_l > most:
        notes.append(f"chlorine of {chlorine_mg_per_l:g} mg/L is taken at the {most:g} mg/L row")
    if chlorine_mg_per_l < least:
        notes.append(f"chlorine of {chlorine_mg_per_l:g} mg/L is taken at the {least:g} mg/L row")
    if temperature_c < table.temperatures_c[0]:
        notes.append(
            f"water of {temperature_c:g} C is taken at the {table.temperatures_c[0]:g} C table"
        )
    if temperature_c > table.temperatures_c[-1]:
        notes.append(
            f"water of {temperature_c:g} C is taken at the {table.temperatures_c[-1]:g} C table"
        )
    return tuple(notes)


def _outside(germ: str, temperature_c: float, ph: float, chlorine: float) -> list[Problem]:
    if germ not in TABLE_LOGS:
        return [Problem("germ", f'there is no table for "{germ}".', "There are: giardia, virus.")]
    problems = []
    if not _COLDEST_C <= temperature_c <= _HOTTEST_C:
        problems.append(
            Problem(
                "temperature_c",
                f"{temperature_c:g} C is no temperature of water in a plant.",
                f"Give {_COLDEST_C:g} to {_HOTTEST_C:g} C.",
            )
        )
    highest = max(giardia_table().phs) if germ == "giardia" else max(_VIRUS_CT)
    lowest = 0.0 if germ == "giardia" else _MILDEST_PH
    if not lowest <= ph <= highest:
        problems.append(
            Problem(
                "ph",
                f"the contact table for {germ} does not hold pH {ph:g}.",
                f"Give {lowest:g} to {highest:g}; beyond it, ask the authority.",
            )
        )
    if not 0.0 <= chlorine <= _MOST_CHLORINE_MG_PER_L:
        problems.append(
            Problem(
                "chlorine_mg_per_l",
                f"{chlorine:g} mg/L is no chlorine residual of drinking water.",
                f"Give 0 to {_MOST_CHLORINE_MG_PER_L:g} mg/L; the law allows 4.0 as the average of "
                "a year.",
            )
        )
    return problems
