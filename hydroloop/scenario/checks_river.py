"""Cross-checks of rivers, reservoirs and shared groundwater."""

from __future__ import annotations

from collections.abc import Iterator

from hydroloop import units
from hydroloop.scenario.built_for import AREA, works_of
from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.schema import ScenarioFile

_MOST_CELLS = 2000


def river_checks(draft: Draft) -> Iterator[Finding]:
    """Find what is wrong with the rivers and how they meet."""
    yield from _circles(draft)
    joined = {draft.word("river", name, "joins") for name in draft.names("river")}
    for name in draft.names("river"):
        yield from _junction(draft, name)
        yield from _water(draft, name, is_fed=name in joined)
        yield from _lateral(draft, name)
        yield from _used_before(draft, name)
        length, cell = draft.held("river", name, "length"), draft.held("river", name, "cell")
        if length and cell and length / cell > _MOST_CELLS:
            yield Finding(
                ("river", name, "cell"),
                f"would cut the river into {length / cell:,.0f} stores.",
                f"Write a cell that makes at most {_MOST_CELLS:,}.",
            )


def known_place(draft: Draft, *path: str, kind: str = "river") -> Iterator[Finding]:
    """Check that a name at a path is a river, a reservoir or an aquifer that there is."""
    value = draft.raw(*path)
    if isinstance(value, str) and not draft.is_named(kind, value):
        yield Finding(
            path, f"there is no {kind} {units.quoted(value)}.", offer(value, draft.names(kind))
        )


def on_river(draft: Draft, *path: str, river: str = "river", at: str = "at") -> Iterator[Finding]:
    """Check that a point (keys `river` and `at`, from the head) lies on a river that exists."""
    yield from known_place(draft, *path, river)
    name = draft.word(*path, river)
    place = draft.quantity(*path, at)
    length = draft.held("river", name, "length") if draft.is_named("river", name) else None
    if place is not None and length is not None and place.high > length * (1 + 1e-9):
        yield Finding(
            (*path, at),
            f'"{place.text}" lies beyond the end of the river "{name}", '
            f"which is {length:g} km long.",
            "Write a distance below its head.",
        )


def _junction(draft: Draft, name: str) -> Iterator[Finding]:
    path = ("river", name)
    if draft.has(*path, "joins_at") and not draft.has(*path, "joins"):
        yield Finding(
            (*path, "joins_at"),
            "says where, but not into which river.",
            "Add joins, or leave joins_at out.",
        )
    yield from on_river(draft, *path, river="joins", at="joins_at")


def _circles(draft: Draft) -> Iterator[Finding]:
    """Rivers that flow in a circle: each circle once, where its first river is written."""
    joins = {name: draft.word("river", name, "joins") for name in draft.names("river")}
    followed: set[str] = set()  # each river is followed once
    for first in joins:
        course: dict[str, None] = {}
        here = first
        while here in joins and here not in followed:
            followed.add(here)
            course[here] = None
            here = joins[here]
        if here not in course:
            continue
        circle = list(course)[list(course).index(here) :]
        start = min(circle, key=list(joins).index)
        circle = [*circle[circle.index(start) :], *circle[: circle.index(start)], start]
        what = (
            "a river cannot join itself."
            if len(circle) == 2
            else f"the rivers flow in a circle: {' -> '.join(circle)}."
        )
        yield Finding(("river", start, "joins"), what, "Water runs downhill: let one end.")


def _water(draft: Draft, name: str, *, is_fed: bool) -> Iterator[Finding]:
    """A river must get water from somewhere: its head, its catchment or another river."""
    path = ("river", name)
    if is_fed or draft.has(*path, "catchment") or draft.has(*path, "lateral_inflow"):
        return
    if not draft.has(*path, "inflow"):
        yield Finding(
            path,
            "the river has no water: no inflow, no catchment, and no river joins it.",
            'Write for example inflow = "2.5 m3/s".',
        )
    elif (inflow := draft.quantity(*path, "inflow")) is not None and inflow.high <= 0:
        yield Finding(
            (*path, "inflow"),
            "is zero, and nothing else feeds the river.",
            'Write for example "2.5 m3/s", or a catchment.',
        )


def _lateral(draft: Draft, name: str) -> Iterator[Finding]:
    path = ("river", name)
    end, head = draft.quantity(*path, "catchment_at_end"), draft.quantity(*path, "catchment")
    if end is None:
        return
    if draft.has(*path, "lateral_inflow"):
        yield Finding(
            (*path, "lateral_inflow"),
            "says what joins along the river, and catchment_at_end says it too.",
            "Leave one of them out.",
        )
    elif not draft.has(*path, "catchment"):
        yield Finding(
            (*path, "catchment_at_end"),
            "says how much land there is at the end, but not at the head.",
            "Add catchment.",
        )
    elif head is not None and end.low < head.high:
        yield Finding(
            (*path, "catchment_at_end"),
            f'"{end.text}" is less than the catchment above the head, "{head.text}".',
            "Land only grows down a river.",
        )


def _used_before(draft: Draft, name: str) -> Iterator[Finding]:
    path = ("river", name, "used_before")
    shares = draft.raw(*path)
    if not isinstance(shares, list) or any(wrong[:3] == path for wrong in draft.wrong):
        return
    if not shares or len(shares) > 50:
        yield Finding(
            path,
            f"the list has {len(shares)} shares.",
            "Write shares for never, once, twice and so on.",
        )
        return
    total = sum(draft.members(*path))
    if abs(total - 1) > 1e-6:
        yield Finding(
            path,
            f"the shares add up to {total * 100:.6g} %.",
            "Let never, once, twice and so on add up to 100 %.",
        )


def reservoir_checks(draft: Draft) -> Iterator[Finding]:
    """Find what is wrong with the reservoirs."""
    dams: dict[tuple[str, float], str] = {}
    for name in draft.names("reservoir"):
        path = ("reservoir", name)
        yield from on_river(draft, *path)
        at = draft.held(*path, "at")
        if at is not None:
            other = dams.setdefault((draft.word(*path, "river"), round(at, 6)), name)
            if other != name:
                yield Finding(
                    (*path, "at"),
                    f'the dam of "{other}" stands at the same place.',
                    "Let one stand above the other.",
                )
        start, dead = draft.quantity(*path, "start"), draft.quantity(*path, "dead_storage")
        if start and dead and start.low < dead.high:
            yield Finding(
                (*path, "start"),
                f"the reservoir starts {start.low * 100:.3g} % "
                f"full, below its dead storage of {dead.high * 100:.3g} %.",
                "Start it fuller.",
            )


def aquifer_checks(draft: Draft) -> Iterator[Finding]:
    """Find what is wrong with shared groundwater."""
    for name in draft.names("aquifer"):
        yield from on_river(draft, "aquifer", name)


def aquifer_land_checks(model: ScenarioFile) -> Iterator[Finding]:
    """Find shared aquifers that are smaller than the land of the towns on them."""
    for name, aquifer in model.aquifer.items():
        lands = {
            town: works_of(part)[AREA]
            for town, part in model.town.items()
            if part.land.aquifer == name
        }
        if sum(lands.values()) > aquifer.area * (1 + 1e-9):
            told = ", ".join(f"{town} {land:.3g} km2" for town, land in lands.items())
            yield Finding(
                ("aquifer", name, "area"),
                f"{aquifer.area:g} km2 is less than the land of the towns on it: {told}.",
                "Write a larger area, or give the towns "
                "less land (land.area; 1,500 people to a square kilometre if left out).",
            )
