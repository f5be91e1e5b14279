"""What tables print can be asked for: `hydroloop explain` knows it by its printed words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import hydroloop as hl
from hydroloop.errors import AskError
from hydroloop.glossary import GLOSSARY, spoken, term
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run import supply_tables, tables, time_tables
from hydroloop.outputs.run.land import land
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.river_tables import rivers
from hydroloop.outputs.scenario.keys import key_document
from hydroloop.outputs.scenario.terms import terms_document
from hydroloop.outputs.whatif.season_measures import EVERY
from hydroloop.placenames import place_words
from hydroloop.tracing.returning import ABOVE, OTHERS

PLAIN = {
    "town",
    "to the taps of",
    "from the outfall of",
    "by",
    "river",
    "reservoir",
    "stage",
    "land",
    "most-used day",
    "first day in force",
    "date",  # places and days
    "through a home",
    "through a home or workplace",
    "through a toilet",
    "through a wastewater plant",
    "water taken in, mean",
    "median time",
    "a tenth within",
    "nine tenths within",
    "lowest, share of capacity",
    "dead storage, share of capacity",
    "drawn, let out and spilled, mean",
    "mean flow",
    "the same by the curve of Turc and Pike",
    "the same by the curve of Budyko",
    "rain",
    "watering",
    "evaporation",
    "change of soil and snow",
    "leaks and reuse",
    "sewers and wells",
    "change of groundwater",
    "runoff and interflow",
}
"""Headings that say themselves what they mean."""


@pytest.fixture(scope="module")
def result():
    """Two towns, a reservoir and drought stages, for two months."""
    scenario = hl.read_scenario("long_river").changed({"season.end": "2047-05-31"})
    record = hl.simulate(scenario)
    return Result(scenario, record, hl.measures(record, scenario))


def test_headings_are_known(result):
    """Each heading of a run's tables is a key, a measure or a term, or says itself what it is."""
    unknown = set()
    for make in (
        tables.towns,
        time_tables.times,
        tables.reuse,
        tables.counted,
        tables.untreated,
        tables.days,
        time_tables.between_towns,
        supply_tables.supply,
        supply_tables.stages,
        supply_tables.reservoirs,
        land,
        rivers,
    ):
        for column in make(result).columns:
            try:
                key_document(column.name)
            except AskError:
                unknown.add(column.name)
    assert unknown <= PLAIN


@pytest.mark.parametrize("told", EVERY, ids=lambda told: told.name)
def test_what_if_words_are_known(told):
    """What a compare or a sweep calls a measure leads to that measure."""
    name = {"unmet": "unmet_total"}.get(told.name, told.name)
    base = re.sub("^(season|mean)_", "", name)
    assert [
        row.name
        for row in spoken(
            told.words.removesuffix(", on average") if told.name.startswith("mean_") else told.words
        )
    ] == [base]


def test_one_name_for_one_measure():
    """No two rows share a plain name, so that a heading leads to one measure."""
    plain = [row.plain for row in GLOSSARY.values() if row.plain]
    assert len(set(plain)) == len(plain)


def test_formulas_are_those_of_the_page_of_measures():
    """A formula that explain prints stands in the same words on the page that defines it."""
    page = Path(__file__).parents[2].joinpath("docs", "measures.md").read_text("utf-8")
    page = re.sub(r"\s+", " ", page)
    formulas = {row.formula for row in GLOSSARY.values() if row.formula}
    assert len(formulas) > 15
    assert not {one for one in formulas if f"`{one}`" not in page}


@pytest.mark.parametrize(
    "words",
    [
        "used share",
        "used_share",
        "f",
        "Used share",
        "at the intake: used share (f) [%]",
        "used share, season",
    ],
)
def test_a_measure_is_asked_for_in_several_ways(words):
    """Name, symbol and what a table prints lead to the same explanation."""
    said = " ".join(as_text(key_document(words)))
    assert term("used_share").meaning in said
    assert term("used_share").formula in said


def test_a_word_that_is_near_is_offered():
    """A misspelt measure is met with the measure, not with a key that happens to look like it."""
    with pytest.raises(AskError, match='Did you mean "return flow over river flow"'):
        key_document("return flow over rivr flow")


def test_all_terms_are_listed():
    """The list of terms has every row of the glossary."""
    said = re.sub(r"\s+", " ", " ".join(as_text(terms_document())))
    assert not [row.name for row in GLOSSARY.values() if row.meaning not in said]


def test_what_is_no_place_is_not_spelt_like_one():
    """Places have capitals; "above the map" and "other places" stay as they are."""
    assert place_words("green_river", {}) == "Green River"
    assert [place_words(one, {}) for one in (ABOVE, OTHERS)] == [ABOVE, OTHERS]
