"""Cross-checks of drought stages."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop import units
from hydroloop.scenario.checks_river import known_place, on_river
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.nearest import offer


def stage_checks(draft: Draft) -> Iterator[Finding]:
    """Find what is wrong with the drought stages."""
    for name in draft.names("stage"):
        path = ("stage", name)
        watches_river, watches_dam = draft.has(*path, "river"), draft.has(*path, "reservoir")
        if watches_river == watches_dam:
            yield Finding(
                path,
                "watches both a river and a reservoir." if watches_river else "watches nothing.",
                "Name a river with at and flow_below, or a reservoir with storage_below.",
            )
        elif watches_river:
            yield from on_river(draft, *path)
            yield from _needed(draft, path, ("at", "flow_below"))
        else:
            yield from known_place(draft, *path, "reservoir", kind="reservoir")
            yield from _needed(draft, path, ("storage_below",))
        yield from _marks(draft, path, "flow_below", "flow_above")
        yield from _marks(draft, path, "storage_below", "storage_above")
        yield from _towns(draft, path)


def _needed(draft: Draft, path: tuple[str, str], keys: tuple[str, ...]) -> Iterator[Finding]:
    for word in keys:
        if not draft.has(*path, word):
            yield Finding(
                (*path, word),
                "is missing.",
                "Give the mark at which the stage begins."
                if word != "at"
                else "Say where the river is watched.",
            )


def _marks(draft: Draft, path: tuple[str, str], below: str, above: str) -> Iterator[Finding]:
    begins, ends = draft.held(*path, below), draft.held(*path, above)
    if begins is not None and ends is not None and ends < begins:
        yield Finding(
            (*path, above),
            f"lies under {below}, so the stage would end before it began.",
            f"Write a mark at or above {below}.",
        )


def _towns(draft: Draft, path: tuple[str, str]) -> Iterator[Finding]:
    named, known = draft.raw(*path, "towns"), draft.names("town")
    for town in named if isinstance(named, list) else []:
        if isinstance(town, str) and town not in known:
            yield Finding(
                (*path, "towns"), f"there is no town {units.quoted(town)}.", offer(town, known)
            )
