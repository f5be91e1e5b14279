"""The words of units: dimensions, their held units, and what the trade writes.

Factors are exact: the international foot and acre (NIST Handbook 44, Appendix C), the US gallon
of 231 cubic inches, the pound of 0.45359237 kg. A year is the Julian year of 365.25 days.
"""

from __future__ import annotations

from typing import NamedTuple

from hydroloop.errors import AskError, Problem

Powers = tuple[int, int, int, int, int, int]
"""Powers of metre, day, person, degree of angle, degree of temperature and kilogram."""

NONE: Powers = (0, 0, 0, 0, 0, 0)
_LENGTH: Powers = (1, 0, 0, 0, 0, 0)
_AREA: Powers = (2, 0, 0, 0, 0, 0)
VOLUME: Powers = (3, 0, 0, 0, 0, 0)
_TIME: Powers = (0, 1, 0, 0, 0, 0)
PEOPLE: Powers = (0, 0, 1, 0, 0, 0)
_ANGLE: Powers = (0, 0, 0, 1, 0, 0)
_WARMTH: Powers = (0, 0, 0, 0, 1, 0)
FLOW: Powers = (3, -1, 0, 0, 0, 0)
EACH: Powers = (3, -1, -1, 0, 0, 0)
_SPEED: Powers = (1, -1, 0, 0, 0, 0)
_MASS: Powers = (0, 0, 0, 0, 0, 1)

SECOND = 1 / 86400  # in days: what is held per day stays exact
_FOOT = 0.3048
_ACRE = 43560 * _FOOT**2
_GALLON = 231 * 0.0254**3


class Dimension(NamedTuple):
    """A kind of quantity: how it is held, called and written.

    Attributes
    ----------
    phrase : str
        Its name in a sentence: ``"a flow"``.
    held : str
        Unit in which it is held inside.
    factor : float
        Metres, days, people, degrees and kilograms in one held unit.
    powers : tuple of int
        Powers of metre, day, person, degree of angle, degree of temperature, kilogram.
    examples : tuple of str
        Ways to write it, American and metric.
    signed : bool
        Whether it may lie below zero.
    """

    phrase: str
    held: str
    factor: float
    powers: Powers
    examples: tuple[str, ...]
    signed: bool = False


DIMENSIONS = {
    "flow": Dimension(
        "a flow",
        "m3/day",
        1.0,
        FLOW,
        ("4.5 Mgal/day", "12 ML/day", "300 gpm", "25 cfs", "0.7 m3/s"),
    ),
    "volume": Dimension(
        "a volume", "m3", 1.0, VOLUME, ("2 Mgal", "7.5 ML", "500 m3", "1,200 acre_ft")
    ),
    "river_flow": Dimension("a flow", "m3/day", 1.0, FLOW, ("25 cfs", "0.7 m3/s", "60 ML/day")),
    "stored_volume": Dimension(
        "a volume", "m3", 1.0, VOLUME, ("1,200 acre_ft", "1.5e6 m3", "400 Mgal")
    ),
    "length": Dimension("a length", "km", 1e3, _LENGTH, ("12 mi", "20 km", "300 ft")),
    "short_length": Dimension("a length", "m", 1.0, _LENGTH, ("75 ft", "20 m")),
    "area": Dimension("an area", "km2", 1e6, _AREA, ("8 mi2", "20 km2", "640 acre", "300 ha")),
    "small_area": Dimension("an area", "m2", 1.0, _AREA, ("430 ft2", "40 m2")),
    "depth": Dimension("a depth", "mm", 1e-3, _LENGTH, ("6 in", "150 mm")),
    "growth": Dimension(
        "growth in a year", "-1 to 1", 1.0, NONE, ("1 %", "-0.5 %", "0.5 % to 2 %"), True
    ),
    "share": Dimension("a share", "0 to 1", 1.0, NONE, ("16 %", "0.16", "8 % to 14 %")),
    "duration": Dimension(
        "a length of time", "days", 1.0, _TIME, ("30 s", "20 min", "4 hour", "2 day")
    ),
    "per_person": Dimension(
        "a flow for each person",
        "m3/person/day",
        1.0,
        EACH,
        ("58.6 gal/person/day", "220 L/person/day", "60 gpcd"),
    ),
    "speed": Dimension("a speed", "m/s", 86400.0, _SPEED, ("1.3 ft/s", "0.4 m/s")),
    "surface_rate": Dimension(
        "a flow for each area", "m/day", 1.0, _SPEED, ("600 gpd/ft2", "3 gpm/ft2", "25 m/day")
    ),
    "weir_load": Dimension(
        "a flow for each length",
        "m3/m/day",
        1.0,
        (2, -1, 0, 0, 0, 0),
        ("20,000 gpd/ft", "250 m3/m/day"),
    ),
    "mass": Dimension("a mass", "kg", 1.0, _MASS, ("20 lb", "9 kg")),
    "mass_flow": Dimension(
        "a mass each day", "kg/day", 1.0, (0, -1, 0, 0, 0, 1), ("350 lb/day", "160 kg/day")
    ),
    "concentration": Dimension(
        "a concentration", "mg/L", 1e-3, (-3, 0, 0, 0, 0, 1), ("0.7 mg/L", "25 g/m3")
    ),
    "ct": Dimension(
        "a concentration times a time",
        "mg min/L",
        1e-6 * (1 / 1440) * 1e-3**-1,
        (-3, 1, 0, 0, 0, 1),
        ("60 mg min/L",),
    ),
    "angle": Dimension("an angle", "deg", 1.0, _ANGLE, ("45 deg", "45 N", "33.5 S"), True),
    "elevation": Dimension("a height", "m", 1.0, _LENGTH, ("330 ft", "100 m"), True),
    "count": Dimension("a number of people", "people", 1.0, PEOPLE, ("24000", "24,000 people")),
    "temperature": Dimension("a temperature", "C", 1.0, _WARMTH, ("68 F", "20 C"), True),
}
"""Every dimension, by name.

The trade gives the flow of rivers and the volume of reservoirs in other units than those of water
works, so they have names of their own; they read alike.
"""

WITHOUT_UNIT = ("share", "growth", "count")
"""Dimensions that may be written as a number alone."""

KINDS: dict[Powers, str] = {
    **{
        d.powers: d.phrase
        for d in DIMENSIONS.values()
        if d.phrase not in ("a depth", "a height", "a flow for each area")
    },
    NONE: "a plain number",
    (3, 0, -1, 0, 0, 0): "a volume for each person",
}

_TABLE: tuple[tuple[Powers, float, str], ...] = (
    (_LENGTH, 1.0, "m metre metres meter meters"),
    (_LENGTH, 1e3, "km kilometre kilometres kilometer kilometers"),
    (_LENGTH, 1e-2, "cm centimetre centimetres centimeter centimeters"),
    (_LENGTH, 1e-3, "mm millimetre millimetres millimeter millimeters"),
    (_LENGTH, _FOOT, "ft foot feet"),
    (_LENGTH, _FOOT / 12, "in inch inches"),
    (_LENGTH, 5280 * _FOOT, "mi mile miles"),
    (_AREA, 1e4, "ha hectare hectares"),
    (_AREA, _ACRE, "acre acres ac"),
    (VOLUME, 1e-3, "L l litre litres liter liters"),
    (VOLUME, 1e-6, "mL ml millilitre milliliter"),
    (VOLUME, 1e3, "ML megalitre megalitres megaliter megaliters"),
    (VOLUME, 1e6, "MCM GL"),
    (VOLUME, _GALLON, "gal gallon gallons"),
    (VOLUME, 1e3 * _GALLON, "kgal"),
    (VOLUME, 1e6 * _GALLON, "Mgal MG"),
    (VOLUME, 1e9 * _GALLON, "Bgal"),
    (VOLUME, 100 * _FOOT**3, "ccf CCF hcf HCF"),
    (VOLUME, _ACRE * _FOOT, "acre_ft acre_foot acre_feet acft AF af"),
    (FLOW, 1e6 * _GALLON, "mgd MGD Mgd"),
    (FLOW, 1e3, "MLD"),
    (FLOW, _GALLON, "gpd GPD"),
    (FLOW, _GALLON * 1440, "gpm GPM"),
    (FLOW, _FOOT**3 * 86400, "cfs CFS"),
    (FLOW, 86400.0, "cms CMS cumec cumecs"),
    (EACH, _GALLON, "gpcd GPCD"),
    (EACH, 1e-3, "lpcd Lpcd LPCD"),
    (_TIME, SECOND, "s sec second seconds"),
    (_TIME, 1 / 1440, "min minute minutes"),
    (_TIME, 1 / 24, "h hr hrs hour hours"),
    (_TIME, 1.0, "d day days"),
    (_TIME, 7.0, "week weeks wk"),
    (_TIME, 365.25, "year years yr a"),
    (_SPEED, 5280 * _FOOT * 24, "mph"),
    (_SPEED, 24e3, "kph kmh"),
    (_MASS, 1.0, "kg kilogram kilograms"),
    (_MASS, 1e-3, "g gram grams"),
    (_MASS, 1e-6, "mg milligram milligrams"),
    (_MASS, 1e-9, "ug microgram micrograms"),
    (_MASS, 1e3, "t tonne tonnes"),
    (_MASS, 0.45359237, "lb lbs pound pounds"),
    (PEOPLE, 1.0, "people person persons inhabitants capita cap"),
    (_ANGLE, 1.0, "deg degree degrees °"),
    (_WARMTH, 1.0, "C degC celsius °C"),
    (_WARMTH, 1.0, "F degF fahrenheit °F"),
    (NONE, 0.01, "% percent"),
    (NONE, 1e6, "million"),
    (NONE, 1e3, "thousand"),
)
WORDS: dict[str, tuple[float, Powers]] = {
    word: (factor, powers) for powers, factor, words in _TABLE for word in words.split()
}
FAHRENHEIT = frozenset(("f", "degf", "fahrenheit", "°f"))
# Words that would be read quite otherwise, or in two ways, if they were let through.
REFUSED = {
    "mg": "mg is a mass (milligrams); million gallons are written Mgal.",
    "Ml": "Ml can be megalitres or millilitres; write ML or mL.",
    "Mm": "Mm3 can be million cubic metres or cubic megametres; write 12e6 m3, or 12 MCM.",
    "M": "M alone is no unit; write m for metres, or Mgal, ML and so on.",
    "MM": "MM can be millions or millimetres; write mm, or the number in full.",
    "ppm": "ppm can be by mass or by volume; write mg/L.",
    "ton": "Tons differ; write t (1,000 kg), or lb.",
    "tons": "Tons differ; write t (1,000 kg), or lb.",
    "month": "Months differ in length; write days.",
    "months": "Months differ in length; write days.",
}
FOLDED = {word.lower(): word for word in WORDS} | {
    "mgal": "Mgal",
    **dict.fromkeys(("ml", "mg", "m", "a"), ""),
}


def dimension_named(name: str) -> Dimension:
    """A dimension by its name."""
    if name not in DIMENSIONS:
        raise AskError(
            Problem(
                "dimension",
                f"there is no dimension {name!r}.",
                f"There are {', '.join(DIMENSIONS)}.",
            )
        )
    return DIMENSIONS[name]
