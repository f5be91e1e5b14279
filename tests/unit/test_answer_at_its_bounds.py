"""Sentences and tables of a run right at the numbers where they begin to say something else."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from hydroloop.charts.because_words import LITTLE
from hydroloop.outputs.run import river_tables, supply_tables, tables
from hydroloop.outputs.run.answer import (
    account_sentence,
    mean_uses_sentence,
    others_sentence,
    season_sentences,
    town_sentences,
)
from hydroloop.outputs.run.result import Result
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing.warm_up import UNSETTLED

DAYS = np.array(["2031-05-01", "2031-05-02"], "datetime64[ns]")
TOWNS = ["upper", "lower", "far"]


def river_town(used_before=0.0):
    return SimpleNamespace(
        town={name: SimpleNamespace(people=1000.0) for name in TOWNS},
        river={"wren": SimpleNamespace(used_before=used_before)},
    )


def season(used, unknown=(0.0, 0.0, 0.0), **attrs):
    """Three towns with these shares of the season; of each day the same."""
    used, unknown = np.array(used), np.array(unknown)
    shares = np.stack([1.0 - used - unknown, used, 0.0 * used], axis=-1)
    table = xr.Dataset(
        {
            "season_used_share": ("town", used),
            "season_unknown_share": ("town", unknown),
            "used_share": (("time", "town"), np.stack([used, used])),
            "unknown_share": (("time", "town"), np.stack([unknown, unknown])),
            "use_share": (("time", "town", "use"), np.stack([shares, shares])),
        },
        {"town": TOWNS, "time": DAYS, "use": [0, 1, 2]},
        attrs,
    )
    return Result(river_town(), xr.Dataset(), table, "metric")


@pytest.mark.parametrize(
    ("used", "unknown", "said"),
    [
        ([0.3, 0.1, 0.1], [0, 0, 0], "In Lower and Far it was 10 %."),
        ([0.3, 0.0, 0.0], [0, 0, 0], "In Lower and Far none had."),
        ([0.3, 0.1, 0.0], [0, 0, 0], "In Lower it was 10 % and in Far none."),
        ([0.3, 0.1, 0.2], [0, LITTLE, 0], "In Lower it was at least 10 % and in Far 20 %."),
        ([0.3, 0.1, 0.2], [0, LITTLE / 2, 0], "In Lower it was 10 % and in Far 20 %."),
        ([0.3, 0.0, 0.2], [0, LITTLE, 0], "In Lower it was not known and in Far 20 %."),
        ([0.3, LITTLE / 2, 0.2], [0, 0, 0], "In Lower it was hardly any and in Far 20 %."),
        ([0.3, 1e-9, 2e-9], [0, 0, 0], "In Lower it was none and in Far hardly any."),
    ],
)
def test_what_it_was_in_other_towns(used, unknown, said):
    """Like towns in one breath; none, hardly any, not known and at least are told apart."""
    assert others_sentence(season(used, unknown), TOWNS[1:]) == said


@pytest.mark.parametrize(
    ("unknown", "said"),
    [
        (LITTLE / 2, "None of Upper's tap water had been through a home before."),
        (LITTLE, "None of Upper's tap water is known to have been through a home before;"),
        (1.0 - LITTLE, "None of Upper's tap water is known to have been through a home before;"),
        (1.0 - LITTLE / 2, "The past of Upper's tap water is not known"),
    ],
)
def test_little_of_an_unknown_past(unknown, said):
    """Less than a little is not told, and all but less than a little is all."""
    found = season([0.0, 0.1, 0.1], [unknown, 0.0, 0.0])
    assert town_sentences(found, "upper", DAYS[0]).startswith(said)


@pytest.mark.parametrize(
    ("used", "begins"),
    [(LITTLE, "On 1 May 2031, "), (LITTLE / 2, "Hardly any of "), (1e-9, "None of ")],
)
def test_little_of_used_water(used, begins):
    """From a little on a share is told; below it is hardly any, and at rounding none."""
    found = season([used, 0.1, 0.1])
    assert town_sentences(found, "upper", DAYS[0]).startswith(begins)


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ([0.8, 0.0, 0.2, 0.0], ", all of it twice."),
        ([0.8, 0.0, 0.0, 0.2], ", all of it three or more times."),
        ([0.7998, 0.0002, 0.2, 0.0], ", nearly all of it twice."),
        ([0.8, 0.2, 0.0, 0.0], ", all of it once."),
    ],
)
def test_all_of_it_so_often(shares, said):
    """The one class that is told is named by its number of uses."""
    table = xr.Dataset(
        {
            "season_used_share": ("town", [0.2]),
            "used_share": (("time", "town"), [[0.2]]),
            "unknown_share": (("time", "town"), [[0.0]]),
            "use_share": (("time", "town", "use"), [[shares]]),
        },
        {"town": ["upper"], "time": DAYS[:1], "use": range(4)},
    )
    found = Result(river_town(), xr.Dataset(), table, "metric")
    assert said in town_sentences(found, "upper", DAYS[0])


@pytest.mark.parametrize(("times", "told"), [(1.05, False), (1.2, True)])
def test_a_day_with_much_more_than_the_season(times, told):
    """A day is told from a tenth more than the season on."""
    found = season([0.2, 0.1, 0.1])
    found.table["use_share"][1, 0, 1] = 0.2 * times
    found.table["used_share"][1, 0] = 0.2 * times
    words = season_sentences(found, "upper")
    assert ("The most on one day was 24 %, on 2 May 2031." in words) == told
    assert "The most on one day" not in season_sentences(found, "upper", brief=True)


@pytest.mark.parametrize(("change", "told"), [(UNSETTLED, False), (UNSETTLED * 1.01, True)])
def test_what_has_not_settled(change, told):
    """Only more than what counts as settled is told."""
    found = season([0.2, 0.1, 0.1], warm_up_change=change)
    found.table["balance"] = (("place", "term"), [[0.0]])
    found.table.coords["term"] = ["gap"]
    assert ("has not settled" in account_sentence(found)) == told


def test_mean_uses_in_words():
    """One time, times, and the rest that was never used from a mean of nine tenths on."""
    use = season([0.2, 0.1, 0.1]).use
    assert mean_uses_sentence(1.0, 1.0, use).endswith("through homes 1 time.")
    assert mean_uses_sentence(0.5, 0.4, use).endswith("through homes 0.5 times.")
    assert mean_uses_sentence(0.9, 0.6, use).endswith("0.9 times; still, 40 % of it never was.")
    assert mean_uses_sentence(0.89, 0.6, use).endswith("0.89 times.")
    assert "cannot be told" in mean_uses_sentence(math.nan, 0.5, use)


def test_most_used_days_and_totals_in_the_table_of_towns():
    """The date of the most used day of a town that has any; intakes and wells are one number."""
    used = [[0.1, 0.0, 1e-9], [0.3, 0.0, 0.0]]
    flat = ("time", "town"), [[1000.0, 2000.0, 3000.0], [3000.0, 2000.0, 1000.0]]
    table = xr.Dataset(
        {
            "used_share": (("time", "town"), used),
            **dict.fromkeys(("delivered", "withdrawn", "pumped", "effluent"), flat),
        },
        {"town": TOWNS, "time": DAYS},
    )
    found = Result(river_town(), xr.Dataset(), table, "metric")
    rows = tables.towns(found).records("metric")
    assert [row["most-used day"] for row in rows] == ["2031-05-02", "", ""]
    assert [row["used share, most-used day [%]"] for row in rows] == pytest.approx([30, 0, 1e-7])
    assert [row["people"] for row in rows] == [1000.0] * 3
    by_key = {one.known_as: list(one.values) for one in tables.towns(found).columns}
    assert by_key["withdrawn"] == [4000.0] * 3
    assert by_key["delivered"] == [2000.0] * 3
    assert [one.known_as for one in tables.summary(found).columns][:3] == [
        "town",
        "people",
        "delivered",
    ]


@pytest.mark.parametrize(("lowest", "is_dry"), [(0.06, True), (0.0601, False), (0.05, True)])
def test_a_reservoir_near_its_dead_storage(lowest, is_dry):
    """Up to a hundredth of its capacity above it a reservoir has run dry."""
    columns = [
        SimpleNamespace(known_as="lowest", values=[0.9, lowest]),
        SimpleNamespace(known_as="dead_storage", values=[0.05, 0.05]),
    ]
    assert supply_tables.ran_dry(SimpleNamespace(columns=columns)) == is_dry


def test_two_steps_have_a_length():
    """Half a day of the two is short."""
    hours = DAYS[0] + np.timedelta64(12, "h") * np.arange(2)
    dims = ("time", "town", "purpose")
    where = {"time": hours, "town": ["upper"], "purpose": ["homes"]}
    table = xr.Dataset({"unmet": (dims, [[[0.0]], [[4000.0]]])}, where)
    record = xr.Dataset({"demand": (dims, [[[4000.0]], [[4000.0]]])}, where)
    (row,) = supply_tables.shortages(Result(river_town(), record, table, "metric")).records(
        "metric"
    )
    assert list(row.values()) == ["upper", "homes", 4.0, 2.0, 50.0, 0.5]


def river(flow, rain):
    """The row of a river of a year with this flow at its head, and rain in mm a day."""
    ends = (["upstream", "wren/reach_1"], ["wren/reach_1", "downstream"], ["upstream", "river"])
    rate = np.stack([flow, flow], axis=1)
    edges = edges_of("2031-01-01", len(flow), 1.0)
    record = build_record(
        Network(["wren/reach_1"], *ends), edges, np.zeros((len(flow) + 1, 1)), rate
    )
    weather = {name: ("time", np.full(len(flow), rain)) for name in ("rain_mm", "et0_mm")}
    scenario = SimpleNamespace(
        river={"wren": SimpleNamespace(catchment=10.0)}, season=SimpleNamespace(step=1.0)
    )
    empty = xr.Dataset(coords={"town": []})
    found = Result(scenario, record.assign(weather), empty, "metric")
    (row,) = river_tables.rivers(found).records("metric")
    return list(row.values())


def test_a_river_that_runs_for_a_day():
    """A river that runs on its second day alone is told of; one of its first day alone is not. In
    half a millimetre of rain a day the curves stand; without rain there is nothing to divide by."""
    second, first = np.zeros(365), np.zeros(365)
    second[1] = first[0] = 86_400.0
    assert river(second, 0.5)[3] == pytest.approx(2.0)
    assert river(first, 0.5)[2:5] == [None] * 3
    # As much potential evaporation as rain: Turc and Pike leave 1 - 1 / sqrt(2).
    told = river(second, 0.5)
    assert told[5] == pytest.approx(100 * (1 / 365) * 86_400 / 5_000)
    assert told[6] == pytest.approx(100 * (1 - 1 / math.sqrt(2)))
    assert river(second, 0.0)[5:] == [None] * 3


@pytest.mark.parametrize(
    ("intake", "used_before", "unknown", "told"),
    [
        ("wren", 0.0, 0.0, True),
        ("wren", 0.1, 0.0, False),
        ("wren", 0.0, LITTLE, False),
        ("wren", 0.0, LITTLE / 2, True),
        (None, 0.0, 0.0, False),
    ],
)
def test_water_from_above_counts_as_new(intake, used_before, unknown, told):
    """Said of a town that drinks a river's water of which nothing is said to be used before."""
    found = season([0.0, 0.1, 0.1], [unknown, 0.0, 0.0])
    scenario = river_town(used_before)
    if intake:
        scenario.town["upper"].intake = SimpleNamespace(river=intake, reservoir=None)
    found = Result(scenario, found.record, found.table, "metric")
    assert ("counts as new (river.wren.used_before)" in season_sentences(found, "upper")) == told
    assert "counts as new" not in season_sentences(found, "upper", brief=True)
