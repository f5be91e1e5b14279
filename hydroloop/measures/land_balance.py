"""Balance of the land in depth: where the rain went, and what soil and ground hold."""

from __future__ import annotations

import numpy as np

from hydroloop.measures.run_arrays import Run

_GROUND = "groundwater"
_LAND = ("snow", "pavement", "storm_drains", "soil", "yards", "subsoil")
LAND_TERMS = (
    "rain",
    "watering",
    "evaporation",
    "runoff and interflow",
    "recharge",
    "change of soil and snow",
    "leaks and reuse",
    "baseflow",
    "sewers and wells",
    "change of groundwater",
)
# Of the rain, what storage may change by although no other weather explains it: soils differ.
_ROOM = 0.05
_A_YEAR = 360.0


def land_balance(run: Run) -> tuple[list[str], np.ndarray]:
    """Balance of the land in depth.

    Where the rain on each piece of land went in the season, as depth over its area, and how much
    soil, snow and groundwater hold more or less at its end. It says nothing of rivers.

    Parameters
    ----------
    run : Run
        Arrays of the record, with the weather.

    Returns
    -------
    tuple of list of str and numpy.ndarray
        Pieces of land, none without weather or rain, and their terms, shape (land, term, member)
        [mm].

    Notes
    -----
    rain + watering = evaporation + runoff and interflow + recharge + change of soil and snow;
    recharge + leaks and reuse = baseflow + sewers and wells + change of groundwater. A shared
    aquifer stands for all the land over it, that of its towns included; for one of its towns, what
    seeps into it is recharge, and the terms of groundwater are NaN. The area is the volume of rain
    over its depth.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import run_of
    >>> land, depth = land_balance(run_of(hl.simulate(hl.read_scenario("first_town"))))
    >>> rain, watering, *out = depth[land.index("larkmill"), :6]
    >>> bool(abs(rain + watering - sum(out)) < 1e-9)
    True
    """
    rows: dict[str, np.ndarray] = {}
    if run.rain_mm is None:
        return [], np.zeros((0, len(LAND_TERMS), run.op.shape[2]))
    rain_mm, ends = run.rain_mm.sum(axis=0), _Ends(run)
    for place in dict.fromkeys(run.op.places):
        terms = _terms(run, ends, place)
        if np.all(terms[0] > 0.0):
            rows[place] = terms * (rain_mm / terms[0])
    return list(rows), np.array(list(rows.values())).reshape(-1, len(LAND_TERMS), run.op.shape[2])


def unexplained_storage(run: Run, depth: np.ndarray) -> np.ndarray:
    """By how much the land's storage changes more than the weather explains.

    Parameters
    ----------
    run : Run
        Arrays of the record, with the weather.
    depth : numpy.ndarray
        What `land_balance` gives, shape (land, term, member) [mm].

    Returns
    -------
    numpy.ndarray
        Shape (land, member) [mm].

    Notes
    -----
    Weather explains a change of storage up to the difference of the season's rain from that of as
    many days of the years before; in a season of less than a year up to the difference of rain and
    reference evaporation, for storage falls every summer; and 5 % of the rain besides.
    """
    change = sum(
        np.nan_to_num(depth[:, LAND_TERMS.index(term)])
        for term in ("change of soil and snow", "change of groundwater")
    )
    rain, days = depth[:, LAND_TERMS.index("rain")], float(run.days.sum())
    if days >= _A_YEAR and run.usual_rain_mm is not None:
        explained = np.abs(rain - days * run.usual_rain_mm)
    else:
        explained = np.abs(rain - (0.0 if run.et0_mm is None else run.et0_mm.sum(axis=0)))
    beyond = np.maximum(0.0, np.abs(change) - explained - _ROOM * rain)
    return np.asarray(np.sign(change) * beyond)


class _Ends:
    """Roles and places of both ends of every flow, empty at a boundary."""

    def __init__(self, run: Run):
        op = run.op
        self.place = np.array([*op.places, ""], dtype=str)
        self.role = np.array([*op.roles, ""], dtype=str)
        self.is_land, self.is_ground = np.isin(self.role, _LAND), self.role == _GROUND
        self.from_rain, self.to_sky = (
            (end < 0) & (np.array(op.outside) == name)
            for end, name in ((op.source, "rain"), (op.target, "sky"))
        )
        self.to_river = np.isin(self.role, ("reach", "streams"))[op.target]
        self.from_land = self.is_land[op.source]
        self.seeps = (np.array(op.kinds) == "percolation") & (self.role[op.target] == "subsoil")


def _terms(run: Run, ends: _Ends, place: str) -> np.ndarray:
    """Terms of one piece of land [m3], in their order."""
    source, target = run.op.source, run.op.target
    here = ends.place == place
    # Places whose land seeps into the subsoil of this one lie over it.
    above = ends.place[source[ends.seeps & here[target]]]
    over = np.isin(ends.place, [place, *above]) & (ends.place != "")
    land, ground = over & ends.is_land, here & ends.is_ground
    to_ground = (ends.is_ground | ((ends.role == "subsoil") & ~over))[target]
    enters_land, leaves_land = land[target] & ~land[source], land[source] & ~land[target]
    enters_ground = ground[target] & ~ground[source]
    leaves_ground = ground[source] & ~ground[target]
    masks = (
        enters_land & ends.from_rain,
        enters_land & ~ends.from_rain,
        leaves_land & ends.to_sky,
        leaves_land & ~ends.to_sky & ~to_ground,
        leaves_land & to_ground,
        enters_ground & ~ends.from_land,
        leaves_ground & ends.to_river,
        leaves_ground & ~ends.to_river,
    )
    flows = [run.moved[mask].sum(axis=0) for mask in masks]
    held = [run.stored[some[:-1]].sum(axis=0) for some in (land, ground)]
    of_ground = [*flows[5:], held[1]]
    if not ground.any():  # it lies over an aquifer that is a piece of land of its own
        of_ground = [np.full_like(term, np.nan) for term in of_ground]
    return np.stack([*flows[:5], held[0], *of_ground])
