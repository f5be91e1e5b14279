"""What a wrong table is told: where, what and how to mend it, all at once."""

from __future__ import annotations

import pytest

from hydroloop.errors import TableError
from hydroloop.weather import csv_text as table_module
from hydroloop.weather import read_weather

GOOD = "date,rain [mm],tmin [C],tmax [C]\n"


@pytest.fixture
def told(tmp_path):
    """The lines that reading a table raises."""

    def messages(content, **asked):
        path = tmp_path / "mill.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        with pytest.raises(TableError) as raised:
            read_weather(path, **asked)
        return raised.value.lines()

    return messages


def test_a_missing_file_is_named_with_its_path(tmp_path):
    """The message has the file's name and where it was looked for."""
    with pytest.raises(TableError) as raised:
        read_weather(tmp_path / "none.csv")
    assert str(raised.value) == (
        f"none.csv: there is no such file. It was looked for as {tmp_path / 'none.csv'}."
    )


def test_a_folder_is_not_a_file(tmp_path):
    """A folder is refused in words."""
    with pytest.raises(TableError, match="is a folder"):
        read_weather(tmp_path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "the file is empty"),
        ("\n\n# only a note\n", "the file is empty"),
        (GOOD, "there are no rows under the heading"),
        (b"\x89PNG\0\0\0", "not a text file"),
        ("date\n".encode("utf-16"), "UTF-16"),
    ],
)
def test_files_that_hold_no_table(told, content, words):
    """Empty, heading alone, a picture, another encoding: one message, no traceback."""
    lines = told(content)
    assert len(lines) == 1
    assert words in lines[0]


def test_other_encodings_are_told_with_the_line(told):
    """A degree sign in an old encoding is told with its line and the cure."""
    lines = told(b"# note\ndate,tmax (\xb0C)\n")
    assert lines == [
        "mill.csv:2: the character with byte 0xb0 is not UTF-8. Save it as CSV in UTF-8."
    ]


def test_too_large_a_file_is_refused_before_it_is_read(told, monkeypatch):
    """The limit stands before reading; it is lowered here rather than writing 100 MB."""
    assert table_module.LARGEST_BYTES == 100_000_000
    monkeypatch.setattr(table_module, "LARGEST_BYTES", 40)
    assert "at most" in told(GOOD + "2031-05-01,1,2,3\n")[0]


def test_every_problem_is_told_at_once_with_its_line(told):
    """Bad numbers, negative rain, crossed temperatures and dates out of order, each on its line."""
    lines = told(
        "# a note\n" + GOOD + "2031-05-01,x,2,3\n2031-05-02,-1,2,3\n2031-05-03,1,9,3\n"
        "2031-05-03,0,2,3\n"
    )
    assert [line.partition(" ")[0] for line in lines] == [
        "mill.csv:3:",
        "mill.csv:4:",
        "mill.csv:5:",
        "mill.csv:6:",
    ]
    assert '"x" is not a number' in lines[0]
    assert "-1 mm is negative" in lines[1]
    assert "the lowest value (9) is above the highest (3)" in lines[2]
    assert "2031-05-03 comes again" in lines[3]


def test_no_more_than_twenty_lines_and_a_count(told):
    """A file that is wrong throughout is told twenty times, and then how many more."""
    rows = "".join(f"2031-05-{day:02d},bad,bad,3\n" for day in range(1, 21))
    lines = told(GOOD + rows)
    assert len(lines) == 21
    assert lines[-1] == "and 20 more."


@pytest.mark.parametrize("cell", ["inf", "-inf", "1e999", "1_000", "1 000", "0x10", "2.5 mm", "١"])
def test_what_is_not_a_plain_number_is_refused(told, cell):
    """Infinity, underscores, other digits and units in cells are no numbers."""
    lines = told(GOOD + f"2031-05-01,{cell},2,3\n")
    assert len(lines) == 1
    assert lines[0].startswith("mill.csv:2: rain [mm]:")


def test_a_missing_value_is_a_gap_and_not_zero(told):
    """An empty cell and nan are told as gaps of their column, with the cure."""
    lines = told(GOOD + "2031-05-01,,2,3\n2031-05-02,nan,2,3\n2031-05-03,1,2,3\n")
    assert len(lines) == 1
    assert lines[0].startswith(
        "mill.csv:2: rain_mm: there is no value for 2031-05-01 to 2031-05-02 (2 days)."
    )
    assert 'gaps = "interpolate"' in lines[0]


def test_missing_days_are_told_as_ranges(told):
    """Each run of days without a row is one line, at the row behind it."""
    lines = told(GOOD + "2031-05-01,0,2,3\n2031-05-03,0,2,3\n2031-05-04,0,2,3\n2031-05-09,0,2,3\n")
    assert [line.partition(". ")[0] for line in lines] == [
        "mill.csv:3: there is no row for 2031-05-02",
        "mill.csv:5: there is no row for 2031-05-05 to 2031-05-08 (4 days)",
    ]


@pytest.mark.parametrize("date", ["1/5/2031", "05-01-2031", "1.5.2031", "1/5/31 09:00"])
def test_dates_that_can_be_read_in_two_ways_are_refused(told, date):
    """Day and month could be either: the message shows the one way to write dates."""
    lines = told(GOOD + f"{date},0,2,3\n")
    assert lines == [
        f'mill.csv:2: the date "{date}" can be read in more than one way. '
        "Write dates as 2031-05-01."
    ]


@pytest.mark.parametrize(
    ("date", "words"),
    [
        ("2031-02-29", "not in the calendar"),
        ("", "the date is missing"),
        ("May 1", "not a date"),
        ("20310501", "not a date"),
    ],
)
def test_dates_that_are_none(told, date, words):
    """Days that are not in the calendar, empty cells and words are each told in words."""
    assert words in told(GOOD + f"{date},0,2,3\n2031-05-02,0,2,3\n")[0]


def test_dates_out_of_order(told):
    """A date after a later one is told with both."""
    lines = told(GOOD + "2031-05-02,0,2,3\n2031-05-01,0,2,3\n")
    assert lines == ["mill.csv:3: 2031-05-01 comes after 2031-05-02. Sort the rows by date."]


def test_a_heading_without_unit_lists_what_is_allowed(told):
    """No unit is guessed; the message gives one to write and the others."""
    lines = told("date,rain,tmin [C],tmax [furlong]\n2031-05-01,0,2,3\n")
    assert lines == [
        'mill.csv:1: the column "rain" has no unit. Write for example "rain [mm]"; also cm, in.',
        'mill.csv:1: "furlong" is not a unit of temperature. Write for example "tmax [C]"; '
        "also F, K.",
    ]


def test_columns_that_are_not_there(told):
    """A missing column is told with an example, and a near miss is asked about."""
    lines = told("date,rainn [mm],tmin [C]\n2031-05-01,0,2\n")
    assert lines == [
        'mill.csv:1: there is no column for rain. Is it "rainn [mm]"? Call it for example '
        '"rain [mm]".',
        'mill.csv:1: there is no column for tmax. Call it for example "tmax [C]".',
    ]


def test_a_daily_table_needs_both_temperatures(told):
    """The mean alone does for hours, not for days."""
    lines = told("date,rain [mm],tmean [C]\n2031-05-01,0,2\n2031-05-02,0,2\n")
    assert lines == [
        "mill.csv: a daily table needs tmin and tmax; the mean alone does not do. "
        'Add "tmin [C]" and "tmax [C]".'
    ]


def test_two_columns_of_one_quantity(told):
    """Which of two rain columns is meant is for the owner to say."""
    lines = told("date,rain [mm],precip [in],tmin [C],tmax [C]\n2031-05-01,0,0,2,3\n")
    assert lines == [
        'mill.csv:1: "rain [mm]" and "precip [in]" are the same quantity. Keep one of them.'
    ]


def test_no_column_of_dates(told):
    """The columns that there are stand in the message."""
    assert (
        'no column is called date; there are "when", "rain [mm]"'
        in told("when,rain [mm],tmin [C],tmax [C]\n2031-05-01,0,2,3\n")[0]
    )


def test_rows_of_another_width(told):
    """Decimal commas in a comma file show as too many cells, and the cure says so."""
    lines = told(GOOD + "2031-05-01,0,5,2,3,0\n2031-05-02,0\n")
    assert lines[0].startswith("mill.csv:2: the row has 6 cells, but the heading has 4. If commas")
    assert lines[1].startswith("mill.csv:3: the row has 2 cells, but the heading has 4.")


def test_an_open_quote(told):
    """A quote without its pair is told where it began."""
    lines = told(GOOD + '2031-05-01,0,2,3\n2031-05-02,"0,2,3\n2031-05-03,0,2,3\n')
    assert len(lines) == 1
    assert lines[0].startswith("mill.csv:3: a cell cannot be read")


def test_thousands_that_may_be_decimals(told):
    """1,500 in quotes may be one and a half: refused with both ways to write it."""
    lines = told(GOOD + '2031-05-01,"1,500",2,3\n')
    assert "can be read in two ways" in lines[0]


def test_values_beyond_every_record(told):
    """A code for no value, or a wrong unit, is told with the largest that is taken."""
    lines = told(GOOD + "2031-05-01,0,-9999,3\n2031-05-02,5000,2,90\n")
    assert "-9999 C is below -90 C" in lines[0]
    assert "5000 mm is more than can be measured (2000 mm)" in lines[1]
    assert "90 C is more than can be measured (60 C)" in lines[2]


def test_values_beyond_every_record_in_a_unit_with_a_zero_of_its_own(told):
    """The ends are told in the unit of the heading: 60 C are 140 F, -90 C are -130 F."""
    lines = told(GOOD.replace("[C]", "[F]") + "2031-05-01,0,-200,30\n2031-05-02,0,30,300\n")
    assert "-200 F is below -130 F" in lines[0]
    assert "300 F is more than can be measured (140 F)" in lines[1]


def test_the_season_must_be_covered(told):
    """The message has both spans."""
    lines = told(
        GOOD + "2031-05-01,0,2,3\n2031-05-02,0,2,3\n", start="2031-05-01", end="2031-06-30"
    )
    assert lines == [
        "mill.csv: the table reaches from 2031-05-01 to 2031-05-02, but 2031-05-01 to "
        "2031-06-30 is asked for. Change the season, or add the missing days."
    ]


def test_monthly_tables_and_odd_steps(told):
    """Monthly rows, and steps that do not divide a day, are named as what they are."""
    months = "".join(f"2031-{month:02d}-01,0,2,3\n" for month in range(1, 8))
    assert "one row in 28 days" in told(GOOD + months)[0]
    sevens = "".join(f"2031-05-01 {hour:02d}:00,0,2,3\n" for hour in (0, 7, 14, 21))
    assert "420 minutes apart" in told(GOOD + sevens)[0]


def test_rows_off_the_grid(told):
    """An hour at twenty past is told on its line."""
    lines = told(
        GOOD + "2031-05-01 00:00,0,2,3\n2031-05-01 01:00,0,2,3\n2031-05-01 02:00,0,2,3\n"
        "2031-05-01 03:20,0,2,3\n"
    )
    assert lines[0].startswith("mill.csv:5: 2031-05-01 03:20:00 is not on the table's grid")


def test_an_unknown_rule_for_gaps(told):
    """The rules there are stand in the message."""
    lines = told(GOOD + "2031-05-01,0,2,3\n", gaps="guess")
    assert lines == [
        'mill.csv: gaps = "guess" is not known; there are refuse, interpolate, carry, '
        "dry. Choose one of them."
    ]
