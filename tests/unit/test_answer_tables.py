"""Tables of results: units in the headings, numbers that agree with the run, gaps left empty."""

from __future__ import annotations

import csv
import math
from dataclasses import replace

import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.measures import measures
from hydroloop.outputs.document.as_text import grid_lines
from hydroloop.outputs.document.grids import Grid, grids
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.run import because_tables, supply_tables, tables
from hydroloop.outputs.run.document import run_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.scenario.inputs import DEFAULT, GIVEN, WORKED_OUT, inputs, summary
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.waterworks import simulate

MEGALITRE = 1000.0  # m3


@pytest.fixture(scope="module")
def run() -> Result:
    """A run of one town in metric units."""
    scenario = one_town(town__larkmill__mains__real_losses="8 % to 14 %")
    record = simulate(scenario)
    return Result(scenario, record, measures(record, scenario), "metric")


def read(path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_headings_carry_the_unit_of_the_system():
    """The same flow stands in ML/day and in Mgal/day, with the unit in the heading."""
    table = Table("a", "", [Column("town", ["x"]), Column("flow", [5 * MEGALITRE], "flow")])
    assert table.records("metric") == [{"town": "x", "flow [ML/day]": 5.0}]
    # 1 US gallon = 231 cubic inches = 3.785411784 L (NIST Handbook 44, Appendix C)
    (row,) = table.records("us")
    assert row["flow [Mgal/day]"] == pytest.approx(5 / 3.785411784, rel=1e-12)


def test_what_is_unknown_is_empty():
    """nan is None in records, empty in CSV and a dash on screen."""
    table = Table("a", "", [Column("town", ["x"]), Column("time", [math.nan], "duration")])
    assert table.records() == [{"town": "x", "time [days]": None}]
    (grid,) = grids(replace(table, view="across"), "us")
    assert grid.rows[0] == ["time [days]", "-"]


def test_csv_reads_back(tmp_path):
    """A table written as CSV has its headings and its values, commas and quotes in them too."""
    table = Table("a", "", [Column("name", ['say "a, b"']), Column("s", [0.123456789], "share")])
    rows = read(table.write(tmp_path))
    assert rows == [{"name": 'say "a, b"', "s [%]": "12.34568"}]


def test_lines_are_aligned():
    """Names stand to the left, numbers to the right."""
    grid = Grid("", ["", "A", "Bb"], [["x", "10", "5"]], [False, True, True])
    assert list(grid_lines(grid)) == ["      A  Bb", "  x  10   5"]


def test_small_shares_are_told_from_none():
    """On screen a share below a thousandth of a percent is not zero, rounding is."""
    table = Table("a", "", [Column("t", ["x", "y", "z"]), Column("s", [1e-6, 1e-17, 0.0], "share")])
    (grid,) = grids(table, "us")
    assert [row[1] for row in grid.rows] == ["< 0.001", "0", "0"]


def test_every_table_is_written_with_rows(run, tmp_path):
    """All tables of a run have columns of one length, and rows where there is something to tell."""
    names = []
    for table in run_document(run, as_it_is(run.scenario)).tables():
        assert len({len(column.values) for column in table.columns}) == 1, table.name
        rows = read(table.write(tmp_path, "metric"))
        may_be_empty = (
            "between_towns",
            "last_use",
            "stages",
            "reservoirs",
            "shortages",
            "because",
            "because_uses",
            "because_days",
        )
        assert rows or table.name in may_be_empty, table.name
        names.append(table.name)
    assert len(names) == len(set(names))


def test_towns_agree_with_the_record(run, tmp_path):
    """Mean tap water in the table is what runs into homes in the record."""
    (row,) = read(tables.towns(run).write(tmp_path, "metric"))
    into_homes = run.record["rate"].values[:, run.record["kind"].values == "home_use"].sum(axis=1)
    shown = float(row["tap water to homes, mean [ML/day]"])
    assert shown == pytest.approx(into_homes.mean() / MEGALITRE, rel=1e-6)
    assert row["people"] == "20000"


def test_shares_by_use_make_the_whole(run):
    """Shares by number of uses and the unknown past add up to 100 %."""
    (row,) = tables.uses(run).records("metric")
    assert sum(value for head, value in row.items() if head != "town") == pytest.approx(100.0)


def test_balance_closes_row_by_row(run):
    """In minus out is the change in store, for each place and for the whole."""
    for row in tables.balance(run).records("metric"):
        into, out, change = (
            next(row[head] for head in row if head.startswith(word))
            for word in ("in [", "out [", "change")
        )
        assert into - out == pytest.approx(change, abs=1e-6 * into)


def test_days_have_one_row_a_day_and_town(run):
    """The daily table begins with the season and has all its days."""
    rows = tables.days(run).records("metric")
    assert len(rows) == run.record.sizes["time"]
    assert rows[0]["date"] == "2031-05-01"


def test_shortage_is_found_where_water_is_short():
    """A permit far below the demand makes a shortage in the table; without it there is none."""

    def short(scenario):
        record = simulate(scenario)
        result = Result(scenario, record, measures(record, scenario), "metric")
        rows = supply_tables.shortages(result).records("metric")
        return sum(row["share short [%]"] for row in rows)

    assert short(one_town()) == 0.0
    assert short(one_town(town__larkmill__intake__permit="1 ML/day")) > 10.0


def test_inputs_say_where_they_come_from(run):
    """Each input is given, a default, or worked out; ranges and sources are shown."""
    found = {one.key: one for one in inputs(run.scenario, "metric")}
    assert found["town.larkmill.people"].origin == GIVEN
    assert found["town.larkmill.people"].value == "20,000 people"
    assert found["town.larkmill.mains.real_losses"].value == "8 % to 14 %"
    assert found["town.larkmill.homes.toilets"].origin == DEFAULT
    assert found["town.larkmill.homes.toilets"].source
    assert found["town.larkmill.plant.capacity"].origin == WORKED_OUT
    assert "average demand" in found["town.larkmill.plant.capacity"].value


def test_every_given_key_is_listed_as_given(run):
    """The list of given inputs is the list of keys that the scenario holds."""
    assert {one.key for one in inputs(run.scenario) if one.origin == GIVEN} == run.scenario.given


def test_what_was_written_stands_beside_what_was_read():
    """A quantity in another unit is shown as written, and as read."""
    found = {one.key: one.value for one in inputs(one_town(), "us")}
    assert found["river.wren.length"] == "40 km = 24.9 mi"


def test_counts_of_inputs_add_up(run):
    """The summary counts every input once."""
    found = inputs(run.scenario)
    words = summary(found).split()
    assert sum(int(word) for word in words if word.isdigit()) == len(found)


def test_texts_that_look_like_formulas_are_texts_in_a_file(tmp_path):
    """What a title or a plan says is no formula in a spreadsheet; numbers stay numbers."""
    texts = [
        "=1+1",
        "+cmd|' /C calc'!A0",
        "-2+3",
        "@SUM(A1)",
        "  =1",
        "\t=1",
        "plain",
        "-",
        "-5 %",
        "+3.5 Mgal/day",
        "-1e-05",
        "2 - 1",
    ]
    table = Table("towns", "Towns", [Column("=name", texts), Column("n", [-1.5] * 12, "number")])
    with table.write(tmp_path).open(newline="", encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    assert head == ["'=name", "n"]
    assert [row[0] for row in rows] == [*(f"'{text}" for text in texts[:6]), *texts[6:]]
    assert {row[1] for row in rows} == {"-1.5"}


def test_the_parts_of_the_used_share_are_tables():
    """Each town's rows add up to its used share, by way and by end use."""
    scenario = hl.read_scenario("first_town")
    record = hl.simulate(scenario)
    result = Result(scenario, record, hl.measures(record, scenario), "metric")
    for table in (because_tables.because(result), because_tables.because_uses(result)):
        town, last, _, share = (column.values for column in table.columns)
        assert set(town) == {"penhollow"}
        assert set(last) == {"larkmill"}
        assert sum(share) == pytest.approx(
            result.value("season_used_share", town="penhollow"), abs=1e-12
        )
    daily = because_tables.because_days(result)
    assert len(set(daily.columns[1].values)) == record.sizes["time"]
