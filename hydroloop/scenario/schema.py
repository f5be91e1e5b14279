"""What a user may write: the whole scenario.

Names are the keys of the file. The unit in which a value is held stands in its type
(`quantities.py`): m3, m3/d and d, and km, km2, mm and shares of one where the type says so.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, field_validator

from hydroloop.gates import CountAs
from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Angle, Day, Duration, Elevation, Number, Speed
from hydroloop.scenario.schema_dry import DrySeason
from hydroloop.scenario.schema_quality import Quality
from hydroloop.scenario.schema_river import Aquifer, Reservoir, River
from hydroloop.scenario.schema_stage import Stage
from hydroloop.scenario.schema_town import Town


class Season(Part):
    """The days that are run."""

    start: Day = key(..., "first day")
    end: Day = key(..., "last day, itself included")
    step: Duration = key(
        "1 day",
        "length of a step, from one hour to one day; a whole number of steps makes a day",
        usual=("1 hour", "1 day"),
        source="the daily step suits a season; hours show the peaks of a day",
    )
    run_up: Duration = key(
        "5 year",
        "time before the first day that soil, snow, groundwater, reservoirs and rivers "
        "step through, in whole years, so that they begin as its weather leaves them; 0 day turns "
        "it off, and they begin at first guesses",
        usual=("1 year", "10 year"),
        source="common practice: a year at least for soil and snow; "
        "groundwater is brought to the level that the years hold up",
    )
    warm_up: Literal["repeat", "steady", "none"] = key(
        "repeat",
        "how the past of the water on the first day is found: repeat the first year "
        "until it settles, the steady state of mean flows, or none (it counts as unknown)",
        source="see the explanation page on the operator",
    )
    count_as: CountAs = key(
        "home",
        "what counts as a use of the water: home, home-or-workplace, toilet, or "
        "wastewater-plant (that it came out of one)",
        source="defined here; see the explanation page on reuse",
    )

    @field_validator("step")
    @classmethod
    def _whole_steps(cls, step: float) -> float:
        """Exactly a part of the day, so that a rounded 0.3333333 day opens no account."""
        steps = round(1.0 / step) if step > 0 else 0
        return 1.0 / steps if steps else step


class Weather(Part):
    """Rain and temperature, from a file or made by the seeded generator."""

    file: str | None = key(
        None,
        "CSV file with daily weather, beside the scenario file",
        computed="none: the generator makes the weather",
    )
    gaps: Literal["refuse", "interpolate", "carry", "dry"] = key(
        "refuse",
        "what to do where days are missing in the file: refuse, interpolate, carry "
        "(repeat the last day) or dry (no rain, the rest interpolated)",
        source="common practice: a gap is filled only when its owner says how",
    )
    climate: Literal["wet_winter", "rain_all_year", "dry_plateau"] = key(
        "wet_winter",
        "climate that the generator draws from",
        source="monthly values of three published records; see the reference",
    )
    seed: int = key(
        1, "seed of the generator: the same seed makes the same weather", source="any whole number"
    )
    rain_scale: Number = key(
        1.0,
        "factor on all rain; a river whose inflow is given brings what it did",
        usual=(0.2, 2.0),
        source="a what-if",
    )
    warmer_by: Number = key(
        0.0, "degrees Celsius added to all temperatures", usual=(-5, 6), source="a what-if"
    )
    latitude: Angle = key(
        "45 deg", "latitude, south negative, for the sun's path", source="a local fact"
    )
    elevation: Elevation = key(
        "100 m",
        "height above the sea, for air pressure",
        usual=("-400 m", "4000 m"),
        source="a local fact",
    )
    wind: Speed = key(
        "2 m/s",
        "wind at 2 m height where the file has none",
        usual=("0.5 m/s", "8 m/s"),
        source="Allen et al. 1998, FAO-56: 2 m/s where "
        "nothing is known (as given in a reading of Example 20)",
    )


class ScenarioFile(Part):
    """Everything that a scenario file may hold."""

    title: str = key(..., "one line that stands on every page")
    about: str = key("", "a few words on the place", source="your own words")
    season: Season = Field(...)
    weather: Weather = Field(default_factory=Weather)
    dry_season: DrySeason | None = key(
        None, "a season made dry", computed="none: the season as its files or the generator have it"
    )
    river: dict[str, River] = Field(...)
    reservoir: dict[str, Reservoir] = Field(default_factory=dict)
    aquifer: dict[str, Aquifer] = Field(default_factory=dict)
    town: dict[str, Town] = Field(...)
    stage: dict[str, Stage] = Field(default_factory=dict)
    quality: Quality = Field(default_factory=Quality)

    @property
    def names(self) -> dict[str, str]:
        """Names that are given to places, by key."""
        return {
            key: place.name
            for places in (self.river, self.reservoir, self.aquifer, self.town)
            for key, place in places.items()
            if place.name is not None
        }
