"""Columns of a table as numbers in the units held inside, checked for what cannot be."""

from __future__ import annotations

import numpy as np

from hydroloop.weather.arrays import Array
from hydroloop.weather.cells import read_numbers, uses_decimal_comma
from hydroloop.weather.csv_text import TextTable
from hydroloop.weather.header import ALLOWED_UNITS, Heading, read_heading
from hydroloop.weather.problems import TableProblems

# Lowest and highest value that is taken for a measurement, in the units held inside. The upper
# ends lie beyond the records of weather stations: what passes them is a wrong unit or a code for
# "no value".
LIMITS: dict[str, tuple[float, float]] = {
    "rain_mm": (0.0, 2000.0),
    "tmin_c": (-90.0, 60.0),
    "tmax_c": (-90.0, 60.0),
    "tmean_c": (-90.0, 60.0),
    "humidity": (0.0, 1.0),
    "humidity_min": (0.0, 1.0),
    "humidity_max": (0.0, 1.0),
    "wind_m_per_s": (0.0, 115.0),
    "sunshine_h": (0.0, 24.0),
    "radiation_mj_per_m2": (0.0, 100.0),
    "flow": (0.0, 1e11),
}


def headings_of(table: TextTable) -> list[Heading]:
    """What each heading of a table says. Only reads words and units; which columns are wanted is
    for others to say."""
    return [read_heading(cell) for cell in table.heading]


def date_column(table: TextTable, headings: list[Heading], problems: TableProblems) -> int:
    """Place of the column of dates; notes a problem and returns -1 where there is not one. Takes
    the first where a table has a date and a time column beside it."""
    for place, heading in enumerate(headings):
        if heading.quantity == "date":
            return place
    given = ", ".join(f'"{cell}"' for cell in table.heading[:12])
    problems.add(
        table.heading_line,
        f"no column is called date; there are {given}.",
        'Call the column with dates "date".',
    )
    return -1


def wanted_columns(
    table: TextTable, headings: list[Heading], problems: TableProblems, quantities: set[str]
) -> dict[str, int]:
    """Places of the columns of some quantities, by the names held inside. Notes a heading without a
    unit, with one that does not fit, and one that comes twice."""
    found: dict[str, int] = {}
    for place, heading in enumerate(headings):
        if heading.quantity not in quantities:
            continue
        if heading.name in found:
            first = table.heading[found[heading.name]]
            what = f'"{first}" and "{heading.text}" are the same quantity.'
            problems.add(table.heading_line, what, "Keep one of them.")
        check_unit(heading, table.heading_line, problems)
        found.setdefault(heading.name, place)
    return found


def check_unit(heading: Heading, line: int, problems: TableProblems) -> None:
    """Note a heading that has no unit, or one that does not fit its quantity."""
    if heading.unit:
        return
    quantity = heading.quantity or "flow"
    units = ALLOWED_UNITS[quantity]
    cure = f'Write for example "{heading.label} [{units[0]}]"; also {", ".join(units[1:])}.'
    if heading.unit_text:
        what = f'"{heading.unit_text}" is not a unit of {quantity}.'
    else:
        what = f'the column "{heading.text}" has no unit.'
    problems.add(line, what, cure)


def column_values(
    table: TextTable, headings: list[Heading], places: dict[str, int], problems: TableProblems
) -> dict[str, Array]:
    """Numbers of some columns, in the units held inside, NaN where there is no value. Notes
    everything that is not a number, and numbers that cannot be."""
    cells = {name: table.column(place) for name, place in places.items()}
    decimal_comma = uses_decimal_comma(list(cells.values()), table.separator)
    if decimal_comma is None:
        problems.add(
            0,
            'numbers as "1,500" can be read in two ways.',
            "Write 1500, or 1.5 with a decimal point.",
        )
    out = {}
    for name, place in places.items():
        heading = headings[place]
        numbers = read_numbers(
            cells[name],
            table.lines,
            problems,
            key=heading.text,
            decimal_comma=decimal_comma is not False,
        )
        if heading.unit:
            values = numbers * heading.unit.factor + heading.unit.offset
            _check_limits(name, values, cells[name], table, heading, problems)
            out[name] = values
    for least, most in (("tmin_c", "tmax_c"), ("humidity_min", "humidity_max")):
        if least in out and most in out:
            crossed = (out[least] > out[most]) & np.isfinite(out[least])
            for row in problems.first(np.flatnonzero(crossed)):
                what = f"the lowest value ({cells[least][row]}) is above the highest"
                what += f" ({cells[most][row]})."
                key = f"{headings[places[least]].text}, {headings[places[most]].text}"
                problems.add(table.lines[row], what, "Exchange or correct them.", key=key)
    return out


def _check_limits(
    name: str,
    values: Array,
    cells: list[str],
    table: TextTable,
    heading: Heading,
    problems: TableProblems,
) -> None:
    low, high = LIMITS[name]
    unit = heading.unit
    assert unit is not None
    shown = heading.unit_text
    # Conversion may carry 100 % to a hair above one.
    outside = (values < low - 1e-9) | (values > high * (1 + 1e-9))
    for row in problems.first(np.flatnonzero(outside & np.isfinite(values))):
        if values[row] < low:
            least = (low - unit.offset) / unit.factor
            what = f"{cells[row]} {shown} is below {least:g} {shown}."
            if low == 0.0:
                what = f"{cells[row]} {shown} is negative."
        else:
            most = (high - unit.offset) / unit.factor
            what = f"{cells[row]} {shown} is more than can be measured ({most:.4g} {shown})."
        problems.add(
            table.lines[row], what, "Check the unit, or leave the cell empty.", key=heading.text
        )


def per_step(
    values: dict[str, Array], headings: list[Heading], places: dict[str, int], step_days: float
) -> dict[str, Array]:
    """Columns whose unit holds a day, or leaves it out, brought to what is held. Rain in mm per day
    becomes mm per step; energy per step becomes energy per day."""
    out = {}
    for name, column in values.items():
        unit = headings[places[name]].unit
        power = unit.per_step if unit else 0
        out[name] = column * step_days**power if power else column
    return out
