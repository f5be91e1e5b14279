"""Bounds: between which ends each number of a scenario can mean something.

One table for all: `check` refuses by it what a run could not use, `explain` prints it, and the
functions of the weather take their ends from it. Outside the usual range, which stands with each
key of the schema, a value is allowed with a warning; outside its bounds it is a slip or no number
of this world. Where nothing else is said, the ends are those beyond which no such place is known,
with room to spare (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from hydroloop.units.words import DIMENSIONS


class Bound(NamedTuple):
    """Ends of what a number can mean."""

    # the ends, in the unit in which the number is held
    low: float
    high: float
    above: bool = False  # whether the lower end itself is too low
    # what to write instead of a number that is too low; empty where the ends say enough
    cure: str = ""

    def holds(self, low: float, high: float) -> bool:
        """Whether a number, or a range from one number to another, lies within."""
        enough = low > self.low if self.above else low >= self.low
        return enough and low <= high <= self.high

    def words(self, dimension: str = "") -> str:
        """The bound as it is printed: ``0 to 95 %``, ``a number from 1 to 100``."""
        (low, unit), (high, last) = (_number(end, dimension) for end in (self.low, self.high))
        low = f"{low} {unit}" if unit not in (last, "day") else low
        high = f"{high} {last}".rstrip()
        if self.above:
            return f"more than {low}, at most {high}"
        return f"{low} to {high}" if dimension else f"a number from {low} to {high}"


def _number(value: float, dimension: str) -> tuple[str, str]:
    """A number and its unit."""
    if dimension in ("share", "growth"):
        return f"{value * 100:g}", "%"
    if dimension == "duration" and 0 < value < 1:
        return f"{value * 24:g}", "hour"
    is_year = not dimension and FIRST_YEAR <= value <= LAST_YEAR
    unit = DIMENSIONS[dimension].held if dimension else ""
    unit = "day" if unit == "days" and value == 1 else unit
    if isinstance(value, int) and not is_year:
        return f"{value:,}", unit
    return f"{value:g}" if value % 1 or is_year else f"{value:,.0f}", unit


FIRST_YEAR, LAST_YEAR = 1700, 2199
"""Years of a season: instants are kept to the nanosecond, which 64 bits hold for six centuries."""

_SOME = "Leave it out if you do not know it."
_MOST_LOST = Bound(0.0, 0.5)  # what is thrown away is less than what goes on

BY_DIMENSION = {
    "flow": Bound(0.0, 1e9),
    "river_flow": Bound(0.0, 1e11),  # the largest river brings 2e10 m3 a day
    "volume": Bound(0.0, 1e9),
    "stored_volume": Bound(0.0, 1e12),  # the largest reservoir holds 2e11 m3
    "length": Bound(0.0, 10_000.0),  # the longest river has some 7,000 km
    "short_length": Bound(0.0, 10_000.0, True, _SOME),
    "area": Bound(0.0, 1e7),  # the largest river basin has 7e6 km2
    "small_area": Bound(0.0, 1e5),
    "depth": Bound(0.0, 1e6),
    "share": Bound(0.0, 1.0),
    "duration": Bound(0.0, 3650.0),
    "per_person": Bound(0.0, 1000.0),  # some works use as much as a town
    "speed": Bound(0.0, 30.0),
    "angle": Bound(-90.0, 90.0),
    "elevation": Bound(-500.0, 6000.0),  # from the Dead Sea's shore to above the highest town
    "count": Bound(1.0, 1e9),
    "temperature": Bound(-90.0, 60.0),  # the air, at weather stations
}
"""Ends by dimension, for keys that have none of their own."""

BY_KEY = {
    "season.run_up": Bound(0.0, 18_262.5),  # fifty years
    "season.step": Bound(1.0 / 24.0, 1.0),
    "capacity": Bound(0.0, 1e9, True, "Leave out what is not there, or write what it can carry."),
    "reservoir.capacity": Bound(0.0, 1e12, True, "Leave out what is not there."),
    "river.length": Bound(0.0, 10_000.0, True, "Write how long it is."),
    "cell": Bound(0.0, 10_000.0, True, 'Write for example "20 km".'),
    "river.speed": Bound(0.0, 30.0, True, "Write how fast the water runs."),
    "recession": Bound(0.0, 36_525.0, True, "Write the days in which baseflow falls to 37 %."),
    "interflow_recession": Bound(
        0.0, 3652.5, True, "Write the days in which interflow falls to 37 %."
    ),
    "runoff_recession": Bound(
        0.0, 365.25, True, "Write the time in which storm runoff falls to 37 %."
    ),
    "refill": Bound(0.0, 365.0, True, "Write the time in which the tanks are refilled."),
    "efficiency": Bound(0.0, 1.0, True, "Write the share that reaches the soil."),
    "reference_flow": Bound(0.0, 1e11, True, "Write the flow at which the speed holds."),
    "river.width": Bound(0.0, 1000.0, True, "Write how wide the water surface is."),
    "area": Bound(0.0, 1e7, True, "Write the area."),
    "catchment": Bound(0.0, 1e7, True, "Leave it out if there is none."),
    "catchment_at_end": Bound(0.0, 1e7, True, "Leave it out if you do not know it."),
    "soil_depth": Bound(0.0, 10_000.0, True, "Write how much water the soil can hold."),
    "people": Bound(1.0, 1e9, False, "Leave the town out if nobody lives there."),
    "depression": Bound(0.0, 1000.0),
    "design_flow": Bound(0.0, 1e9, True, "Leave it out if you do not know it."),
    "homes.use_per_person": Bound(0.0, 10.0),
    "plumbing": Bound(0.0, 100.0),
    "curve_number": Bound(1.0, 100.0),
    "crop_coefficient": Bound(0.0, 3.0),
    "speed_exponent": Bound(0.0, 0.95),
    "scale": Bound(0.0, 1000.0),
    "seed": Bound(0, 2**63 - 1),
    # Of what is divided by the rest, some must go on.
    "real_losses": Bound(0.0, 0.95),
    "plant.sludge": _MOST_LOST,
    "plant.backwash": _MOST_LOST,
    "wastewater.sludge": _MOST_LOST,
    # The weather.
    "rain_scale": Bound(0.0, 20.0),
    "warmer_by": Bound(-30.0, 30.0),
    "wind": Bound(0.0, 50.0),
    # A dry season.
    "dry_season.rain_scale": Bound(0.0, 1.0),
    "flow_elasticity": Bound(0.0, 10.0),
    "dry_season.years": Bound(1.01, 10_000.0),
    "generate": Bound(3, 5000),
    "block": Bound(1, 200),
    "dry_season.year": Bound(FIRST_YEAR, LAST_YEAR),
    "dry_season.days": Bound(1.0, 365.0),
    # Growth: half as many more, or fewer, each year is more than any town has kept up.
    "growth.people_per_year": Bound(-0.5, 0.5),
    "growth.jobs_per_year": Bound(-0.5, 0.5),
    "growth.use_falls_per_year": Bound(0.0, 0.5),
    "growth.years": Bound(1, 200),
    # Unit processes: beyond these a slip of the unit is certain.
    "basins.length": Bound(0.0, 1000.0, True, _SOME),
    "basins.width": Bound(0.0, 1000.0, True, _SOME),
    "basins.diameter": Bound(0.0, 300.0, True, _SOME),
    "basins.depth": Bound(0.0, 30.0, True, _SOME),
    "basins.volume": Bound(0.0, 1e7, True, _SOME),
    "basins.count": Bound(1, 200),
    "baffling_factor": Bound(0.0, 1.0, True, "Leave it out, or write what a tracer has shown."),
    "disinfection.temperature": Bound(0.0, 40.0),  # water in a plant
    "disinfection.chlorine_mg_per_l": Bound(0.0, 20.0),  # the contact tables reach no further
    "disinfection.ph": Bound(6.0, 9.0),
    "mg_per_l": Bound(0.0, 100_000.0),
    "decay_per_day": Bound(0.0, 1000.0),
}
"""Ends by the last word of a key, or by it and any word before; those of two words count first."""


def bound_of(words: Sequence[str], dimension: str = "") -> Bound | None:
    """The bound of a key (its words as in the schema), by its dimension; None where it is no
    number."""
    last = words[-1]
    wanted = [*(f"{word}.{last}" for word in reversed(words[:-1])), last]
    for name in wanted:
        if name in BY_KEY:
            return BY_KEY[name]
    ends = [name for name in ("mg_per_l", "decay_per_day") if last.endswith(name)]
    return BY_KEY[ends[0]] if ends else BY_DIMENSION.get(dimension)
