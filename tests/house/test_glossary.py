"""One table of quantities: what records and measures hold is in it, in the same units."""

from __future__ import annotations

import ast

import pytest
from house.source_tree import modules

import hydroloop as hl
from hydroloop.glossary import GLOSSARY, term


@pytest.fixture(scope="module")
def tables():
    """Two records, with rivers, outfalls and drought stages, and their measures."""
    towns = hl.read_scenario("five_towns").changed({"season.end": "2031-03-15"})
    staged = hl.read_scenario("long_river")
    found = []
    for scenario, dates in ((towns, ["2031-03-01"]), (staged, [])):
        record = hl.simulate(scenario)
        found += [record, hl.measures(record, scenario, glass_dates=dates)]
    return found


def test_every_quantity_is_in_the_glossary(tables):
    """Each number in a record and in a table of measures has its line, with the same unit."""
    wrong = []
    for table in tables:
        for name, values in table.data_vars.items():
            if values.dtype.kind not in "fi":
                continue  # names and dates are no quantities
            try:
                units = term(str(name)).units
            except KeyError:
                wrong.append(f"{name} is not in the glossary")
                continue
            if units != values.attrs.get("units"):
                wrong.append(f"{name}: {values.attrs.get('units')!r}, the glossary says {units!r}")
    assert not wrong, "\n".join(wrong)


def test_every_quantity_has_a_name_in_words(tables):
    """Each variable carries a long name that a chart can print."""
    silent = [
        name
        for table in tables
        for name, values in table.data_vars.items()
        if not values.attrs.get("long_name")
    ]
    assert not silent


def test_every_measure_of_the_glossary_is_in_a_table(tables):
    """A row that says it is a measure is one: no row is left over."""
    there = {str(name) for table in tables for name in table.variables}
    rows = {row.name for row in GLOSSARY.values() if row.dims is not None}
    assert not rows - there


def test_a_measure_has_the_dims_of_its_row(tables):
    """Dims of every variable of the tables are those that the glossary says."""
    for name, values in (pair for table in tables[1::2] for pair in table.data_vars.items()):
        assert " ".join(values.dims) == term(str(name)).dims, name


def test_words_of_measures_stand_in_the_glossary_alone():
    """No module of measures says in words what a variable is: the table of words does.

    Materials are no rows of the table of measures, and a reservoir's yield is asked for by itself.
    """
    own = (
        "hydroloop.measures.gather.dataset",
        "hydroloop.measures.materials",
        "hydroloop.measures.reservoir_yield",
    )
    wrong = [
        str(module)
        for module in modules()
        if module.part in ("measures", "whatif")
        and module.name.startswith(("hydroloop.measures", "hydroloop.whatif.season_table"))
        and module.name not in own
        and "long_name" in ast.unparse(module.tree)
    ]
    assert not wrong


def test_terms_are_whole():
    """Each term has a unit, a meaning of one line and a source."""
    for one in GLOSSARY.values():
        assert one.units
        assert one.source
        assert len(one.meaning) <= 100
        assert not one.meaning.endswith(".")


def test_unknown_name():
    """A name that is not there is an error, not a guess."""
    with pytest.raises(KeyError):
        term("phlogiston")
