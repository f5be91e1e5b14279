"""Printed numbers that ours do not meet, and why: what the validation page leads with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import hydroloop as hl
from hydroloop.measures import turnover_time
from hydroloop.weather import (
    curve_number_at,
    extraterrestrial_radiation_mj_per_m2,
    hargreaves_samani_mm,
    runoff_depth,
)


@dataclass(frozen=True)
class Unmet:
    """A printed number, ours, and why they differ by more than `near`."""

    source: str
    quantity: str
    printed: float
    near: float
    ours: Callable[[], float]
    units: str
    why: str


def _turnover(volume: float, flow: float) -> float:
    record = hl.steady_record({"store": flow}, {"store": flow / volume}, {}, steps=1)
    return float(turnover_time(record).item())


_WORLD = "Shiklomanov in UN WWDR 2003, Table 4.1"
UNMET = [
    Unmet(
        "TR-55 (1986) Table 2-1",
        "runoff of 7.0 in, curve number 50",
        1.68,
        0.005,
        lambda: float(runoff_depth(7.0 * 25.4, 50.0)) / 25.4,
        "in",
        "The handbook's own formula gives ours; the other 285 cells agree.",
    ),
    Unmet(
        "US EPA, physical features of the Great Lakes",
        "turnover of Lake Superior",
        191,
        0.5,
        lambda: _turnover(12_100.0, 75_600 * 0.3048**3 * 86400 * 365.25 / 1e9),
        "a",
        "The printed time needs a smaller outflow than the gauged one.",
    ),
    Unmet(
        _WORLD,
        "turnover of the world's rivers",
        16,
        0.5,
        lambda: 365.25 * _turnover(2_120.0, 43_000.0),
        "d",
        "It does not follow from the volume and the flow of the same table.",
    ),
    Unmet(
        _WORLD,
        "turnover of the ocean",
        2500,
        50,
        lambda: _turnover(1_338_000.0, 505.0),
        "a",
        "It does not follow from the volume and the flow of the same table.",
    ),
    Unmet(
        "Samani 2000, as given in McMahon et al. 2013, Example 13",
        "evaporation at Alice Springs from temperatures alone",
        4.1129,
        0.0005,
        lambda: float(
            hargreaves_samani_mm(2.0, 21.0, extraterrestrial_radiation_mj_per_m2(-23.7951, 202))
        ),
        "mm/d",
        "Printed with a coefficient that varies; ours is the fixed one of 1985. Days with few "
        "readings are a third off in dry country.",
    ),
    *(
        Unmet(
            "NEH 630 chapter 10, Table 10-1",
            f"curve number of {word} ground, average {number}",
            printed,
            0.5,
            lambda wetness=wetness, number=number: float(curve_number_at(wetness, float(number))),
            "-",
            "The table and the formula that is used for ground between dry and wet do not agree.",
        )
        for word, wetness, number, printed in (
            ("dry", 0.0, 70, 51),
            ("wet", 1.0, 40, 60),
            ("dry", 0.0, 60, 40),
        )
    ),
]
NOT_TRIED = """
**Not compared with anything printed**, because no worked example was found: travel time along a
river from its flow, a flow of seven days in ten years, reliability and resilience of a supply, the
spread of many runs. They are held by closed forms and by second routes. **Held only against a
range**: what drought rules save (two studies of the same year do not overlap), runoff, recharge and
baseflow of a catchment, infiltration into sewers, water age. Such a range says that a town is
plausible, not that it is right. **Not comparable**: floods routed by other rules than ours, and
forty years of lysimeters whose rain is not all accounted for; our account closes.
"""
