"""What a user may write of a town's supply: intake, wells, water plant, tanks, mains."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import (
    Duration,
    Flow,
    Length,
    RiverFlow,
    Share,
    Volume,
)
from hydroloop.scenario.schema_units import Disinfection, PlantBasins

_STANDARD = "35 Ill. Adm. Code 604"


class Intake(Part):
    """Where a town takes water from a river or a reservoir."""

    river: str | None = key(None, "name of the river", computed="none if a reservoir is named")
    at: Length | None = key(None, "distance below the river's head", computed="needed with river")
    reservoir: str | None = key(
        None, "name of the reservoir, instead of a river", computed="none if a river is named"
    )
    capacity: Flow | None = key(
        None, "most that the intake can take", computed="the plant's capacity with its own losses"
    )
    permit: Flow | None = key(
        None, "most that the town may take", computed="no limit but the capacity"
    )
    minimum_flow: RiverFlow | None = key(
        None, "flow that must pass the intake", computed="the river's minimum_flow"
    )


class Point(Part):
    """A place on a river."""

    river: str = key(..., "name of the river")
    at: Length = key(..., "distance below the river's head")


class Wells(Part):
    """Wells that pump from groundwater to the clearwell."""

    capacity: Flow = key(..., "most that the wells can pump")
    aquifer: str | None = key(
        None, "name of a shared aquifer", computed="the groundwater under the town itself"
    )


class Plant(Part):
    """The water-treatment plant, in its steps."""

    capacity: Flow | None = key(
        None,
        "most treated water the plant can make",
        computed="2 times the town's average demand (maximum day 1.5 times the average, 35 Ill. "
        "Adm. Code 653.105, and room to spare)",
    )
    rapid_mix: Duration = key(
        "30 s",
        "time at capacity in the rapid mix",
        usual=("1 s", "2 min"),
        source="Wis. Adm. Code NR 811.47: at most 30 s",
    )
    flocculation: Duration = key(
        "30 min",
        "time at capacity in flocculation, with one unit out",
        usual=("15 min", "1 hour"),
        source=f"{_STANDARD}.510(c): at least 30 min",
    )
    sedimentation: Duration = key(
        "4 hour",
        "time at capacity in sedimentation, with one unit out",
        usual=("1 hour", "8 hour"),
        source=f"{_STANDARD}.515(a): at least 4 h",
    )
    filters: Duration = key(
        "15 min",
        "time at capacity in the filters, with one unit out",
        usual=("5 min", "1 hour"),
        source="AWWA/ASCE, Water Treatment Plant Design, p. 10.8: about 15 min at 4 gpm/ft2",
    )
    clearwell: Duration = key(
        "4 hour",
        "time at capacity in the clearwell, where chlorine works",
        usual=("30 min", "24 hour"),
        source="common practice",
    )
    backwash: Share = key(
        "2 %",
        "share of filtered water used to wash the filters",
        usual=("0.3 %", "10 %"),
        source="a wash of 150 gal/ft2 in a run of 7,500 gal/ft2, the middle of "
        "the ranges in a paper on filter run volumes (read in its abstract)",
    )
    backwash_to: Literal["sewer", "river", "plant"] = key(
        "sewer",
        "where wash water goes: sewer, river or plant (back to its head)",
        source="common practice",
    )
    sludge: Share = key(
        "0.3 %",
        "share of raw water that leaves with the sludge of sedimentation",
        usual=("0.05 %", "3 %"),
        source="common practice",
    )
    basins: PlantBasins = Field(default_factory=PlantBasins)
    disinfection: Disinfection = Field(default_factory=Disinfection)


class Tanks(Part):
    """Storage tanks for treated water, the water tower among them."""

    volume: Volume | None = key(
        None,
        "volume when full",
        computed="one average day of demand (Wyo. Water Quality Rules ch. 12 s. 13)",
    )
    start: Share | None = key(
        None,
        "how full they are on the first day",
        usual=("30 %", "100 %"),
        computed="as the run-up leaves them; 80 % without a run-up",
    )
    refill: Duration = key(
        "1 day",
        "time over which a drawn-down tank is refilled; less than a day counts as a day",
        usual=("4 hour", "7 day"),
        source="common practice",
    )


class Mains(Part):
    """The pipes under the streets."""

    volume: Volume | None = key(
        None, "volume of the pipes", computed="half an average day of demand (common practice)"
    )
    real_losses: Share = key(
        "12 %",
        "share of the water put into the mains that leaks to the ground",
        usual=("3 %", "40 %"),
        source="EPA 2013, Water Audits and Water Loss Control: 16 % lost in "
        "all, metering in it, up to 75 % of it recoverable; validated audits "
        "of US utilities (Sturm et al. 2015, WRF 4372b, from memory): median "
        "near 40 gal/day a connection, on about 300 of use; England 2023-24 "
        "19 % (Environment Agency 2024)",
    )
