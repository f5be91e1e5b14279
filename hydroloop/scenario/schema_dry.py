"""What a user may write of a dry season."""

from __future__ import annotations

from typing import Literal

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Duration, Number, Share

METHODS = ("scale", "driest_year", "one_in_years", "year", "bootstrap")
USED_BY = {
    "years": ("one_in_years",),
    "days": ("one_in_years",),
    "frequency": ("one_in_years",),
    "judged_by": ("driest_year", "one_in_years"),
    "generate": ("driest_year", "one_in_years", "year"),
    "seed": ("bootstrap",),
    "block": ("bootstrap",),
}
"""Methods that ask for a key, where not all do."""
_LOW_FLOW = (
    "definition of the 7-day low flow once in 10 years, U.S. EPA (as given in a "
    "university exercise)"
)
_WHAT_IF = "a what-if"


class DrySeason(Part):
    """A season made dry: rain and river inflow changed together, day by day.

    The days of another year take the place of the season's own (driest_year, one_in_years, year,
    bootstrap), for the weather file and every inflow file alike; then the factors apply.
    """

    method: Literal["scale", "driest_year", "one_in_years", "year", "bootstrap"] = key(
        "scale",
        "how the season is made dry: scale (less rain, less inflow), driest_year (of the files, or "
        "of many generated years), one_in_years (as dry as comes once in so many years), year (one "
        "that you name), bootstrap (years of the files drawn at random)",
        source="common practice in drought plans: a factor, the drought of record, or a return "
        "period",
    )
    rain_scale: Share = key(
        "100 %",
        "rain that falls, as a share of the rain there would be",
        usual=("20 %", "100 %"),
        source=_WHAT_IF,
    )
    flow_scale: Share | None = key(
        None,
        "river inflow given, as a share of the inflow there would be; rivers that rise from "
        "a catchment follow the rain by themselves",
        computed="rain_scale to the power of flow_elasticity",
        usual=("5 %", "100 %"),
    )
    flow_elasticity: Number = key(
        2.0,
        "how much more inflow falls than rain: 1 % less rain makes so many percent less "
        "inflow; used where no river flow was measured",
        usual=(1.0, 3.5),
        source="Chiew 2006, Hydrological Sciences Journal 51:613 (from memory): 2 to 3.5 in most "
        "of Australia; Sankarasubramanian et al. 2001 (from memory): 1 to 2.5 in the United States",
    )
    warmer_by: Number = key(
        0.0,
        "degrees Celsius added to all temperatures, besides those of weather.warmer_by; "
        "evaporation and yard watering follow",
        usual=(0.0, 6.0),
        source=_WHAT_IF,
    )
    judged_by: Literal["flow", "rain"] | None = key(
        None,
        "what makes a year dry: the inflow of all files together, or the rain",
        computed="flow if a river has an inflow file, else rain",
    )
    years: Number = key(
        10.0,
        "return period in years: as dry as comes once in so many years (one_in_years)",
        usual=(2, 100),
        source=_LOW_FLOW,
    )
    days: Duration = key(
        "7 day",
        "days over which low flow is a mean (one_in_years by flow)",
        usual=("1 day", "90 day"),
        source=_LOW_FLOW,
    )
    frequency: Literal["log_pearson3", "ranks"] = key(
        "log_pearson3",
        "how the return period is found: log_pearson3 (a fit), or ranks (between "
        "the plotted years, for a short record; reaches to one year more than there are)",
        source="common practice for low flow; Weibull plotting positions for ranks",
    )
    generate: int | None = key(
        None,
        "generated years among which a dry one is looked for, where there is no file",
        computed="30 for driest_year; 10 times years, less one, for one_in_years; 99 where the "
        "inflow is measured and the weather generated",
        usual=(10, 1000),
    )
    year: int | None = key(
        None,
        "year of the files whose days are used: the year in which its season begins",
        computed="needed with method year",
    )
    seed: int = key(
        1,
        "seed of the lot (bootstrap): the same seed draws the same years",
        source="any whole number",
    )
    block: int = key(
        1,
        "years that are drawn together (bootstrap), so that dry years that follow each other "
        "stay together",
        usual=(1, 10),
        source="common practice: one year where a season is no longer than that",
    )
