"""Tables of runs that are small enough to be written down: which rows there are, and in which unit.

Nothing is run: each table is made from numbers that stand beside it.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from hydroloop.outputs.run import (
    because_tables,
    land,
    river_tables,
    supply_tables,
    tables,
    time_tables,
)
from hydroloop.outputs.run.answer import account_sentence
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.trouble import untreated_sentences
from hydroloop.placenames import NO_NAMES
from hydroloop.record import Network, build_record, edges_of
from hydroloop.weather import budyko_evaporation, turc_pike_evaporation

TOWNS = ["upper", "lower"]
HOURS = np.array(["2031-05-01T00", "2031-05-01T06", "2031-05-01T12"], "datetime64[ns]")


def run(values, record=None, scenario=None, **coords):
    """A finished run with these measures: name to dims and numbers."""
    measures = {name: (dims.split(), numbers) for name, (dims, numbers) in values.items()}
    table = xr.Dataset(measures, {"town": TOWNS, **coords})
    scenario = scenario or SimpleNamespace()
    return Result(scenario, xr.Dataset() if record is None else record, table, "metric")


def rows(table):
    return [tuple(row.values()) for row in table.records("metric")]


def test_who_ran_short():
    """Upper's homes lack 1 of 4 in one of three steps of a quarter of a day, its yards nothing, and
    Lower's yards all of 2 in two of them."""
    asked = np.full((3, 2, 2), 4.0)
    asked[:, 1, 1] = 2.0
    short = np.zeros((3, 2, 2))
    short[1, 0, 0], short[1:, 1, 1] = 1.0, 2.0
    where = {"time": HOURS, "purpose": ["homes", "yards"]}
    record = xr.Dataset(
        {"demand": (("time", "town", "purpose"), 1000.0 * asked)}, {"town": TOWNS, **where}
    )
    found = run({"unmet": ("time town purpose", 1000.0 * short)}, record, **where)
    assert rows(supply_tables.shortages(found)) == [
        ("upper", "homes", 4.0, pytest.approx(1 / 3), pytest.approx(100 / 12), 0.25),
        ("lower", "yards", 2.0, pytest.approx(4 / 3), pytest.approx(200 / 3), 0.5),
    ]
    alone = Result(found.scenario, record.isel(time=[1]), found.table.isel(time=[1]), "metric")
    assert [row[-1] for row in rows(supply_tables.shortages(alone))] == [1.0, 1.0]
    assert rows(supply_tables.shortages(run({}))) == []


def test_uses_and_days_and_last_uses():
    """One use is singular and the last class open; days go town by town; parts of a glass that are
    nothing get no row."""
    found = run(
        {
            "season_use_share": ("town use", [[0.6, 0.3, 0.1], [0.2, 0.5, 0.3]]),
            "used_share": ("time town", [[0.1, 0.2], [0.3, 0.4], [0.5, 0.6]]),
            "last_use_share": ("days_ago town", [[0.0, 0.2], [0.1, 0.0]]),
            "glass_date": ("town", HOURS[:2]),
        },
        time=HOURS,
        use=[0, 1, 2],
        days_ago=[0.0, 7.0],
    )
    uses = tables.uses(found)
    assert [column.name for column in uses.columns[1:]] == [
        "0 uses",
        "1 use",
        "2 or more uses",
        "unknown past",
    ]
    assert [row[1:4] for row in rows(uses)] == [(60.0, 30.0, 10.0), (20.0, 50.0, 30.0)]
    assert [row[0] + row[1][-5:] for row in rows(tables.days(found))] == [
        "upper00:00",
        "upper06:00",
        "upper12:00",
        "lower00:00",
        "lower06:00",
        "lower12:00",
    ]
    assert [row[2] for row in rows(tables.days(found))] == pytest.approx([10, 30, 50, 20, 40, 60])
    assert rows(tables.last_use(found)) == [
        ("upper", "2031-05-01", 7.0, 10.0),
        ("lower", "2031-05-01", 0.0, 20.0),
    ]


def test_from_outfalls_to_taps():
    """Ways of more than a ten-thousandth of a tap's water, then towns that pump back their own."""
    found = run(
        {
            "outfall_to_tap_share": ("town town_to", [[0.0, 0.3], [1e-4, 2e-4]]),
            "outfall_to_tap_ground": ("town town_to", [[0.0, 0.5], [0.1, 0.2]]),
            "outfall_to_tap_time": (
                "part town town_to",
                [[[9, 1.0], [9, 2.0]], [[9, 3.0], [9, 4.0]], [[9, 5.0], [9, 6.0]]],
            ),
            "season_reclaimed_share": ("town", [1e-4, 0.25]),
        },
        town_to=TOWNS,
        part=[0.1, 0.5, 0.9],
    )
    told = rows(time_tables.between_towns(found))
    assert told == [
        ("upper", "lower", "outfall", 3.0, 1.0, 5.0, 30.0, 50.0),
        ("lower", "lower", "outfall", 4.0, 2.0, 6.0, pytest.approx(0.02), 20.0),
        ("lower", "lower", "reclaimed water", None, None, None, 25.0, 0.0),
    ]


def test_how_long_water_stays():
    """Turnover times of the stores of a part add up; a part that a town has not is left empty."""
    record = xr.Dataset(
        {
            "place": ("store", ["upper", "upper", "lower"]),
            "role": ("store", ["rapid_mix", "filters", "mains"]),
        },
        {"store": ["a", "b", "c"]},
    )
    found = run(
        {
            "turnover_time": ("store", [0.25, 0.5, 2.0]),
            "intake_to_outfall_time": ("town part", [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]),
        },
        record,
        store=["a", "b", "c"],
        part=[0.1, 0.5, 0.9],
    )
    told = by_key(time_tables.times(found))
    nan = pytest.approx(math.nan, nan_ok=True)
    assert told["turnover_of_water_plant"] == [0.75, nan]
    assert told["turnover_of_mains"] == [nan, 2.0]
    assert [told[f"intake_to_outfall_{way}"][1] for way in ("tenth", "median", "nine_tenths")] == [
        4.0,
        5.0,
        6.0,
    ]


@pytest.mark.parametrize(
    ("table", "measure", "heads"),
    [(tables.reuse, "season_reclaimed_share", 1), (tables.untreated, "overflowed_volume", 3)],
)
def test_what_no_town_has_is_not_shown(table, measure, heads):
    """Columns of reclaimed water or overflow stand for scripts alone, unless some town has any."""
    hidden, shown = (
        sum(not column.is_shown for column in table(run({measure: ("town", [0.0, value])})).columns)
        for value in (0.0, 1e-6)
    )
    assert hidden - shown == heads


def test_untreated_water_is_told_by_dates():
    """A date counts once, be it for one of its four steps or for three."""
    time = np.datetime64("2031-05-01", "ns") + np.arange(12) * np.timedelta64(6, "h")
    rate = np.zeros((12, 2))
    rate[[1, 4, 5, 7], 0], rate[7, 0], rate[9, 1] = 10.0, 30.0, 5.0
    spilt = {
        "overflowed": ("time town", rate),
        "overflowed_volume": ("town", rate.sum(axis=0) / 4),
        "bypassed_volume": ("town", [0.0, 0.0]),
    }
    scenario = SimpleNamespace(town=TOWNS, names=NO_NAMES)
    upper, lower = untreated_sentences(run(spilt, scenario=scenario, time=time))
    assert "overflowed untreated on 2 days, most on 2 May" in upper
    assert lower.endswith("overflowed untreated on 3 May.")


def test_the_account_shares_one_unit():
    """Places by their names but the whole map; all terms in the unit of the largest."""
    found = run(
        {
            "balance": (
                "place term",
                [[5e6, 4e6, 1e6, 0.0], [2e3, 2e3, 0.0, 0.0], [5.002e6, 4.002e6, 1e6, 0.0]],
            )
        },
        place=["upper_end", "lower", "whole map"],
        term=["inflow", "outflow", "change", "gap"],
    )
    table = tables.balance(found)
    assert list(table.columns[0].words) == ["Upper End", "Lower", "whole map"]
    units = {head.partition("[")[2] for head in table.records("metric")[0] if "[" in head}
    assert len({column.scale for column in table.columns[1:4]}) == 1
    assert table.columns[1].scale == 5.002e6
    assert len(units) <= 2


def test_the_account_adds_up_as_it_is_printed():
    """In less out is the change in store, digit for digit, where each would round another way."""
    found = run(
        {
            "balance": (
                "place term",
                [
                    [12324.4, 12836.6, -512.2, 0.0],
                    [1640.3, 1790.6, -150.3, 0.0],
                    [13964.7, 14627.2, -662.5, 0.0],
                ],
            )
        },
        place=["upper", "lower", "whole map"],
        term=["inflow", "outflow", "change", "gap"],
    )
    shown = [column.words for column in tables.balance(found).columns[1:4]]
    for came, went, change in zip(*shown, strict=True):
        printed = [float(one.replace(",", "")) for one in (came, went, change)]
        assert printed[0] - printed[1] == pytest.approx(printed[2], abs=1e-9)


def test_parts_of_the_used_share():
    """Parts below a billionth get no row; instants keep their hour where not all are days."""
    parts = np.zeros((2, 1, 2))
    parts[0, 0], parts[1, 0, 1] = (0.25, 1e-9), 2e-9
    where = {"used_in": ["lower"], "way": ["river", "ground"]}
    found = run({"season_used_share_by_way": ("town used_in way", parts)}, **where)
    assert rows(because_tables.because(found)) == [
        ("upper", "lower", "river", 25.0),
        ("lower", "lower", "ground", pytest.approx(2e-7)),
    ]
    assert because_tables.dates(HOURS)[:2] == ["2031-05-01T00:00", "2031-05-01T06:00"]
    assert because_tables.dates(HOURS[:1]) == ["2031-05-01"]


def test_stages_and_cuts_and_minimum_flows():
    """First day of each stage, if any; no cut without stages; a minimum flow only for a town that
    is held to one."""
    record = xr.Dataset(
        {
            "stage_days": (("time", "stage"), [[0, 0], [0, 1], [0, 2]]),
            "minimum_flow": (("time", "town"), [[1e3, 5e3], [3e3, 5e3], [5e3, 5e3]]),
        },
        {
            "time": HOURS + np.timedelta64(1, "D") * np.arange(3),
            "town": TOWNS,
            "stage": ["watch", "alert"],
        },
    )
    values = {"days_under_minimum_flow": ("town", [2.0, math.nan])}
    found = run(
        {**values, "days_in_stage": ("stage", [0.0, 2.0])}, record, stage=["watch", "alert"]
    )
    assert rows(supply_tables.stages(found)) == [("watch", 0.0, ""), ("alert", 2.0, "2031-05-02")]
    for one, cut in ((found, [0.0, 0.0]), (run({"cut_share": ("town", [0.1, 0.2])}), [0.1, 0.2])):
        assert by_key(supply_tables.supply(one))["cut_share"] == cut
    least = by_key(supply_tables.supply(found))["minimum_flow"]
    assert least[0] == pytest.approx(3e3)
    assert math.isnan(least[1])


def by_key(table):
    """Columns of a table by what scripts call them, in the units that are held."""
    return {column.known_as: list(column.values) for column in table.columns}


@pytest.mark.parametrize(
    ("system", "depth", "said"),
    [
        ("metric", 5.0, "gains 5 mm more"),
        ("metric", -7.26, "loses 7.3 mm more"),
        ("us", 50.8, "gains 2 in more"),
        ("metric", 4.99, ""),
        ("metric", -4.99, ""),
    ],
)
@pytest.mark.parametrize(
    ("taken", "run_up", "why"),
    [
        (3.0, "five years", "wells and sewers take more than seeps in"),
        (2.0, "five years", "the levels given"),
        (3.0, "", "its first levels are guesses"),
    ],
)
def test_storage_that_no_weather_explains(system, depth, said, taken, run_up, why):
    """From 5 mm on, in the unit of the system, with what is likeliest behind it."""
    found = run(
        {
            "unexplained_storage": ("land", [depth]),
            "land_balance": ("land land_term", [[1.5, 0.5, taken]]),
        },
        land=["upper"],
        land_term=["recharge", "leaks and reuse", "sewers and wells"],
    )
    record = xr.Dataset(attrs={"weather_run_up": run_up})
    words = " ".join(land.land_sentences(Result(found.scenario, record, found.table, system)))
    assert (f"The land of Upper {said} than the weather explains: {why}" in words) == bool(said)
    assert words.count("The land of") == bool(said)


def test_depths_of_the_land_are_rounded_and_never_minus_zero():
    """To a hundredth of a millimetre; a place without weather has no rows."""
    values = np.arange(10.0)[None] + 0.123
    values[0, 0] = -0.001
    found = run(
        {"land_balance": ("land land_term", values)},
        land=["upper"],
        land_term=list(land.LAND_TERMS),
    )
    depths = [column.values[0] for column in land.land(found).columns[1:]]
    assert str(depths[0]) == "0.0"
    assert depths[1:] == pytest.approx(np.arange(1.0, 10.0) + 0.12, abs=1e-12)
    assert land.land(run({})).records() == []


@pytest.mark.parametrize(
    ("system", "gap", "said"),
    [
        ("metric", 7e-7, "under 0.001 L"),
        ("metric", 2.0, "under 10000 L"),
        ("metric", -0.5, "under 1000 L"),
        ("us", 0.0, "0 gal"),
        ("metric", 0.0, "0 L"),
        ("metric", 0.0042, "under 10 L"),
    ],
)
def test_a_gap_is_told_by_a_power_of_ten(system, gap, said):
    """The next one above it, in the smallest unit."""
    found = run({"balance": ("place term", [[gap]])}, place=["whole map"], term=["gap"])
    words = account_sentence(Result(found.scenario, found.record, found.table, system))
    assert words == f"Every drop is accounted for: the largest gap is {said}."


def river(days, per_day, catchment=10.0):
    """Each day 1 or 3 m3/s at the head, all of it in the first half; 2 mm of rain a day."""
    steps = days * per_day
    flow = np.repeat(np.where(np.arange(days) % 2, 3.0, 1.0), per_day) * 86_400.0
    if per_day > 1:
        flow = flow * np.tile([2.0, 0.0], days)
    net = Network(
        ["wren/reach_1"],
        ["upstream", "wren/reach_1"],
        ["wren/reach_1", "downstream"],
        ["upstream", "river"],
    )
    edges = edges_of("2031-01-01", steps, 1.0 / per_day)
    record = build_record(net, edges, np.zeros((steps + 1, 1)), np.stack([flow, flow], axis=1))
    weather = {
        name: ("time", np.full(steps, depth / per_day))
        for name, depth in (("rain_mm", 2.0), ("et0_mm", 3.0))
    }
    scenario = SimpleNamespace(
        river={"wren": SimpleNamespace(catchment=catchment)},
        season=SimpleNamespace(step=1.0 / per_day),
    )
    (row,) = river_tables.rivers(run({}, record.assign(weather), scenario)).records("metric")
    return list(row.values())[1:]


@pytest.mark.parametrize("per_day", [1, 2])
def test_what_kind_of_river_it_is(per_day):
    """Over a year: mean flow, flashiness 2 of 2, flow over 20,000 m3 of rain a day, and what the
    curves leave of 2 mm of rain under 3 mm of potential evaporation; by the hour as by the day."""
    mean, base, flashy, low, runoff, turc, budyko = river(365, per_day)
    days = 365
    whole = 1.0 * 183 + 3.0 * 182
    assert mean == pytest.approx(whole / days)
    assert 0.0 < base < 100.0
    assert flashy == pytest.approx(2.0 * 364 / (whole - 1.0))
    assert low == pytest.approx(100.0 / (whole / days))
    assert runoff == pytest.approx(100.0 * whole / days * 86_400.0 / 20_000.0, rel=1e-9)
    assert turc == pytest.approx(100.0 * (1.0 - turc_pike_evaporation(2.0, 3.0) / 2.0))
    assert budyko == pytest.approx(100.0 * (1.0 - budyko_evaporation(2.0, 3.0) / 2.0))


def test_a_river_of_less_than_a_year_tells_its_mean_alone():
    """One day short of a year, or without a catchment, nothing is said of what hangs on them."""
    assert river(364, 1)[1:] == [None] * 6
    assert river(365, 1, None)[4] is None
