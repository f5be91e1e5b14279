"""The page of the climates from which the weather generator draws."""

from __future__ import annotations

from writing.markdown import cell, table

from hydroloop.weather import CLIMATES, Climate

_HEAD = """# Climates of the weather generator

The generator draws wet and dry days from a two-state chain, the depth of a wet day from a gamma
distribution, and temperatures around the season's course. Its twelve monthly values come from
published or public records; the places that use them in scenarios are invented.
"""
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_ROWS = (
    ("chance of rain after a wet day [-]", "wet_after_wet", 3),
    ("chance of rain after a dry day [-]", "wet_after_dry", 3),
    ("shape of the rain of a wet day [-]", "rain_shape", 3),
    ("scale of the rain of a wet day [mm]", "rain_scale_mm", 2),
    ("mean daily low [C]", "tmin_c", 1),
    ("mean daily high [C]", "tmax_c", 1),
)


def page() -> str:
    """The page, written from the climates themselves."""
    return "\n".join([_HEAD, *(_climate(one) for one in CLIMATES.values())])


def _climate(one: Climate) -> str:
    rows = (
        [cell(words), *(f"{value:.{digits}f}" for value in getattr(one, name))]
        for words, name, digits in _ROWS
    )
    return f"## {one.name}\n\n{cell(one.source)}\n\n" + table(("", *_MONTHS), rows)
