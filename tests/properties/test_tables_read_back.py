"""A table of weather, written in any of the allowed ways, reads back as what it says."""

from __future__ import annotations

import csv
import datetime as dt
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.errors import TableError
from hydroloop.weather import read_flow, read_weather

# Heading, and what turns mm or C or m3/d into the number under it.
RAIN = {
    "rain [mm]": lambda mm: mm,
    "precipitation_mm": lambda mm: mm,
    "Rainfall (in)": lambda mm: mm / 25.4,
    "prcp [cm]": lambda mm: mm / 10,
    "rain [mm/day]": lambda mm: mm,
}
LOWEST = {
    "tmin [C]": lambda c: c,
    "temp_min (°C)": lambda c: c,
    "min temperature [°F]": lambda c: c * 1.8 + 32,
    "tmin_f": lambda c: c * 1.8 + 32,
    "minimum air temperature (K)": lambda c: c + 273.15,
}
HIGHEST = {
    "tmax [C]": lambda c: c,
    "temp_max_c": lambda c: c,
    "TMAX [F]": lambda c: c * 1.8 + 32,
}
# 1 ft3 = 0.3048^3 m3 and 1 US gal = 3.785411784e-3 m3 exactly.
FLOW = {
    "flow [m3/s]": lambda q: q / 86400,
    "discharge (m³/s)": lambda q: q / 86400,
    "flow [cfs]": lambda q: q / 86400 / 0.3048**3,
    "streamflow_m3_per_day": lambda q: q,
    "river flow [Mgal/day]": lambda q: q / 3785.411784,
    "flow [L/s]": lambda q: q / 86.4,
}
days = st.tuples(st.floats(0, 300), st.floats(-60, 40), st.floats(0.01, 15))


@st.composite
def dialects(draw):
    """Separator, decimal mark, byte-order mark, quotes and comments."""
    separator = draw(st.sampled_from(",;\t"))
    return {
        "separator": separator,
        "decimal": draw(st.sampled_from(".,")) if separator != "," else ".",
        "encoding": draw(st.sampled_from(["utf-8", "utf-8-sig"])),
        "quoting": draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])),
        "newline": draw(st.sampled_from(["\n", "\r\n"])),
        "comment": draw(st.sampled_from(["", "# a note, with; marks", "#"])),
        "dash": draw(st.sampled_from("-/")),
        "time": draw(st.sampled_from(["", "T00:00", " 09:00", "T00:00:00Z"])),
    }


def written(folder, dialect, heading, rows):
    path = Path(folder) / "table.csv"
    with path.open("w", encoding=dialect["encoding"], newline="") as file:
        if dialect["comment"]:
            file.write(dialect["comment"] + dialect["newline"])
        writer = csv.writer(
            file,
            delimiter=dialect["separator"],
            quoting=dialect["quoting"],
            lineterminator=dialect["newline"],
        )
        writer.writerow(["date", *heading])
        for row, values in enumerate(rows):
            day = str(dt.date(2032, 2, 26) + dt.timedelta(days=row)).replace("-", dialect["dash"])
            numbers = [f"{value:.15f}".replace(".", dialect["decimal"]) for value in values]
            writer.writerow([f"{day}{dialect['time']}", *numbers])
    return path


@settings(max_examples=60, deadline=None)
@given(
    dialect=dialects(),
    rain=st.sampled_from(sorted(RAIN)),
    lowest=st.sampled_from(sorted(LOWEST)),
    highest=st.sampled_from(sorted(HIGHEST)),
    rows=st.lists(days, min_size=1, max_size=12),
)
def test_weather_in_any_dialect_and_unit(dialect, rain, lowest, highest, rows):
    """Rain and temperature come back in mm and C, on the days they were written for."""
    table = [
        (RAIN[rain](mm), LOWEST[lowest](cold), HIGHEST[highest](cold + range_c))
        for mm, cold, range_c in rows
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = written(folder, dialect, [rain, lowest, highest], table)
        weather = read_weather(path)
    expected = np.array(rows)
    assert np.allclose(weather["rain_mm"], expected[:, 0], rtol=1e-9, atol=1e-8)
    assert np.allclose(weather["tmin_c"], expected[:, 1], atol=1e-8)
    assert np.allclose(weather["tmax_c"], expected[:, 1] + expected[:, 2], atol=1e-8)
    assert str(weather["time"].values[0])[:10] == "2032-02-26"
    assert weather.sizes["time"] == len(rows)
    assert weather["rain_mm"].attrs["units"] == "mm"


@settings(max_examples=40, deadline=None)
@given(
    dialect=dialects(),
    heading=st.sampled_from(sorted(FLOW)),
    rows=st.lists(st.floats(0, 1e8), min_size=1, max_size=12),
)
def test_flow_in_any_dialect_and_unit(dialect, heading, rows):
    """River flow comes back in m3/d."""
    with tempfile.TemporaryDirectory() as folder:
        path = written(folder, dialect, [heading], [(FLOW[heading](q),) for q in rows])
        flow = read_flow(path)["flow"]
    assert np.allclose(flow, rows, rtol=1e-9, atol=1e-6)
    assert flow.attrs["units"] == "m3 d-1"


SNIPPETS = st.sampled_from(
    [
        "date",
        "rain [mm]",
        "tmin [C]",
        "tmax [C]",
        "tmax_f",
        "flow [cfs]",
        "rain",
        "[",
        "]",
        "(mm)",
        ",",
        ";",
        "\t",
        "\n",
        "\r\n",
        '"',
        "#",
        "2031-05-01",
        "2031-05-02",
        "2031-05-02 12:00",
        "1/2/3",
        "2031-13-01",
        "0001-01-01",
        "9999-12-31",
        "1",
        "-1",
        "1,5",
        "1.500,0",
        "nan",
        "inf",
        "",
        " ",
        "1e308",
        "٣",
        "\ufeff",
        "é",
        "date,rain [mm],tmin [C],tmax [C]\n",
        "2031-05-03,0,1,2\n",
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.lists(SNIPPETS, max_size=30), st.sampled_from(["refuse", "interpolate", "carry", "dry"]))
def test_any_text_is_read_or_refused_in_words(snippets, gaps):
    """Whatever a file holds: finite values that can be, or a TableError with at most 21 lines."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "any.csv"
        path.write_bytes("".join(snippets).encode())
        for read in (read_weather, read_flow):
            table, problems = {}, []
            try:
                table = read(path, gaps=gaps).data_vars
            except TableError as error:
                problems = error.problems
            assert bool(table) != bool(problems)
            assert len(problems) <= 21
            assert all("\n" not in str(problem) for problem in problems)
            assert all(np.isfinite(values).all() for values in table.values())


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_refused_in_words(data):
    """Pictures, archives and noise end in a TableError, not in another error."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "any.csv"
        path.write_bytes(data)
        with pytest.raises(TableError):
            read_weather(path)
