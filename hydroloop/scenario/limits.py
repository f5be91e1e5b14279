"""Limits: numbers that must lie above zero, or within what they mean."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop import units
from hydroloop.errors import InputError
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.quantities import called, ends_of, read, shown
from hydroloop.scenario.tree import Path, find, leaves

# What each of these divides, or what would stand still without it.
_ABOVE_ZERO = {
    "capacity": "Leave out what is not there, or write what it can carry.",
    "length": "Write how long it is.",
    "cell": 'Write for example "20 km".',
    "speed": "Write how fast the water runs.",
    "recession": "Write the days in which baseflow falls to 37 %.",
    "refill": "Write the time in which the tanks are refilled.",
    "people": "Leave the town out if nobody lives there.",
    "efficiency": "Write the share that reaches the soil.",
    "reference_flow": "Write the flow at which the speed holds.",
    "width": "Write how wide the water surface is.",
    "area": "Write the area.",
    "catchment": "Leave it out if there is none.",
    "soil_depth": "Write how much water the soil can hold.",
}
_BOUNDS = {
    "curve_number": (1.0, 100.0),
    "crop_coefficient": (0.0, 3.0),
    "speed_exponent": (0.0, 0.95),
    "rain_scale": (0.0, 20.0),
    "scale": (0.0, 1000.0),
    "warmer_by": (-40.0, 40.0),
    "seed": (0, 2**63 - 1),
    "growth.years": (1, 200),  # those of a dry season have bounds of their own
}
_CONCENTRATIONS = ("_mg_per_l", "decay_per_day")
_CONCENTRATION = (0.0, 100_000.0)
_HELD_BOUNDS = {  # in the held unit
    "elevation": (-500.0, 9000.0),
    "wind": (0.0, 100.0),
    "people": (1.0, 1e9),
}


def limit_checks(draft: Draft) -> Iterator[Finding]:
    """Find numbers given that lie outside what they can mean.

    Parameters
    ----------
    draft : Draft
        The scenario as written.

    Yields
    ------
    Finding
        One for each such number.
    """
    for path, value in leaves(draft.data):
        if path in draft.wrong:
            continue
        name = str(path[-1])
        bounds = _CONCENTRATION if name.endswith(_CONCENTRATIONS) else _BOUNDS.get(
            name, _BOUNDS.get(".".join(map(str, path[-2:]))))
        if bounds is not None:
            yield from _bounds(path, value, *bounds)
            continue
        here = find(path)
        if here is None or not here.dimension or isinstance(value, dict | list):
            continue
        try:
            quantity = read(value, here.dimension, name)
        except InputError:
            continue
        if name in _ABOVE_ZERO and quantity.low <= 0:
            yield Finding(path, f"{shown(value)}: {called(name)} must lie above zero.",
                          _ABOVE_ZERO[name])
        elif name in _HELD_BOUNDS:
            low, high = _HELD_BOUNDS[name]
            if not low <= quantity.low <= quantity.high <= high:
                unit = units.DIMENSIONS[here.dimension].held
                yield Finding(path, f"{shown(value)} is out of bounds.",
                              f"Write {low:,.0f} {unit} to {high:,.0f} {unit}.")


def _bounds(path: Path, value: object, low: float, high: float) -> Iterator[Finding]:
    ends = ends_of(value)
    if ends and not low <= ends[0] <= ends[1] <= high:
        yield Finding(path, f"{shown(value)} is out of bounds.",
                      f"Write a number from {low:g} to {high:g}.")
