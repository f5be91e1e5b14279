"""Curve numbers of the covers of a town, by soil group."""

from __future__ import annotations

import difflib

from hydroloop.errors import AskError, Problem

SOIL_GROUPS = "ABCD"

# USDA SCS 1986, TR-55, Table 2-2a: soil groups A (deep sand) to D (clay), average moisture.
CURVE_NUMBERS: dict[str, tuple[float, float, float, float]] = {
    "paved": (98, 98, 98, 98),
    "open space, good": (39, 61, 74, 80),
    "open space, fair": (49, 69, 79, 84),
    "open space, poor": (68, 79, 86, 89),
    "commercial": (89, 92, 94, 95),
    "industrial": (81, 88, 91, 93),
    "lots of 1/8 acre": (77, 85, 90, 92),
    "lots of 1/4 acre": (61, 75, 83, 87),
    "lots of 1/3 acre": (57, 72, 81, 86),
    "lots of 1/2 acre": (54, 70, 80, 85),
    "lots of 1 acre": (51, 68, 79, 84),
    "lots of 2 acres": (46, 65, 77, 82),
    "gravel road": (76, 85, 89, 91),
    "dirt road": (72, 82, 87, 89),
    "newly graded": (77, 86, 91, 94),
}


def curve_number_of(cover: str, soil_group: str) -> float:
    """Curve number of a cover on a soil group [-].

    How readily a kind of land sheds rain.
    At average moisture: the same land sheds less when dry and more when wet.

    Parameters
    ----------
    cover : str
        One of `CURVE_NUMBERS`
    soil_group : {"A", "B", "C", "D"}
        Hydrologic soil group, A deep sand to D clay

    Returns
    -------
    float
        Curve number [-]

    Raises
    ------
    AskError
        There is no such cover or soil group.

    References
    ----------
    USDA SCS 1986, TR-55, Table 2-2a.

    Examples
    --------
    >>> curve_number_of("open space, good", "C")
    74.0
    """
    if cover not in CURVE_NUMBERS:
        near = difflib.get_close_matches(cover, CURVE_NUMBERS, n=1)
        cure = f'Did you mean "{near[0]}"?' if near else f"There are {'; '.join(CURVE_NUMBERS)}."
        raise AskError(Problem("cover", f'there is no cover "{cover}".', cure))
    if len(soil_group) != 1 or soil_group not in SOIL_GROUPS:
        raise AskError(Problem("soil_group", f'there is no soil group "{soil_group}".', "A to D."))
    return float(CURVE_NUMBERS[cover][SOIL_GROUPS.index(soil_group)])
