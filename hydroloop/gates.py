"""What counts as a use: the ready gates, which flows each of them is, and the words for them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

CountAs = Literal["home", "home-or-workplace", "toilet", "wastewater-plant"]
"""Names of the ready gates."""


class Use(NamedTuple):
    """Words for what counts as a use."""

    within: str  # where used water was: `in a home`
    through: str  # what one use is: `through a home`
    often: str  # the same where uses are counted: `through homes`


USES: dict[str, Use] = {
    "home": Use("in a home", "through a home", "through homes"),
    "home-or-workplace": Use(
        "in a home or workplace", "through a home or workplace", "through homes or workplaces"
    ),
    "toilet": Use("in a toilet", "through a toilet", "through toilets"),
    "wastewater-plant": Use(
        "in a wastewater plant", "through a wastewater plant", "through wastewater plants"
    ),
}
"""Words for each ready gate."""

FLOWS: dict[str, str] = {
    "home": "of kind home_use",
    "home-or-workplace": "of kind home_use or work_use",
    "toilet": "of kind home_use or work_use into a part toilets or work_toilets",
    "wastewater-plant": "of kind outfall or reclaimed",
}
"""Which flows each ready gate is, in words."""

CHOSEN = Use("in use", "through a use", "through uses")
"""Words where somebody chose flows of their own."""

USUAL = "home"
"""The gate where none is asked for."""

_OLD_NAMES = {"home_use": "home", "outfall": "wastewater-plant"}


def words_of(gate: str) -> Use:
    """Words for a gate, as a table of measures names it."""
    return USES.get(_OLD_NAMES.get(gate, gate), CHOSEN)


def ready_gate(
    name: str, kinds: Sequence[str], ends: tuple[Sequence[int], Sequence[int]], roles: Sequence[str]
) -> list[bool]:
    """Flows, of some kinds and between stores (-1 for a boundary) of some roles, of a ready gate.
    A home is entered by a flow of kind home_use and a workplace by one of kind work_use; the
    store that a toilet is has the part `toilets` or `work_toilets`. A wastewater plant is left
    by an outfall, or as reclaimed water; from its tank reclaimed water only goes on."""
    if name == "home":
        return [kind == "home_use" for kind in kinds]
    if name == "home-or-workplace":
        return [kind in ("home_use", "work_use") for kind in kinds]
    flows = list(zip(kinds, *ends, strict=True))
    if name == "toilet":
        return [
            kind in ("home_use", "work_use")
            and target >= 0
            and roles[target] in ("toilets", "work_toilets")
            for kind, _, target in flows
        ]
    tanks = {target for kind, _, target in flows if kind == "reclaimed" and target >= 0}
    return [
        kind == "outfall" or (kind == "reclaimed" and source not in tanks)
        for kind, source, _ in flows
    ]
