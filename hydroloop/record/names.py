"""Words that a water record may use: boundaries, kinds of flow, and how a flow is called."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Iterable, Sequence

BOUNDARIES = ("upstream", "rain", "import", "sky", "downstream", "solids")
"""Names for the world outside the record: where water enters and where it leaves for good."""

KINDS = (
    "upstream",
    "rain",
    "import",
    "intake",
    "treatment",
    "backwash",
    "supply",
    "home_use",
    "work_use",
    "yard_use",
    "leak",
    "sewage",
    "infiltration",
    "stormwater",
    "overflow",
    "bypass",
    "outfall",
    "reclaimed",
    "recharge",
    "baseflow",
    "release",
    "spill",
    "river",
    "evaporation",
    "sludge",
    "downstream",
    "melt",
    "percolation",
    "interflow",
    "lateral",
)
"""What a flow of a simulated record can be. A record from tables may use words of its own."""

ALONG = ("river", "release", "spill", "upstream", "downstream")
"""Kinds of flows along a river."""

OPEN_WATERS = ("reach", "reservoir")
"""Roles of the stores of a river."""

_NUMBER_AT_END = re.compile(r"[_\- ]?\d+$")


def nearest(name: str, known: Iterable[str]) -> str:
    """Offer the nearest name as a sentence, or nothing."""
    folded = {str(other).lower(): str(other) for other in known}
    found = difflib.get_close_matches(str(name).lower(), folded, n=1, cutoff=0.6)
    return f'Did you mean "{folded[found[0]]}"?' if found else ""


def flow_ids(source: Sequence[str], target: Sequence[str], kind: Sequence[str]) -> list[str]:
    """Unique name of every flow: `a > b`, with its kind where two flows join the same pair."""
    plain = [f"{a} > {b}" for a, b in zip(source, target, strict=True)]
    count = Counter(plain)
    return [
        f"{name} ({what})" if count[name] > 1 else name
        for name, what in zip(plain, kind, strict=True)
    ]


def place_of(store: str) -> str:
    """Place of a store called ``place/part``; the whole name where there is no slash."""
    return store.partition("/")[0]


def role_of(store: str) -> str:
    """Role of a store called `place/part`, without a number at its end; empty without a slash."""
    return _NUMBER_AT_END.sub("", store.partition("/")[2])
