"""What a user may write of a town and its water works, one class a part."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import (
    Area,
    Count,
    Depth,
    Duration,
    Flow,
    Number,
    PerPerson,
    RiverFlow,
    Share,
    SmallArea,
    Volume,
)
from hydroloop.scenario.schema_growth import Growth
from hydroloop.scenario.schema_river import interflow_recession, interflow_share
from hydroloop.scenario.schema_supply import Intake, Mains, Plant, Point, Tanks, Wells
from hydroloop.scenario.schema_units import WastewaterBasins

PEOPLE_PER_KM2 = 1500.0  # common practice, where a town's area is not given


class Homes(Part):
    """Water used inside homes."""

    use_per_person: PerPerson = key(
        "58.6 gal/person/day",
        "water used indoors by a person",
        usual=("25 gal/person/day", "120 gal/person/day"),
        source="DeOreo et al. 2016, Residential End Uses of Water v2, WRF 4309b (from memory)",
    )
    toilets: Share = key(
        "24 %",
        "share of indoor use that flushes toilets",
        usual=("10 %", "40 %"),
        source="DeOreo et al. 2016: 33 of 138 gal a household and day",
    )
    baths: Share = key(
        "23 %",
        "share of indoor use in showers and baths",
        usual=("10 %", "40 %"),
        source="DeOreo et al. 2016: 28 + 4 of 138",
    )
    laundry: Share = key(
        "18 %",
        "share of indoor use in washing machines and dishwashers",
        usual=("8 %", "35 %"),
        source="DeOreo et al. 2016: 23 + 2 of 138",
    )
    consumed: Share = key(
        "10 %",
        "share of indoor use that evaporates or leaves with products instead of returning",
        usual=("2 %", "30 %"),
        source="Solley et al. 1993, USGS Circular 1081: 10 to 50 % of deliveries, yards included; "
        "the low end, as yards are counted apart",
    )
    septic: Share = key(
        "0 %",
        "share of homes with on-site systems, whose water goes to the ground",
        usual=("0 %", "100 %"),
        source="a local fact",
    )
    plumbing: Volume = key(
        "0.1 m3",
        "water that stands in the pipes and tanks of a home, for each person",
        usual=("0.02 m3", "0.5 m3"),
        source="common practice: a 40 gal water heater a household, cisterns and pipes",
    )


class Yards(Part):
    """Lawns and gardens that are watered."""

    area_per_person: SmallArea = key(
        "40 m2",
        "watered area for each person",
        usual=("0 m2", "300 m2"),
        source="common practice; gives with a temperate summer near 30 gal/person/day",
    )
    crop_coefficient: Number = key(
        0.8,
        "water use of the lawn over that of the reference crop",
        usual=(0.5, 1.1),
        source="Allen et al. 1998, FAO-56, Table 12 "
        "(from memory): turf 0.85 to 0.95; most yards are kept drier",
    )
    efficiency: Share = key(
        "75 %",
        "share of the water applied that reaches the soil",
        usual=("50 %", "95 %"),
        source="common practice for sprinklers",
    )
    soil_depth: Depth = key(
        "60 mm",
        "water that a yard's root zone can hold",
        usual=("20 mm", "150 mm"),
        source="Allen et al. 1998, FAO-56, Table "
        "19 (from memory): loam, with roots of half a metre",
    )
    soil_start: Share | None = key(
        None,
        "how full that root zone is on the first day",
        usual=("0 %", "100 %"),
        computed="as the run-up leaves it; half full without a run-up",
    )


class Workplaces(Part):
    """Water used in shops, schools, offices and works."""

    use_per_person: PerPerson = key(
        "33 gal/person/day",
        "water used at workplaces for each person of the town",
        usual=("5 gal/person/day", "120 gal/person/day"),
        source="USGS 2015 (Dieter & Maupin 2017, Dieter 2018): public supply 138, homes 83, losses "
        "of all kinds 16 %, 22 gal/person/day; the rest",
    )
    consumed: Share = key(
        "15 %",
        "share that evaporates or leaves with products",
        usual=("2 %", "60 %"),
        source="common practice; cooling raises it",
    )
    toilets: Share = key(
        "30 %",
        "share of the water used at workplaces that flushes toilets and urinals",
        usual=("5 %", "65 %"),
        source="U.S. EPA 2012, WaterSense at Work (from memory): restrooms "
        "take 30 to 45 % of the water of hotels, hospitals, offices and schools, most of it to "
        "flush; 63 % in British offices (from memory); works use less",
    )


class Sewers(Part):
    """The pipes that collect wastewater."""

    kind: Literal["separate", "combined"] = key(
        "separate",
        "separate, or combined (street rain in the same pipe)",
        source="common practice: separate since the middle of the 20th century",
    )
    capacity: Flow | None = key(
        None,
        "most that the sewers carry to the wastewater plant; more overflows to the river",
        computed="4 times the average dry-weather flow if separate, 5 times if combined (common "
        "practice)",
    )
    infiltration: PerPerson = key(
        "20 gal/person/day",
        "groundwater that seeps into the sewers, the mean of many years; it "
        "rises and falls with the water table, and has no upper limit but the water there is",
        usual=("0 gal/person/day", "80 gal/person/day"),
        source="40 CFR 35.2005(b)(28): not excessive while base flow and infiltration stay under "
        "120 gal/person/day",
    )
    storm_share: Share | None = key(
        None,
        "share of street and roof runoff that gets into the sewers",
        computed="2 % if separate (common practice), 100 % if combined",
    )
    travel_time: Duration = key(
        "4 hour",
        "time wastewater takes to the plant on a dry day",
        usual=("30 min", "24 hour"),
        source="common practice",
    )
    storage: Volume | None = key(
        None,
        "water the sewers can hold before they overflow",
        computed="the flow at capacity over the travel time",
    )


class Wastewater(Part):
    """The wastewater-treatment plant, in its steps."""

    design_flow: Flow | None = key(
        None,
        "average flow that the plant is built for, infiltration and storm water in it; "
        "permits call it the design flow",
        computed="1.2 times the average dry-weather flow: 40 CFR 35.2120(c) does not call "
        "infiltration excessive up to 120 gal/person/day in all, and new sewers count on 100 (35 "
        "Ill. Adm. Code 370.310(a)(1))",
    )
    capacity: Flow | None = key(
        None,
        "most that gets the full treatment; what comes beyond bypasses aeration in wet weather",
        computed="2.7 times the design flow (peak hour over the average of a year, CE License "
        "Review ch. 9)",
    )
    primary: Duration = key(
        "2 hour",
        "time at design flow in primary settling",
        usual=("1 hour", "3 hour"),
        source="Lin 2007, Water and Wastewater Calculations Manual: 1 to 3 h, typically 2",
    )
    aeration: Duration = key(
        "6 hour",
        "time at design flow in aeration",
        usual=("3 hour", "36 hour"),
        source="Metcalf & Eddy (as given on an "
        "exam page): 4 to 8 h for conventional activated sludge",
    )
    final_settling: Duration = key(
        "2.5 hour",
        "time at design flow in final settling",
        usual=("1.5 hour", "6 hour"),
        source="Metcalf & Eddy (from memory): 2 to 3 h",
    )
    contact: Duration = key(
        "45 min",
        "time at design flow in the disinfection contact tank",
        usual=("15 min", "2 hour"),
        source="10 CSR 20-8.190(3)(A): at least "
        "15 min at peak hour, which is 2 to 3 times the average in a town",
    )
    sludge: Share = key(
        "0.4 %",
        "share of the wastewater that leaves with the sludge",
        usual=("0.1 %", "2 %"),
        source="UNSW CVEN3502 workshop: 79,800 of 20,000,000 L a day",
    )
    basins: WastewaterBasins = Field(default_factory=WastewaterBasins)


class BuiltFor(Part):
    """What a town's works are built for, where their sizes are not given one by one."""

    demand: Flow | None = key(
        None,
        "average demand that the water plant, tanks and mains are built for",
        computed="that of the people in the scenario's file; changes of a run leave it",
    )
    sewage: Flow | None = key(
        None,
        "average dry-weather flow that the sewers and the wastewater plant are built for",
        computed="that of the people in the scenario's file; changes of a run leave it",
    )


class Land(Part):
    """The ground the town stands on: rain, runoff, soil and groundwater."""

    area: Area | None = key(
        None,
        "area of the town",
        computed="1,500 people to a square kilometre (common practice), those "
        "in the scenario's file; changes of a run leave it",
    )
    paved: Share = key(
        "38 %",
        "share of the area that is roofs and streets",
        usual=("5 %", "90 %"),
        source="USDA SCS 1986, TR-55, Table 2-2a: lots of a quarter acre, 38 %",
    )
    curve_number: Number = key(
        74.0,
        "runoff curve number of the ground that is not paved, at "
        "average moisture; dry soil sheds less, wet soil more; lawns in "
        "good condition have 39, 61, 74 and 80 on soil groups A (deep "
        "sand) to D (clay)",
        usual=(30, 95),
        source="USDA SCS 1986, TR-55, Table 2-2a: open space in good condition, soil group C",
    )
    soil_depth: Depth = key(
        "120 mm",
        "water that the soil can hold for plants",
        usual=("40 mm", "300 mm"),
        source="Allen et al. 1998, FAO-56, Table 19 (from memory)",
    )
    depression: Depth = key(
        "2 mm",
        "rain that the hollows of pavement hold until it evaporates",
        usual=("0.5 mm", "5 mm"),
        source="common practice; TR-55 gives paved "
        "ground a curve number of 98, that is 1 mm before runoff",
    )
    aquifer: str | None = key(
        None, "name of a shared aquifer below", computed="groundwater of its own"
    )
    soil_start: Share | None = key(
        None,
        "how full the soil is on the first day",
        usual=("0 %", "100 %"),
        computed="as the run-up leaves it; half full without a run-up",
    )
    snow_start: Depth | None = key(
        None,
        "water that lies as snow on the first day",
        usual=("0 mm", "500 mm"),
        computed="as the run-up leaves it; none without a run-up",
    )
    baseflow: RiverFlow | None = key(
        None,
        "baseflow of the town's own groundwater on the first day, which tells how high it stands",
        computed="as the run-up leaves it: that of the recharge and leaks that the years before "
        "hold up; without a run-up, of 150 mm a year",
    )
    storage: Depth = key(
        "1500 mm",
        "depth of groundwater stored when recharge is 150 mm a year; "
        "also on the first day, where there is no run-up, baseflow is given, or "
        "wells take more than seeps in",
        usual=("200 mm", "20000 mm"),
        source="common practice: 10 m of sand and gravel with a drainable porosity of 15 %",
    )
    recession: Duration = key(
        "90 day",
        "time in which its baseflow falls to 37 % without recharge",
        usual=("14 day", "400 day"),
        source="from memory: daily recession ratios of groundwater 0.93 to "
        "0.995, that is 14 to 200 days",
    )
    interflow_share: Share = interflow_share()
    interflow_recession: Duration = interflow_recession()


class Reuse(Part):
    """Treated wastewater that is used again before it reaches the river."""

    yards: Flow = key(
        "0 m3/day", "most that goes to yards, in place of tap water", source="a local decision"
    )
    groundwater: Flow = key(
        "0 m3/day", "most that is led into the ground", source="a local decision"
    )
    plant: Flow = key(
        "0 m3/day",
        "most that goes to the head of the water-treatment plant",
        source="a local decision, where law allows it",
    )
    reservoir: Flow = key("0 m3/day", "most that goes to a reservoir", source="a local decision")
    into: str | None = key(None, "name of that reservoir", computed="needed with reservoir")
    tank: Volume | None = key(
        None, "volume of the reclaimed-water tank", computed="one day of all its routes together"
    )


class Town(Part):
    """A town: people, an intake and an outfall; all else has a default."""

    name: str | None = key(
        None,
        "what it is called on every page and in every picture",
        computed="its key in words: NAME",
    )
    people: Count = key(..., "people who live there", usual=(100, 20_000_000))
    intake: Intake | None = key(
        None,
        "where it takes river or reservoir water",
        computed="none; then wells or imported water must be given",
    )
    outfall: Point = key(..., "where treated wastewater returns to a river")
    wells: Wells | None = key(None, "wells", computed="none")
    imported: Flow = key(
        "0 m3/day", "most that can be bought from outside the map", source="a local fact"
    )
    storm_outlet: Point | None = key(
        None, "where street rain reaches a river, untreated", computed="at the outfall"
    )
    plant: Plant = Field(default_factory=Plant)
    tanks: Tanks = Field(default_factory=Tanks)
    mains: Mains = Field(default_factory=Mains)
    homes: Homes = Field(default_factory=Homes)
    yards: Yards = Field(default_factory=Yards)
    workplaces: Workplaces = Field(default_factory=Workplaces)
    sewers: Sewers = Field(default_factory=Sewers)
    wastewater: Wastewater = Field(default_factory=Wastewater)
    built_for: BuiltFor = Field(default_factory=BuiltFor)
    land: Land = Field(default_factory=Land)
    reuse: Reuse = Field(default_factory=Reuse)
    growth: Growth = Field(default_factory=Growth)
