"""What a user may write of rivers, reservoirs and shared groundwater."""

from __future__ import annotations

from typing import Any, Literal

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import (
    Area,
    Depth,
    Duration,
    Length,
    Months,
    Number,
    RiverFlow,
    Share,
    Speed,
    StoredVolume,
)


class FlowFile(Part):
    """A river's inflow read from a CSV file."""

    file: str = key(..., "CSV file with one row a day, beside the scenario file")
    column: str | None = key(
        None, "name of the column, without its unit", computed="the only flow column of the file"
    )
    gaps: Literal["refuse", "interpolate", "carry"] = key(
        "refuse",
        "what to do where days are missing: refuse, interpolate or carry (repeat the last value)",
        source="common practice: a gap is filled only when its owner says how",
    )
    scale: Number = key(
        1.0, "factor on all its flows", usual=(0.05, 5.0), source="a what-if, such as a drought"
    )


_CURVE_NUMBER = (
    "USDA SCS 1986, TR-55, Table 2-2 (b and c from memory): woods 60 and 73, pasture 69 and 79, "
    "row crops 78 and 85 on soil groups B and C; their mean. Choose for your own land"
)
_SOIL_DEPTH = (
    "Allen et al. 1998, FAO Irrigation and Drainage Paper 56, Tables 19 and 22 (from memory): loam "
    "holds 130 to 180 mm of water a metre, meadows and trees root 1 to 2 m deep; 300 mm is 2 m of "
    "it, and gives wet climates the runoff of gauged land"
)
_RECESSION = (
    "Brutsaert 2008, Water Resources Research 44 (from memory): 45 days, 15 more or less, for "
    "large basins; Singh & Stall 1971, WRR 7: 6.5 to 43 days in 22 basins of Illinois; daily "
    "recession ratios of groundwater 0.93 to 0.995, that is 14 to 200 days (from memory)"
)


def interflow_share() -> Any:
    """Key: which share of the percolation never gets to groundwater."""
    return key(
        "50 %",
        "share of the water below the roots that reaches the river soon, as interflow; the rest "
        "recharges groundwater",
        usual=("10 %", "90 %"),
        source="chosen so that the baseflow index of a river comes to 59 %, 7 more or less, the "
        "mean of 15,567 basins (Nature Geoscience 2024, abstract); 14 to 90 % in 54 streams of the "
        "US (Winter et al. 1998, USGS Circular 1139, from memory)",
    )


def interflow_recession() -> Any:
    """Key: how fast interflow recedes."""
    return key(
        "3 day",
        "time in which interflow falls to 37 %",
        usual=("2 day", "16 day"),
        source="from memory: daily recession ratios of interflow 0.7 to 0.94, that is 3 to 16 days",
    )


def runoff_recession() -> Any:
    """Key: how fast storm runoff recedes, which grows with the area."""
    return key(
        None,
        "time in which storm runoff in the streams falls to 37 %; it grows with their area",
        computed="0.43 days times the area in square miles to the power 0.2 (storm runoff ends "
        "A^0.2 days after its peak, Linsley et al. 1975, from memory; taken as a fall to a tenth)",
        usual=("1 hour", "5 day"),
    )


class River(Part):
    """A river, from its head down; places on it are distances below the head."""

    name: str | None = key(
        None,
        "what it is called on every page and in every picture",
        computed="its key in words: NAME",
    )
    length: Length = key(..., "length from the head to the end of the stretch followed")
    inflow: RiverFlow | FlowFile | None = key(
        None,
        "water that enters at the head: one flow, or a file with a column of daily flows",
        computed="none if a catchment is given, from whose rain the river then rises",
        usual=("0.01 m3/s", "20000 m3/s"),
    )
    catchment: Area | None = key(
        None,
        "land above the head. If no inflow is given its rain feeds the river: its soil, snow, "
        "ground and streams are stores. If one is, it says from how much land that comes",
        computed="none: the inflow is given",
        usual=("1 km2", "100000 km2"),
    )
    catchment_at_end: Area | None = key(
        None,
        "land above the end of the stretch, with that above the head and all tributaries. What "
        "lies between, less towns, tributaries and shared aquifers, gives its water to the river "
        "along its length: as much to an area as the land above the head",
        computed="for a river that rises from its catchment by its length, L = 1.4 A^0.6 in miles "
        "(Hack 1957, USGS PP 294-B, from memory); if the inflow is given: no land between",
        usual=("1 km2", "100000 km2"),
    )
    lateral_inflow: RiverFlow | FlowFile | None = key(
        None,
        "water that joins along the length, evenly: one flow, or a file, such as a second gauge "
        "with a scale of its own",
        computed="from catchment and catchment_at_end",
        usual=("0 m3/s", "20000 m3/s"),
    )
    curve_number: Number = key(
        74.0,
        "runoff curve number of the catchment at average moisture (0 to 100); dry soil sheds less, "
        "wet soil more",
        usual=(30, 98),
        source=_CURVE_NUMBER,
    )
    soil_depth: Depth = key(
        "300 mm",
        "water that the catchment's soil can hold for plants",
        usual=("50 mm", "400 mm"),
        source=_SOIL_DEPTH,
    )
    recession: Duration = key(
        "60 day",
        "time in which the catchment's baseflow falls to 37 % without rain",
        usual=("6 day", "200 day"),
        source=_RECESSION,
    )
    soil_start: Share | None = key(
        None,
        "how full the catchment's soil is on the first day",
        computed="as the run-up leaves it; half full without a run-up",
        usual=("0 %", "100 %"),
    )
    snow_start: Depth | None = key(
        None,
        "water that lies on the catchment as snow on the first day",
        computed="as the run-up leaves it; none without a run-up",
        usual=("0 mm", "500 mm"),
    )
    baseflow: RiverFlow | None = key(
        None,
        "baseflow of the catchment on the first day, which tells how high its groundwater stands",
        computed="as the run-up leaves it: that of the recharge that the years before hold up; "
        "without a run-up, of a fifth of the rain",
    )
    interflow_share: Share = interflow_share()
    interflow_recession: Duration = interflow_recession()
    runoff_recession: Duration | None = runoff_recession()
    used_before: list[Share] | Share = key(
        0.0,
        "share of the inflow that has been through homes above the head: one share (used once), or "
        "a list for never, once, twice and so on that adds up to 100 %",
        usual=("0 %", "50 %"),
        source="Rice & Westerhoff 2015, ES&T 49:982: half of 2,056 US intakes have no discharge "
        "upstream, and half of the others less than 1 % at average flow",
    )
    joins: str | None = key(None, "name of the river that this one flows into", computed="none")
    joins_at: Length | None = key(
        None, "where it joins, as a distance below that river's head", computed="its end"
    )
    minimum_flow: RiverFlow = key(
        "0 m3/day",
        "flow that every intake must leave in the river",
        source="a local decision; Tennant 1976 (Fisheries 1): 10 % of the average flow for "
        "short-term survival, 30 % for good survival",
    )
    minimum_flow_rule: Literal["fixed", "share_of_mean", "tennant", "7q10"] = key(
        "fixed",
        "how the minimum flow is set: fixed (minimum_flow), share_of_mean (of the river's own mean "
        "inflow), tennant (a share of it for October to March and another for April to September; "
        "turned by half a year in the south), 7q10 (lowest 7-day mean inflow once in 10 years). "
        "All but the first from the whole inflow file, not from the season alone",
        source="a local decision; 16 states of the US have used Tennant's shares (Colorado file "
        "documents)",
    )
    minimum_flow_share: Share = key(
        "30 %",
        "share of the mean inflow that every intake must leave (share_of_mean)",
        usual=("10 %", "100 %"),
        source="Tennant 1976, Fisheries 1: 10 % short-term survival, 30 % good survival, 60 % "
        "excellent to outstanding",
    )
    minimum_flow_class: Literal["poor", "fair", "good", "excellent", "outstanding"] = key(
        "good",
        "how well the river is to be kept (tennant)",
        source="Tennant 1976, Fisheries 1 (from memory): October-March and April-September 10/10, "
        "10/30, 20/40, 30/50, 40/60 % of the mean flow",
    )
    speed: Speed = key(
        "0.4 m/s",
        "speed of the water at the reference flow",
        usual=("0.05 m/s", "2.5 m/s"),
        source="common practice; Jobson 1996 (USGS WRI 96-4013) gives equations from drainage area",
    )
    reference_flow: RiverFlow | None = key(
        None, "flow at which the speed holds", computed="the mean inflow over the season"
    )
    speed_exponent: Number = key(
        0.34,
        "power of flow with which the speed grows; travel time lengthens as flow falls",
        usual=(0.1, 0.6),
        source="Leopold & Maddock 1953, USGS Professional Paper 252: 0.34 at a station (from "
        "memory)",
    )
    width: Length | None = key(
        None,
        "mean width of the water surface, for rain on the river and evaporation from it",
        computed="4.8 m times the square root of the reference flow in m3/s (hydraulic geometry, "
        "Leopold & Maddock 1953, exponent 0.5; coefficient from memory)",
        usual=("1 m", "2 km"),
    )
    cell: Length = key(
        "20 km",
        "longest stretch that counts as one well-mixed store; shorter cells spread a pulse less",
        usual=("1 km", "50 km"),
        source="tanks in series: the variance of travel time is its square over the number of "
        "stores",
    )


class Reservoir(Part):
    """A reservoir on a river."""

    name: str | None = key(
        None,
        "what it is called on every page and in every picture",
        computed="its key in words: NAME",
    )
    river: str = key(..., "name of the river it stands in")
    at: Length = key(..., "distance of its dam below the river's head")
    capacity: StoredVolume = key(..., "volume when full")
    area: Area = key(..., "water surface when full, for rain and evaporation")
    start: Share | None = key(
        None,
        "how full it is on the first day",
        usual=("20 %", "100 %"),
        computed="as the run-up leaves it, which begins 80 % full (common practice); 80 % without "
        "a run-up",
    )
    dead_storage: Share = key(
        "5 %",
        "share of the capacity that cannot be released or withdrawn",
        usual=("0 %", "30 %"),
        source="common practice",
    )
    release: RiverFlow | Months | None = key(
        None,
        "flow let out to the river below: one flow, or twelve, January to December; a full "
        "reservoir spills besides",
        computed="the minimum flow of its river, however that is set",
    )


class Aquifer(Part):
    """Groundwater under several towns and the open land between them, which they share."""

    name: str | None = key(
        None,
        "what it is called on every page and in every picture",
        computed="its key in words: NAME",
    )
    area: Area = key(
        ...,
        "area of the aquifer, the land of the towns on it included; the rest is "
        "open land with a soil of its own",
        usual=("1 km2", "5000 km2"),
    )
    river: str = key(..., "name of the river into which it drains")
    at: Length = key(..., "where it drains, as a distance below the river's head")
    storage: Depth = key(
        "1500 mm",
        "depth of water stored when recharge is 150 mm a year (thickness times drainable "
        "porosity); also on the first day, where there is no run-up, baseflow is given, or wells "
        "take more than seeps in",
        usual=("200 mm", "20000 mm"),
        source="common practice: 10 m of sand and gravel with a drainable porosity of 15 %",
    )
    recession: Duration = key(
        "90 day",
        "time in which its baseflow falls to 37 % without recharge",
        usual=("14 day", "400 day"),
        source="from memory: daily recession ratios of groundwater 0.93 to 0.995, that is 14 to "
        "200 days",
    )
    baseflow: RiverFlow | None = key(
        None,
        "baseflow on the first day, which tells how high its groundwater stands",
        computed="as the run-up leaves it: that of the recharge that the years before hold up; "
        "without a run-up, that of a recharge of 21 % of the rain on its open ground (mean of "
        "15,567 basins, Nature Geoscience 2024, abstract), leaks added",
    )
    curve_number: Number = key(
        74.0,
        "runoff curve number of its open land at average moisture (0 to 100)",
        usual=(30, 98),
        source=_CURVE_NUMBER,
    )
    soil_depth: Depth = key(
        "300 mm",
        "water that the soil of its open land can hold for plants",
        usual=("50 mm", "400 mm"),
        source=_SOIL_DEPTH,
    )
    interflow_share: Share = interflow_share()
    interflow_recession: Duration = interflow_recession()
    runoff_recession: Duration | None = runoff_recession()
