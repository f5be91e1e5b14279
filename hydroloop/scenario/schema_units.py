"""What a user may write of the unit processes of a plant: how many, how large, how much chlorine.

All may be left out: then the times of the plant's steps give the volumes, and the rules printed
here give number and shape.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Number, Share, ShortLength, Temperature, Volume

LEAST_COUNT = 4
"""Units of a process where the scenario does not say: with one out, three quarters remain."""

LARGEST_UNIT = {
    "rapid_mix": 100.0,
    "flocculation": 1000.0,
    "sedimentation": 5000.0,
    "filters": 250.0,
    "clearwell": 20_000.0,
    "primary": 4000.0,
    "aeration": 10_000.0,
    "final_settling": 5000.0,
    "contact": 2000.0,
}
"""Volume [m3] beyond which one more unit is built where the scenario does not say how many."""

_COUNT = f"{LEAST_COUNT}, or more where one would be very large (common practice)"
_TIMES = (
    "from the time given for this step of the plant, over the number of units; flocculation, "
    "sedimentation and filters have one unit to spare"
)


class Basin(Part):
    """One or more equal basins side by side; sizes are those of each."""

    count: int | None = key(None, "number of equal units", computed=_COUNT)
    volume: Volume | None = key(None, "volume of each", computed=_TIMES)
    length: ShortLength | None = key(
        None, "length of each, along the flow", computed="none; goes with width"
    )
    width: ShortLength | None = key(None, "width of each", computed="none; goes with length")
    diameter: ShortLength | None = key(
        None, "diameter of each, if round", computed="none; instead of length and width"
    )
    depth: ShortLength | None = key(
        None,
        "depth of water",
        usual=("1 m", "8 m"),
        source="common practice",
        computed="volume over area if both are given, else 12 ft",
    )


class SettlingTank(Basin):
    """One or more equal settling tanks; sizes are those of each."""

    depth: ShortLength | None = key(
        None,
        "depth of water",
        usual=("1 m", "8 m"),
        source="common practice",
        computed="volume over area if both are given, else 12 ft, or less where the overflow rate "
        "of the design standard asks for more area",
    )


class SettlingBasin(SettlingTank):
    """One or more equal settling basins with their weirs; sizes are those of each."""

    weir: ShortLength | None = key(
        None,
        "length of the weir over which the water of each leaves",
        computed="once round a round basin, else as long as 20,000 gpd/ft asks for at capacity",
    )


class Filters(Basin):
    """One or more equal filters; sizes are those of each."""

    depth: ShortLength | None = key(
        None,
        "depth of water in and over the bed",
        usual=("1 m", "4 m"),
        source="common practice",
        computed="8 ft, so that 15 min stand for 4 gpm/ft2 (AWWA/ASCE, Water Treatment Plant "
        "Design, p. 10.8)",
    )
    media: Literal["single", "multi"] = key(
        "multi", "single (sand alone) or multi (sand under anthracite)", source="common practice"
    )


class Clearwell(Basin):
    """One or more equal clearwells, where chlorine works; sizes are those of each."""

    baffling: Literal["unbaffled", "poor", "average", "superior", "perfect"] = key(
        "poor",
        "how well walls keep the water from taking a short way",
        source="AWWA/ASCE, Water Treatment Plant Design, Table 10.3; poor to be on the safe side",
    )
    baffling_factor: Share | None = key(
        None,
        "share of the mean time within which a tenth of the water has passed, measured with "
        "a tracer",
        computed="from baffling: 0.1, 0.3, 0.5, 0.7 or 1.0",
    )


class Disinfection(Part):
    """Chlorine and what it must do before the water reaches the first customer."""

    chlorine_mg_per_l: Number = key(
        2.0,
        "free chlorine where the water leaves the clearwell, in mg/L; the dose is what that takes",
        usual=(0.2, 4.0),
        source="40 CFR 141.72: not below 0.2 mg/L at entry; 40 CFR 141.65: at most 4.0 mg/L; the "
        "default is common practice, and leaves 0.2 mg/L in water four days old in a warm month",
    )
    ph: Number = key(
        7.5, "pH in the clearwell", usual=(6.5, 8.5), source="40 CFR 143.3: 6.5 to 8.5"
    )
    temperature: Temperature = key(
        "0.5 C",
        "coldest water of the year",
        usual=("0 C", "25 C"),
        source="the coldest of the published contact tables, to be on the safe side",
    )
    treatment: Literal["conventional", "direct", "groundwater", "none"] | None = key(
        None,
        "what is done before disinfection: conventional (with sedimentation), direct "
        "(filtration without it), groundwater (nothing needed but virus removal) or none",
        computed="conventional with an intake, groundwater with wells alone",
    )


class PlantBasins(Part):
    """The unit processes of the water-treatment plant."""

    rapid_mix: Basin = Field(default_factory=Basin)
    flocculation: Basin = Field(default_factory=Basin)
    sedimentation: SettlingBasin = Field(default_factory=SettlingBasin)
    filters: Filters = Field(default_factory=Filters)
    clearwell: Clearwell = Field(default_factory=Clearwell)


class WastewaterBasins(Part):
    """The unit processes of the wastewater-treatment plant."""

    primary: SettlingTank = Field(default_factory=SettlingBasin)
    aeration: Basin = Field(default_factory=Basin)
    final_settling: SettlingTank = Field(default_factory=SettlingBasin)
    contact: Basin = Field(default_factory=Basin)
