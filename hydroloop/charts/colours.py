"""The colours of all pictures, in one place."""

from __future__ import annotations

from hydroloop.charts.contrast import best_ink

PAPER = "#ffffff"
INK = "#10222e"
LINE = "#27404f"
FAINT = "#5d6f7a"

# From pale water to deep plum. Neighbours differ in luminance by a contrast of at least 1.5, so
# that they can be told apart in grey; a test holds them to it.
USES = ("#dcf3f6", "#84c8de", "#5f9fc9", "#5b74b6", "#643f96", "#4b1650")
LEAST_STEP = 1.5
UNKNOWN = "#ececec"
WALL = "#eef3f5"

RIVER = "#9cc7dc"
TAP = "#cfeaf6"
SEWAGE = "#d8c2a0"
EFFLUENT = "#b5d6c4"
AIR = "#f3e6b8"
GROUND = "#d3cbc0"
STORM = "#b9bfd8"
MARK = "#9a3412"


def ink_on(ground: str) -> str:
    """Dark or white ink, whichever can be read on the ground."""
    return best_ink(ground, (INK, PAPER))


def use_colour(use: int) -> str:
    """Fill of a use class; the last one stands for all that follow."""
    return USES[min(use, len(USES) - 1)]
