"""One table of quantities: what records and measures hold is in it, in the same units."""

from __future__ import annotations

import pytest

import hydroloop as hl
from hydroloop.glossary import GLOSSARY, term


@pytest.fixture(scope="module")
def tables():
    """A record and its measures."""
    scenario = hl.read_scenario("first_town")
    record = hl.simulate(scenario)
    return record, hl.measures(record, scenario)


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
    silent = [name for table in tables for name, values in table.data_vars.items()
              if not values.attrs.get("long_name")]
    assert not silent


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
