"""The colours of all pictures, in one place."""

from __future__ import annotations

from functools import cache

import numpy as np
from matplotlib.colors import to_hex, to_rgb

from hydroloop.charts.contrast import AA_TEXT, best_ink, contrast_ratio, relative_luminance

PAPER = "#ffffff"
INK = "#10222e"
LINE = "#27404f"
BLACK = "#000000"
FAINT = "#5d6f7a"

# Water never used is pale blue; the more often it was used, the deeper it is steeped, from honey to
# dark plum: a warm ramp beside the cool colours of the waterworks, so that neither is taken for the
# other. Neighbours differ in luminance by a contrast of at least 1.5, so that they can be told
# apart in grey; a test holds them to it.
USES = ("#d9edf5", "#e2ab66", "#c27f48", "#985643", "#683546", "#361a33")
UNKNOWN = "#ececec"
WALL = "#eef3f5"

# Waters of a town. Hues follow the marking practice of the trade in North America (APWA uniform
# color code, from memory): blue is drinking water, green is sewers and drains, purple is reclaimed
# water. The sky's water is slate, the ground's is clay.
RIVER = "#9fc0cc"
TAP = "#c3e1f8"
SEWAGE = "#8cb06a"
EFFLUENT = "#d3e5ae"
RECLAIMED = "#b99ed8"
AIR = "#f6ecc6"
GROUND = "#d2bda6"
STORM = "#9aa5ab"

# Ways by which used water came back: fill and hatching, so that they can be told apart in grey.
WAYS = {
    "river": (EFFLUENT, ""),
    "reclaimed to plant": (RECLAIMED, "//"),
    "reclaimed to reservoir": (RECLAIMED, "\\\\"),
    "ground": (GROUND, ".."),
    "overflow": (STORM, "xx"),
    "not returned": (TAP, "--"),
    "above the map": (RIVER, "||"),
    "not known": (UNKNOWN, "++"),
}

# What is no water: a bar, a middle half of runs, a whole beside what is added to it (apart in
# grey), a mark that must be seen, what is missing.
BAR = "#b4c9c3"
WHOLE = "#6d8f96"
ADDED = "#e0c58f"
MARK = "#9c2f1f"
STAGES = ("#fbf0cf", "#f2d59b", "#e3ac74", "#c97f5a")
"""Drought stages, from the mildest to the hardest."""
LINES = (LINE, MARK, "#2d6f9e", "#7a5a12", "#5f4490", FAINT)
"""Colours of lines in one panel; markers and dashes tell them apart too."""


def ink_on(ground: str) -> str:
    """Dark or white ink, whichever can be read on the ground; black on middling grounds."""
    ink = best_ink(ground, (INK, PAPER))
    # Black or white passes AA on any ground, the house's ink does not.
    return ink if contrast_ratio(ink, ground) >= AA_TEXT else best_ink(ground, (BLACK, PAPER))


def use_colour(use: int) -> str:
    """Fill of a use class; the last one stands for all that follow."""
    return USES[min(use, len(USES) - 1)]


def shade(share: float) -> str:
    """Fill of a value on a scale from pale (0) to deep (1). The colours of the use classes, joined
    so that L* of CIE 1976, `116 Y^(1/3) - 16` (luminance Y above 0.009), falls evenly: it can be
    read in grey."""
    places, parts = _scale()
    red, green, blue = (float(np.interp(share, places, part)) for part in parts)
    return to_hex((red, green, blue))


@cache
def _scale() -> tuple[np.ndarray, np.ndarray]:
    """Places of the use colours on a scale of even lightness, and their red, green and blue."""
    light = np.array([116.0 * relative_luminance(colour) ** (1 / 3) - 16.0 for colour in USES])
    return (light[0] - light) / (light[0] - light[-1]), np.array([to_rgb(c) for c in USES]).T
