"""What headings are taken for, and what is not guessed."""

from __future__ import annotations

import pytest

from hydroloop.weather.evaporation import wind_at_2m_m_per_s
from hydroloop.weather.header import read_heading


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("rain [mm]", "rain_mm"),
        ("Precipitation (in)", "rain_mm"),
        ("precipitation_mm", "rain_mm"),
        ("daily total rain [mm]", "rain_mm"),
        ("tmax [F]", "tmax_c"),
        ("temp_max (°C)", "tmax_c"),
        ("Minimum air temperature [C]", "tmin_c"),
        ("t_min_c", "tmin_c"),
        ("temperature [C]", "tmean_c"),
        ("mean temperature (K)", "tmean_c"),
        ("relative humidity [%]", "humidity"),
        ("rh_max_percent", "humidity_max"),
        ("wind_m_per_s", "wind_m_per_s"),
        ("wind speed [km/h]", "wind_m_per_s"),
        ("sunshine hours [h]", "sunshine_h"),
        ("solar radiation [W/m2]", "radiation_mj_per_m2"),
        ("global radiation (MJ/m²/day)", "radiation_mj_per_m2"),
        ("discharge (m³/s)", "flow"),
        ("flow_ft3_s", "flow"),
        ("Wren at the mill [cfs]", "flow"),
        ("wren_m3_per_s", "flow"),
        ("date", "date"),
        ("Date (UTC)", "date"),
    ],
)
def test_headings_that_are_understood(text, name):
    """Words in any order and case, units in brackets or behind underscores."""
    heading = read_heading(text)
    assert heading.name == name
    assert name == "date" or heading.unit is not None


@pytest.mark.parametrize("text", ["rain", "tmax", "flow", "wind speed", "rain []", "tmax [mm]"])
def test_no_unit_is_guessed(text):
    """A known quantity without a unit that fits stays without."""
    heading = read_heading(text)
    assert heading.quantity
    assert heading.unit is None


@pytest.mark.parametrize(
    "text", ["weather", "station", "", "rain max [mm]", "soil temperature [C]", "quality (rain)"]
)
def test_other_columns_are_left_alone(text):
    """A name with a word that is not known is no quantity of ours."""
    assert read_heading(text).quantity == ""


@pytest.mark.parametrize(
    ("text", "number", "held"),
    [
        # Exact definitions: 1 in = 25.4 mm; F = 1.8 C + 32; 1 mile = 1609.344 m; 1 W for a day is
        # 0.0864 MJ; 1 kWh = 3.6 MJ.
        ("rain [in]", 2.0, 50.8),
        ("tmin [F]", 14.0, -10.0),
        ("tmin [K]", 283.15, 10.0),
        ("humidity [%]", 40.0, 0.40),
        ("wind [mph]", 10.0, 4.4704),
        ("wind [km/h]", 36.0, 10.0),
        ("sunshine [min]", 90.0, 1.5),
        ("radiation [W/m2]", 100.0, 8.64),
        ("radiation [kWh/m2/day]", 2.0, 7.2),
        ("flow [L/s]", 1.0, 86.4),
        ("flow [ML/day]", 1.0, 1000.0),
    ],
)
def test_units_are_converted(text, number, held):
    """A number under a heading comes to the unit held inside by the exact factor."""
    unit = read_heading(text).unit
    assert number * unit.factor + unit.offset == pytest.approx(held, rel=1e-12, abs=1e-12)


def held(texts, number, value, per_step=0):
    return [(text, number, value, per_step) for text in texts.split(", ")]


@pytest.mark.parametrize(
    ("text", "number", "value", "per_step"),
    [
        # 1 kWh = 3.6 MJ and 1 W for a day is 0.0864 MJ; energy of a step is held by the day.
        *held("radiation [MJ/m2/d], radiation [MJ/m2/day]", 5.0, 5.0),
        *held("radiation [kWh/m2/d]", 2.0, 7.2),
        *held("radiation [kWh/m2]", 2.0, 7.2, -1),
        *held("radiation [MJ/m2], radiation [MJ/m^2]", 5.0, 5.0, -1),
        *held("rain [mm/day], rain [mm per d]", 3.0, 3.0, 1),
        *held("rain [mm]", 3.0, 3.0),
        *held("rh [percent], rh_pct", 40.0, 0.4),
        *held("rh [-], rh [1]", 0.4, 0.4),
        *held("sun [hr], sun [hour], sun [hours]", 2.0, 2.0),
        *held("sun [minutes]", 90.0, 1.5),
        *held("tmax [degC], tmax [deg C], tmax [celsius]", 20.0, 20.0),
        *held("tmax [°F], tmax [degF], tmax [deg F], tmax [fahrenheit]", 68.0, 20.0),
        *held("tmax [kelvin]", 293.15, 20.0),
    ],
)
def test_every_spelling_of_a_unit(text, number, value, per_step):
    """Each comes to the unit held inside, and says whether a step's length comes in."""
    unit = read_heading(text).unit
    assert number * unit.factor + unit.offset == pytest.approx(value, rel=1e-12, abs=1e-12)
    assert unit.per_step == per_step


def test_the_height_of_the_wind_counts_for_wind_alone():
    """One metre is a height, none is no word of ours, and rain has no height."""
    at_1m, plain = (read_heading(f"wind{words} [m/s]").unit for words in (" 1m", ""))
    assert at_1m.factor == pytest.approx(float(wind_at_2m_m_per_s(1.0, 1.0)), rel=1e-12)
    assert plain.factor == 1.0
    assert read_heading("wind 0m [m/s]").quantity == ""
    assert read_heading("rain 10m [mm]").unit.factor == 1.0


def test_wind_from_ten_metres_is_brought_to_two():
    """A height in the heading is used: FAO-56 Example 14 has 3.2 m/s at 10 m as 2.4 at 2 m.

    As given in quotations of FAO-56; tolerance half of the last printed digit.
    """
    assert abs(3.2 * read_heading("wind at 10m [m/s]").unit.factor - 2.4) <= 0.05
