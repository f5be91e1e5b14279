"""Questions about contact, standards, limits and peaks, and the messages where they have none."""

from __future__ import annotations

import math

import numpy as np
import pytest

from hydroloop.errors import AskError
from hydroloop.plants.contact import contact_by_season, contact_flow, logs_left, required_ct
from hydroloop.plants.contact_tables import table_entry
from hydroloop.plants.peaking import peak_hour_ratio, season_flows
from hydroloop.plants.standards import standard
from hydroloop.plants.tap_limits import broken_limits, limits_of


def test_everything_outside_the_tables_is_told_at_once():
    """Temperature, pH and chlorine off the tables make three problems in one error."""
    with pytest.raises(AskError) as caught:
        table_entry("giardia", 80.0, 9.4, -1.0)
    assert [p.where for p in caught.value.problems] == ["temperature_c", "ph", "chlorine_mg_per_l"]


@pytest.mark.parametrize(
    "reading", [(math.nan, 7.0, 1.0), (10.0, math.nan, 1.0), (10.0, 7.0, math.nan)]
)
def test_missing_readings_are_refused(reading):
    """A reading that is not a number enters no table."""
    with pytest.raises(AskError):
        table_entry("giardia", *reading)


@pytest.mark.parametrize(
    ("germ", "ph", "fits"),
    [
        ("giardia", 5.0, True),
        ("giardia", 9.0, True),
        ("giardia", 9.1, False),
        ("virus", 5.9, False),
        ("virus", 6.0, True),
        ("virus", 9.5, True),
        ("virus", 10.1, False),
    ],
)
def test_edges_of_the_tables(germ, ph, fits):
    """Giardia is held up to pH 9, viruses from 6 to 10; beyond, the authority is named."""
    if fits:
        assert table_entry(germ, 10.0, ph, 1.0).ct > 0
    else:
        with pytest.raises(AskError, match=r"does not hold pH .* ask the authority"):
            table_entry(germ, 10.0, ph, 1.0)


def test_readings_at_the_edge_are_taken_with_a_note():
    """Chlorine and temperature beyond the edge are entered at the edge, and that is said."""
    assert table_entry("giardia", 10, 7, 3.4) == table_entry("giardia", 10, 7, 3.0)._replace(
        notes=("chlorine of 3.4 mg/L is taken at the 3 mg/L row",)
    )
    assert table_entry("giardia", 10, 7, 0.1).ct == table_entry("giardia", 10, 7, 0.4).ct
    assert len(table_entry("giardia", 0.2, 7, 0.1).notes) == 2
    assert table_entry("giardia", 30, 7, 1).ct == table_entry("giardia", 25, 7, 1).ct
    assert table_entry("giardia", 10, 7, 1).notes == ()


def test_no_germ_no_treatment_no_logs_beyond_the_table():
    """Unknown germs and treatments, and more logs than a table holds, are refused by name."""
    with pytest.raises(AskError, match="There are: giardia, virus"):
        table_entry("amoeba", 10, 7, 1)
    with pytest.raises(AskError, match="There are: conventional, direct, groundwater, none"):
        logs_left("magic")
    for logs, allowed in ((3.1, "0 to 3"), (-1, "zero or more"), (math.nan, "zero or more")):
        with pytest.raises(AskError, match=allowed):
            required_ct("giardia", logs, temperature_c=10, ph=7, chlorine_mg_per_l=1)


def test_seasons_report_each_problem_once():
    """A pH off the table is told once, however many months there are; a bad month by itself."""
    months = {"Jan": 3.0, "Jul": 20.0, "Oct": 90.0}
    tank = {"volume": 1e3, "baffling": 0.3, "chlorine_mg_per_l": 1.0}
    with pytest.raises(AskError) as caught:
        contact_by_season(months, ph=9.5, **tank)
    assert sorted(p.where for p in caught.value.problems) == ["ph", "temperature_c"]


def test_groundwater_is_held_to_viruses_alone():
    """Where nothing is left to do for Giardia its table is not entered, so pH 9.5 will do."""
    (row,) = contact_by_season(
        {"all year": 10.0},
        volume=1e3,
        baffling=0.3,
        chlorine_mg_per_l=1.0,
        ph=9.5,
        treatment="groundwater",
    )
    assert (row.giardia, row.virus, row.binding) == (0.0, 45.0, "virus")


def test_without_chlorine_no_flow_has_contact():
    """No chlorine, no contact; nothing required, no limit."""
    assert contact_flow(50.0, chlorine_mg_per_l=0.0, volume=1e3, baffling=0.3) == 0.0
    assert contact_flow(0.0, chlorine_mg_per_l=0.0, volume=1e3, baffling=0.3) == math.inf


def test_unknown_standards_and_tests_offer_what_there_is():
    """A question for a rule or limit that does not exist lists those that do."""
    with pytest.raises(AskError, match="There are: filter rate"):
        standard("filters", "colour")
    with pytest.raises(AskError, match="Processes: aeration"):
        standard("bakery", "detention")
    with pytest.raises(AskError, match="There are: free chlorine"):
        limits_of("gold")


def test_standards_are_written_as_people_say_them():
    """At most, at least, or a range, with thousands grouped."""
    assert standard("primary", "overflow rate", at="peak_hour").printed == "at most 1,500 gpd/ft2"
    assert standard("flocculation", "detention").printed == "at least 30 min"
    assert standard("aeration", "detention", "conventional").printed == "4 to 8 h"
    assert standard("outfall", "pH").printed == "6 to 9"


@pytest.mark.parametrize(
    ("test", "reading", "broken"),
    [
        ("pH", 7.0, 0),
        ("pH", 6.5, 0),
        ("pH", 6.4, 1),
        ("pH", 9.0, 1),
        ("iron", 0.31, 1),
        ("turbidity", 0.5, 1),
        ("turbidity", 1.2, 2),
        ("free chlorine", 0.1, 2),
        ("free chlorine", 1.0, 0),
        ("iron", math.nan, 1),
    ],
)
def test_limits_flag_readings(test, reading, broken):
    """A reading within is quiet, on the edge too; beyond, or missing, it is flagged."""
    assert len(broken_limits(test, reading)) == broken


def test_peaks_take_arrays():
    """The rule for the peak hour takes many towns at once, as the one by one."""
    people = np.array([100.0, 220.0, 5_000.0, 80_000.0])
    np.testing.assert_array_equal(peak_hour_ratio(people), [peak_hour_ratio(p) for p in people])


def test_flows_of_a_season():
    """Daily steps take a published peak hour, hourly steps their own; a part of a day is no day."""
    daily = season_flows(np.array([10.0, 30.0, 20.0]), 1.0)
    assert (daily.average, daily.maximum_day, daily.peak_hour) == (20.0, 30.0, 60.0)
    assert season_flows(np.array([10.0, 30.0]), 1.0, hour_over_day=3.0).peak_hour == 90.0
    hours = np.tile(np.r_[np.full(23, 10.0), 34.0], 2)
    hourly = season_flows(np.r_[hours, 99.0], 1 / 24)
    assert hourly.average == pytest.approx(11.0)
    assert (hourly.maximum_day, hourly.peak_hour) == (pytest.approx(11.0), 99.0)
    with pytest.raises(AskError, match="shorter than a day"):
        season_flows(np.ones(5), 1 / 24)
    with pytest.raises(AskError, match="do not rise"):
        season_flows(np.zeros(5), 1.0)
