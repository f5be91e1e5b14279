"""Ends of what the contact tables hold: each heading, a hair before it, and a hair beyond."""

from __future__ import annotations

import math

import pytest

from hydroloop.errors import AskError
from hydroloop.plants.contact import (
    contact_by_season,
    contact_flow,
    log_inactivation,
    logs_left,
    required_ct,
)
from hydroloop.plants.contact_tables import table_entry

HAIR = 0.01
TEMPERATURES_C = (0.5, 5.0, 10.0, 15.0, 20.0, 25.0)
# EPA 815-R-20-003, Table B-2, as given elsewhere: 4 logs of viruses, pH 6 to 9 and pH 10.
VIRUS = {9.0: (12, 8, 6, 4, 3, 2), 10.0: (90, 60, 45, 30, 22, 15)}
# 40 CFR 141.74(b)(3)(v), as given in a transcription: 3 logs at pH 7, 1 mg/L, by temperature.
GIARDIA = (210, 149, 112, 75, 56, 37)


def giardia(temperature_c=10.0, ph=7.0, chlorine=1.0):
    return table_entry("giardia", temperature_c, ph, chlorine)


@pytest.mark.parametrize("number", range(6))
def test_a_table_begins_at_its_temperature(number):
    """From its heading up to the next one a table holds; below the first and beyond the last, these
    two do."""
    begin = TEMPERATURES_C[number]
    end = (*TEMPERATURES_C[1:], 40.0 + HAIR)[number]
    for temperature_c in (begin, end - HAIR):
        assert giardia(temperature_c).ct == GIARDIA[number]
        assert giardia(temperature_c).temperature_c == begin
        for ph, cells in VIRUS.items():
            entry = table_entry("virus", temperature_c, ph, 1.0)
            assert (entry.ct, entry.temperature_c, entry.ph) == (cells[number], begin, ph)
            assert math.isnan(entry.chlorine_mg_per_l)
            assert entry.notes == ()


def test_colder_than_the_coldest_table_is_entered_there():
    """Water of 0 C to 0.5 C is held to 0.5 C."""
    assert giardia(0.0).ct == GIARDIA[0]
    assert table_entry("virus", 0.0, 7.0, 1.0).ct == 12
    assert table_entry("virus", 0.0, 9.0 + HAIR, 1.0).ct == 90


def test_ph_and_chlorine_are_taken_up_to_the_next_heading():
    """At a heading its own cell, a hair above it the next one: 10 C, 40 CFR 141.74(b)(3)(v)."""
    assert [giardia(ph=ph).ct for ph in (0.0, 6.0, 6.01, 6.5, 6.51)] == [79, 79, 94, 94, 112]
    assert [giardia(ph=ph).ct for ph in (8.5, 8.51, 9.0)] == [195, 234, 234]
    assert [giardia(chlorine=c).ct for c in (0.0, 0.4, 0.41, 0.6)] == [104, 104, 107, 107]
    assert [giardia(chlorine=c).ct for c in (2.8, 2.81, 3.0, 20.0)] == [134, 137, 137, 137]
    entry = giardia(ph=6.2, chlorine=0.7)
    assert (entry.temperature_c, entry.ph, entry.chlorine_mg_per_l) == (10.0, 6.5, 0.8)
    assert [table_entry("virus", 10.0, ph, 1.0).ct for ph in (9.0, 9.01)] == [6, 45]


def test_only_what_lies_off_the_table_has_a_note():
    """The ends of a table are in it; a hair beyond, the note says at which end it was entered."""
    row, water = "chlorine of {} mg/L is taken at the {} mg/L row", "water of {} C is taken at the"
    assert giardia(0.5, chlorine=0.4).notes == giardia(25.0, chlorine=3.0).notes == ()
    assert giardia(chlorine=0.39).notes == (row.format(0.39, 0.4),)
    assert giardia(chlorine=3.01).notes == (row.format(3.01, 3),)
    assert giardia(0.49).notes == (f"{water.format(0.49)} 0.5 C table",)
    assert giardia(25.01).notes == (f"{water.format(25.01)} 25 C table",)


@pytest.mark.parametrize(
    ("name", "place", "least", "most"),
    [("temperature_c", 0, 0.0, 40.0), ("ph", 1, 0.0, 9.0), ("chlorine_mg_per_l", 2, 0.0, 20.0)],
)
def test_the_last_reading_that_is_taken(name, place, least, most):
    """Both ends are taken, a hair beyond is refused, and the message says the ends."""
    for end, beyond in ((least, -HAIR), (most, HAIR)):
        reading = [10.0, 7.0, 1.0]
        reading[place] = end
        assert table_entry("giardia", *reading).ct > 0.0
        reading[place] = end + beyond
        with pytest.raises(AskError, match=f"Give {least:g} to {most:g}") as caught:
            table_entry("giardia", *reading)
        assert [problem.where for problem in caught.value.problems] == [name]


def test_ends_of_the_table_for_viruses_are_told():
    """Viruses are held from pH 6 to pH 10."""
    for ph in (6.0 - HAIR, 10.0 + HAIR):
        with pytest.raises(AskError, match="Give 6 to 10; beyond it"):
            table_entry("virus", 10.0, ph, 1.0)


@pytest.mark.parametrize(("germ", "most"), [("giardia", 3.0), ("virus", 4.0)])
def test_logs_up_to_those_of_the_table(germ, most):
    """All logs of a table are taken and none; more are refused, with how many it holds."""
    reading = {"temperature_c": 10.0, "ph": 7.0, "chlorine_mg_per_l": 1.0}
    cell = {"giardia": 112.0, "virus": 6.0}[germ]
    assert [required_ct(germ, logs, **reading) for logs in (0.0, most / 2, most)] == [
        0.0,
        cell / 2,
        cell,
    ]
    with pytest.raises(AskError, match=f"holds 0 to {most:g}"):
        required_ct(germ, most + HAIR, **reading)


def test_logs_left_by_each_treatment():
    """3 logs of Giardia and 4 of viruses, less the credit (AWWA/ASCE Table 10.2; groundwater: 40
    CFR 141.403, from memory)."""
    left = {
        name: tuple(logs_left(name).values()) for name in ("conventional", "direct", "groundwater")
    }
    assert left == {"conventional": (0.5, 2.0), "direct": (1.0, 3.0), "groundwater": (0.0, 4.0)}
    assert logs_left("none") == {"giardia": 3.0, "virus": 4.0}


def test_logs_of_a_germ_without_a_table_are_refused():
    """The message names the tables that there are."""
    with pytest.raises(AskError, match=r'no table for "amoeba"\. There are: giardia, virus'):
        log_inactivation(10.0, 10.0, germ="amoeba")


def test_the_flow_of_contact_has_no_limit_only_where_nothing_is_required():
    """C f V 1440 / CT: 1 x 0.5 x 100 x 1440 / 0.5 = 144,000, however little is required."""
    flows = [
        contact_flow(ct, chlorine_mg_per_l=1.0, volume=100.0, baffling=0.5)
        for ct in (0.5, 1e-12, 0.0)
    ]
    assert flows == [144_000.0, pytest.approx(7.2e16), math.inf]


def test_contact_of_two_seasons_by_hand():
    """Conventional treatment leaves half a log of Giardia and two of viruses. At 0.5 C, pH 7 and
    1 mg/L: 210 / 6 = 35 and 12 / 2 = 6; at 20 C 56 / 6 and 1.5. Groundwater needs all 4 logs."""
    tank = {"volume": 100.0, "baffling": 0.5, "chlorine_mg_per_l": 1.0, "ph": 7.0}
    winter, summer = contact_by_season({"January": 0.5, "July": 20.0}, **tank)
    assert (winter.name, winter.temperature_c, winter.binding) == ("January", 0.5, "giardia")
    assert (winter.giardia, winter.virus) == pytest.approx((35.0, 6.0))
    assert winter.flow == pytest.approx(72_000.0 / 35.0)
    assert (summer.giardia, summer.virus) == pytest.approx((56.0 / 6.0, 1.5))
    assert summer.flow == pytest.approx(72_000.0 * 6.0 / 56.0)
    (wells,) = contact_by_season({"all year": 10.0}, treatment="groundwater", **tank)
    assert (wells.giardia, wells.virus, wells.flow) == (0.0, 6.0, 12_000.0)
