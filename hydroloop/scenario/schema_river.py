"""What a user may write of rivers, reservoirs and shared groundwater."""

from __future__ import annotations

from typing import Literal

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


class River(Part):
    """A river, from its head down; places on it are distances below the head."""

    length: Length = key(..., "length from the head to the end of the stretch followed")
    inflow: RiverFlow | FlowFile | None = key(
        None,
        "water that enters at the head: one flow, or a file with a column of daily flows",
        computed="none if a catchment is given, from whose rain the river then rises",
        usual=("0.01 m3/s", "20000 m3/s"),
    )
    catchment: Area | None = key(
        None,
        "land above the head whose rain feeds the river; its soil, snow and groundwater are stores",
        computed="none: the inflow is given",
        usual=("1 km2", "100000 km2"),
    )
    curve_number: Number = key(
        70.0,
        "runoff curve number of the catchment (0 to 100)",
        usual=(30, 98),
        source="USDA SCS 1986, TR-55, Table 2-2: 70 lies among woods and meadows on soil groups B "
        "and C; choose for your own land",
    )
    soil_depth: Depth = key(
        "150 mm",
        "water that the catchment's soil can hold for plants",
        usual=("50 mm", "300 mm"),
        source="Allen et al. 1998, FAO Irrigation and Drainage Paper 56, Table 19 (from memory): "
        "loam holds 130 to 180 mm of water a metre",
    )
    recession: Duration = key(
        "45 day",
        "time in which the catchment's baseflow falls to 37 % without rain",
        usual=("10 day", "200 day"),
        source="from memory: daily recession ratios of groundwater 0.93 to 0.995, that is 14 to "
        "200 days",
    )
    soil_start: Share | None = key(
        None, "how full the catchment's soil is on the first day",
        computed="as the run-up leaves it; half full without a run-up", usual=("0 %", "100 %"))
    snow_start: Depth | None = key(
        None, "water that lies on the catchment as snow on the first day",
        computed="as the run-up leaves it; none without a run-up", usual=("0 mm", "500 mm"))
    baseflow: RiverFlow | None = key(
        None, "baseflow of the catchment on the first day, which tells how high its groundwater "
        "stands",
        computed="as the run-up leaves it: that of the recharge that the years before hold up; "
        "without a run-up, of a fifth of the rain")
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
    minimum_flow_class: Literal[
        "poor", "fair", "good", "excellent", "outstanding"
    ] = key(
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

    river: str = key(..., "name of the river it stands in")
    at: Length = key(..., "distance of its dam below the river's head")
    capacity: StoredVolume = key(..., "volume when full")
    area: Area = key(..., "water surface when full, for rain and evaporation")
    start: Share | None = key(
        None, "how full it is on the first day", usual=("20 %", "100 %"),
        computed="as the run-up leaves it, which begins 80 % full (common practice); 80 % without "
        "a run-up")
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
    """Groundwater under several towns, which they share."""

    area: Area = key(..., "area of the aquifer", usual=("1 km2", "5000 km2"))
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
        "without a run-up, of 150 mm a year over its area",
    )
