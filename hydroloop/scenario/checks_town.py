"""Cross-checks of towns."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop.scenario.checks_basins import basin_checks
from hydroloop.scenario.checks_river import known_place, on_river
from hydroloop.scenario.draft import Draft, Finding


def town_checks(draft: Draft) -> Iterator[Finding]:
    """Find what is wrong with the towns."""
    for name in draft.names("town"):
        town = ("town", name)
        yield from _supply(draft, town)
        yield from _intake(draft, (*town, "intake"))
        yield from on_river(draft, *town, "outfall")
        yield from on_river(draft, *town, "storm_outlet")
        yield from known_place(draft, *town, "wells", "aquifer", kind="aquifer")
        yield from known_place(draft, *town, "land", "aquifer", kind="aquifer")
        yield from _end_uses(draft, (*town, "homes"))
        yield from _reuse(draft, (*town, "reuse"))
        yield from basin_checks(draft, town)


def _supply(draft: Draft, town: tuple[str, ...]) -> Iterator[Finding]:
    if draft.has(*town, "intake") or draft.has(*town, "wells"):
        return
    imported = draft.quantity(*town, "imported")
    if imported is None or imported.high > 0:
        return
    yield Finding(
        town,
        "the town has no water: no intake, no wells, and nothing imported.",
        'Write for example intake = { river = "wren", at = "20 km" }.',
    )


def _intake(draft: Draft, path: tuple[str, ...]) -> Iterator[Finding]:
    if not isinstance(draft.raw(*path), dict):
        return
    river, reservoir = draft.has(*path, "river"), draft.has(*path, "reservoir")
    if river and reservoir:
        yield Finding(
            (*path, "reservoir"), "the intake names a river and a reservoir.", "Name one of them."
        )
    elif not river and not reservoir:
        yield Finding(
            path,
            "the intake names neither a river nor a reservoir.",
            'Write for example river = "wren" and at = "20 km".',
        )
    if river and not reservoir and not draft.has(*path, "at"):
        yield Finding(
            (*path, "at"),
            "is missing (distance below the river's head).",
            'Write for example at = "20 km".',
        )
    if reservoir and not river and draft.has(*path, "at"):
        yield Finding(
            (*path, "at"), "goes with a river; the intake is in a reservoir.", "Leave it out."
        )
    yield from on_river(draft, *path)
    yield from known_place(draft, *path, "reservoir", kind="reservoir")


def _end_uses(draft: Draft, homes: tuple[str, ...]) -> Iterator[Finding]:
    """Toilets, baths and laundry leave the rest to taps: together at most the whole."""
    uses = ("toilets", "baths", "laundry")
    highest = {use: share.high for use in uses if (share := draft.quantity(*homes, use))}
    if len(highest) < len(uses) or sum(highest.values()) <= 1 + 1e-9:
        return
    given = next((use for use in reversed(uses) if draft.has(*homes, use)), uses[0])
    parts = ", ".join(f"{use} {share * 100:.3g} %" for use, share in highest.items())
    yield Finding(
        (*homes, given),
        f"the shares of homes add up to more than the whole ({parts}).",
        "Let them leave something for the taps.",
    )


def _reuse(draft: Draft, reuse: tuple[str, ...]) -> Iterator[Finding]:
    to_reservoir = draft.quantity(*reuse, "reservoir")
    if to_reservoir and to_reservoir.high > 0 and not draft.has(*reuse, "into"):
        yield Finding(
            (*reuse, "reservoir"),
            "says how much, but not into which reservoir.",
            "Add into, the name of a reservoir.",
        )
    yield from known_place(draft, *reuse, "into", kind="reservoir")
