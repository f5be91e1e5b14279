"""The table of units and pint, read independently, agree."""

from __future__ import annotations

import pint
import pytest

from hydroloop.units.words import WORDS

# Held in metres and days. pint's acre goes by the survey foot, which was retired in 2023
# (NIST, Federal Register 85 FR 62698): 4 parts in a million.
_SURVEY = 1e-5
_SAME = {  # ours: the same in pint's words
    "m": "meter",
    "km": "kilometer",
    "cm": "centimeter",
    "mm": "millimeter",
    "ft": "foot",
    "in": "inch",
    "mi": "mile",
    "ha": "hectare",
    "L": "liter",
    "mL": "milliliter",
    "ML": "megaliter",
    "GL": "gigaliter",
    "gal": "gallon",
    "kgal": "kilogallon",
    "Mgal": "megagallon",
    "Bgal": "gigagallon",
    "mgd": "megagallon/day",
    "MLD": "megaliter/day",
    "gpd": "gallon/day",
    "gpm": "gallon/minute",
    "cfs": "foot**3/second",
    "cms": "meter**3/second",
    "gpcd": "gallon/day",
    "lpcd": "liter/day",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "d": "day",
    "week": "week",
    "year": "year",
    "mph": "mile/hour",
    "kph": "kilometer/hour",
    "ccf": "(100 foot**3)",
    "MCM": "(1e6 meter**3)",
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("word", _SAME)
def test_the_table_agrees_with_pint(word, registry):
    """Factor and kind of each unit are those of pint."""
    theirs = registry.Quantity(1.0, "dimensionless") * registry.parse_expression(_SAME[word])
    factor, powers = WORDS[word]
    days = dict(theirs.dimensionality).get("[time]", 0)
    assert theirs.to_base_units().magnitude * (1 / 86400) ** days == pytest.approx(
        factor, rel=1e-12
    )
    assert dict(theirs.dimensionality).get("[length]", 0) == powers[0]
    assert days == powers[1]


@pytest.mark.parametrize(("word", "theirs"), [("acre", "acre"), ("acre_ft", "acre_foot")])
def test_the_acre_differs_by_the_survey_foot_only(word, theirs, registry):
    """The acre is 4 parts in a million smaller than the survey acre (pint < 0.26)."""
    size = registry.Quantity(1.0, theirs).to_base_units().magnitude
    assert WORDS[word][0] == pytest.approx(size, rel=_SURVEY)
    assert WORDS[word][0] <= size * (1 + 1e-12)
