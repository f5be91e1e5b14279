"""Cross-checks of unit processes: basins that cannot be built, water off the contact tables."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop.scenario.draft import Draft, Finding

_STEPS = {
    "plant": ("rapid_mix", "flocculation", "sedimentation", "filters", "clearwell"),
    "wastewater": ("primary", "aeration", "final_settling", "contact"),
}
# Upper bounds [m], [m3]: beyond them a slip of the unit is certain.
_LARGEST = {
    "length": (1000.0, "1,000 m"),
    "width": (1000.0, "1,000 m"),
    "diameter": (300.0, "300 m"),
    "depth": (30.0, "30 m"),
    "weir": (10_000.0, "10,000 m"),
    "volume": (1e7, "10 million m3"),
}
_MOST_UNITS = 200
_CHLORINE_MG_PER_L, _PH = (0.0, 20.0), (6.0, 9.0)
_TEMPERATURE_C = (0.0, 40.0)
_AGREES = 0.01


def basin_checks(draft: Draft, town: tuple[str, ...]) -> Iterator[Finding]:
    """Find what is wrong with the unit processes of a town.

    Parameters
    ----------
    draft : Draft
        The scenario as written.
    town : tuple of str
        Path of the town.

    Yields
    ------
    Finding
        One for each thing that is wrong.
    """
    for plant, steps in _STEPS.items():
        for step in steps:
            basin = (*town, plant, "basins", step)
            if not isinstance(draft.raw(*basin), dict):
                continue
            yield from _count(draft, basin)
            yield from _sizes(draft, basin)
            yield from _shape(draft, basin)
    yield from _tracer(draft, (*town, "plant", "basins", "clearwell", "baffling_factor"))
    yield from _water(draft, (*town, "plant", "disinfection"))


def _count(draft: Draft, basin: tuple[str, ...]) -> Iterator[Finding]:
    sizes = [n for n in ("volume", "length", "width", "diameter") if draft.has(*basin, n)]
    if sizes and not draft.has(*basin, "count"):
        yield Finding(
            (*basin, sizes[0]), "says how large each unit is, but not how many there are.",
            "Add count.",
        )  # fmt: skip
    count = draft.raw(*basin, "count")
    if isinstance(count, int) and not isinstance(count, bool) and not 1 <= count <= _MOST_UNITS:
        yield Finding(
            (*basin, "count"),
            f"{count} is no number of units.",
            f"Write a whole number from 1 to {_MOST_UNITS}.",
        )


def _sizes(draft: Draft, basin: tuple[str, ...]) -> Iterator[Finding]:
    for name, (largest, words) in _LARGEST.items():
        size = draft.quantity(*basin, name)
        if size is None:
            continue
        if size.high > largest:
            yield Finding(
                (*basin, name), f'"{size.text}" is far too large.', f"Write at most {words}."
            )
        elif size.low <= 0 and name not in ("length", "width"):  # these two are checked elsewhere
            yield Finding(
                (*basin, name),
                f'"{size.text}": a {name} must lie above zero.',
                "Leave it out if you do not know it.",
            )


def _shape(draft: Draft, basin: tuple[str, ...]) -> Iterator[Finding]:
    sides = [name for name in ("length", "width") if draft.has(*basin, name)]
    if draft.has(*basin, "diameter") and sides:
        yield Finding(
            (*basin, "diameter"),
            f"the basin is round and has a {' and a '.join(sides)}.",
            "Write the diameter, or length and width.",
        )
    elif len(sides) == 1:
        other = "width" if sides == ["length"] else "length"
        yield Finding(
            (*basin, sides[0]), f"stands without a {other}.", f"Add the {other}, or give a volume."
        )
    else:
        yield from _closes(draft, basin)


def _closes(draft: Draft, basin: tuple[str, ...]) -> Iterator[Finding]:
    """Volume, area and depth, where all are given, must agree."""
    volume, depth = (draft.held(*basin, name) for name in ("volume", "depth"))
    length, width, diameter = (draft.held(*basin, n) for n in ("length", "width", "diameter"))
    area = 0.785398 * diameter**2 if diameter else (length or 0.0) * (width or 0.0)
    if not volume or not depth or area <= 0 or abs(area * depth / volume - 1.0) <= _AGREES:
        return
    yield Finding(
        (*basin, "volume"),
        f"length, width or diameter and depth make {area * depth:,.4g} m3 for each unit, "
        f"not {volume:,.4g} m3.",
        "Leave the volume out.",
    )


def _tracer(draft: Draft, path: tuple[str, ...]) -> Iterator[Finding]:
    factor = draft.quantity(*path)
    if factor is not None and (factor.low <= 0 or factor.high > 1):
        yield Finding(
            path, f'"{factor.text}" is no baffling factor.', "Write a number above 0, at most 1."
        )


def _water(draft: Draft, path: tuple[str, ...]) -> Iterator[Finding]:
    bounds = (("chlorine_mg_per_l", *_CHLORINE_MG_PER_L), ("ph", *_PH))
    for name, low, high in bounds:
        value = draft.raw(*path, name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            continue
        if not low <= value <= high:
            yield Finding(
                (*path, name),
                f"{value:g} lies outside what the contact tables can be used for.",
                f"Write a number from {low:g} to {high:g}.",
            )
    water = draft.quantity(*path, "temperature")
    low, high = _TEMPERATURE_C
    if water is not None and not low <= water.low <= water.high <= high:
        yield Finding(
            (*path, "temperature"),
            f'"{water.text}" is no temperature of water in a plant.',
            f"Write {low:g} C to {high:g} C.",
        )
