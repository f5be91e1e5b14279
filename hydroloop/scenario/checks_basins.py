"""Cross-checks of unit processes: basins that cannot be built."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop.scenario.draft import Draft, Finding

_STEPS = {
    "plant": ("rapid_mix", "flocculation", "sedimentation", "filters", "clearwell"),
    "wastewater": ("primary", "aeration", "final_settling", "contact"),
}
_AGREES = 0.01


def basin_checks(draft: Draft, town: tuple[str, ...]) -> Iterator[Finding]:
    """Find what is wrong with the unit processes of a town."""
    for plant, steps in _STEPS.items():
        for step in steps:
            basin = (*town, plant, "basins", step)
            if not isinstance(draft.raw(*basin), dict):
                continue
            yield from _count(draft, basin)
            yield from _shape(draft, basin)


def _count(draft: Draft, basin: tuple[str, ...]) -> Iterator[Finding]:
    sizes = [n for n in ("volume", "length", "width", "diameter") if draft.has(*basin, n)]
    if sizes and not draft.has(*basin, "count"):
        yield Finding(
            (*basin, sizes[0]),
            "says how large each unit is, but not how many there are.",
            "Add count.",
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
