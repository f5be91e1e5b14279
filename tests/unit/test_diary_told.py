"""Diaries of drops: every kind of move has words, and the walk is told as it was walked."""

from __future__ import annotations

import pandas as pd
import pytest
from small_scenarios import one_town

from hydroloop.gates import USES
from hydroloop.outputs.document import Document
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run.diary import _ends, _section, dates_in_words, diaries
from hydroloop.outputs.run.journey import Map, Move, told
from hydroloop.outputs.run.place import begin_of, date_in, town_of
from hydroloop.record import KINDS
from hydroloop.scenario import read_scenario
from hydroloop.tracing import drops
from hydroloop.waterworks import simulate


@pytest.fixture(scope="module")
def record():
    """The record of one town on one river."""
    return simulate(one_town())


def walk(record, *rows) -> pd.DataFrame:
    """A walk of one drop from rows of (date, store); flows are looked up, uses counted."""
    by_ends = {
        (s, t): (f, k)
        for s, t, f, k in zip(
            record["source"].values.tolist(),
            record["target"].values.tolist(),
            record["flow"].values.tolist(),
            record["kind"].values.tolist(),
            strict=True,
        )
    }
    flow, uses, lines, before = "", 0, [], None
    for date, store in rows:
        if before is not None:
            flow, kind = by_ends[before, store]
            uses += kind == "home_use"
        lines.append((0, 0, pd.Timestamp(date), store, flow, uses))
        before = store
    return pd.DataFrame(lines, columns=["drop", "step", "date", "store", "flow", "uses"])


HOME = [
    ("2031-05-02", "larkmill/rapid_mix"),
    ("2031-05-02", "larkmill/flocculation"),
    ("2031-05-02", "larkmill/sedimentation"),
    ("2031-05-02", "larkmill/filters"),
    ("2031-05-02", "larkmill/clearwell"),
    ("2031-05-03", "larkmill/tanks"),
    ("2031-05-03", "larkmill/mains"),
    ("2031-05-03", "larkmill/toilets"),
    ("2031-05-03", "larkmill/sewers"),
    ("2031-05-04", "larkmill/primary"),
]


def test_a_journey_through_a_home(record):
    """Dates, places, the plant in one line, and the use that is counted."""
    (diary,) = diaries(record, walk(record, *HOME), system="metric")
    assert [line.text for line in diary.lines] == [
        "begins in the rapid mix of Larkmill, just drawn from the Wren at km 10",
        "goes through flocculation, settling, the filters and the clearwell in Larkmill's water "
        "plant",
        "is pumped up to the storage tanks of Larkmill",
        "flows into the mains under the streets of Larkmill",
        "flushes a toilet in Larkmill (use 1)",
        "goes down the drain into the sewers of Larkmill",
        "reaches the wastewater plant of Larkmill",
        "is still in the primary settling tanks of Larkmill when the record ends",
    ]
    assert diary.uses == 1


def test_text_says_each_date_once(record):
    """Lines of one day share its date, which stands at the left."""
    (diary,) = diaries(record, walk(record, *HOME))
    _, _, *text = as_text(Document("drops", "Diaries", [_section(diary, USES["home"])]))
    assert text[0] == "Drop 1: in a home once"
    assert sum("3 May 2031" in line for line in text) == 1
    assert all(len(line) <= 100 for line in text)


def test_a_river_is_one_line_and_miles_are_for_us(record):
    """Reaches in a row make one line, from the first date to the last."""
    reaches = [
        name
        for name, role in zip(
            record["store"].values.tolist(), record["role"].values.tolist(), strict=True
        )
        if role == "reach"
    ]
    rows = [(f"2031-05-0{2 + i}", store) for i, store in enumerate([*reaches[1:], "downstream"])]
    (diary,) = diaries(record, walk(record, *rows), system="us")
    texts = [line.text for line in diary.lines]
    assert texts[1] == "flows down the Wren towards mile 24.9"  # 40 km / 1.609344
    assert texts[2] == "leaves the map down the Wren at mile 24.9"
    assert diary.end == "downstream"


def test_a_long_stay_is_told_in_days(record):
    """From two days on, the diary says how long the drop stayed."""
    rows = [
        ("2031-05-02", "larkmill/tanks"),
        ("2031-05-03", "larkmill/mains"),
        ("2031-05-10", "larkmill/baths"),
        ("2031-05-11", "sky"),
    ]
    (diary,) = diaries(record, walk(record, *rows))
    assert diary.lines[1].text.endswith("Larkmill, and stays 7 days")
    assert diary.lines[2].text == "runs through a shower or bath in Larkmill (use 1)"
    assert "evaporates in a home" in diary.lines[3].text


def test_backward_walks_are_told_forward(record):
    """A walk back in time is turned round: it begins where the water came from."""
    rows = [("2031-05-02", "larkmill/tanks"), ("2031-05-03", "larkmill/mains")]
    forward = walk(record, *rows)
    backward = forward.iloc[::-1].reset_index(drop=True)
    backward["flow"] = ["", forward["flow"].iloc[1]]
    backward["date"] = [pd.Timestamp("2031-05-04"), pd.Timestamp("2031-05-03")]
    (diary,) = diaries(record, backward, backward=True)
    assert [line.text for line in diary.lines] == [
        "is in the storage tanks of Larkmill when the record begins",
        "flows into the mains under the streets of Larkmill",
        "comes out of a tap in Larkmill: this is the glass",
    ]
    dates = [line.first for line in diary.lines]
    assert dates == sorted(dates)


@pytest.mark.parametrize("backward", [False, True])
def test_real_walks_are_told_in_order_and_in_full(record, backward):
    """Every drop of a real walk gets a diary: dates never run back, uses agree with the walk."""
    at = begin_of(record, "larkmill", backward=backward)
    on = "2031-08-30" if backward else "2031-05-02"
    walks = drops(record, n=60, at=at, on=on, seed=3, backward=backward)
    told_all = diaries(record, walks, backward=backward)
    assert len(told_all) == 60
    for diary, (_, one) in zip(told_all, walks.groupby("drop"), strict=True):
        assert [line.first for line in diary.lines] == sorted(line.first for line in diary.lines)
        assert diary.uses == one["uses"].iloc[-1]
        assert sum("(use " in line.text for line in diary.lines) == diary.uses
        assert not any("{" in line.text or "/" in line.text for line in diary.lines)
    (counted,) = _ends(record, told_all, backward=backward).blocks
    assert sum(int(number) for number, _ in counted.entries) == 60


@pytest.mark.parametrize("name", ["five_towns", "old_town"])
def test_every_flow_has_words_of_its_own(name):
    """No flow of a bundled scenario is told by the fallback, and none shows a store's raw name."""
    record = simulate(read_scenario(name))
    chart = Map.of(record, "metric")
    seen = set()
    for source, target, kind in zip(
        record["source"].values.tolist(),
        record["target"].values.tolist(),
        record["kind"].values.tolist(),
        strict=True,
    ):
        words = told(chart, [Move(pd.Timestamp("2031-01-01"), source, target, kind)])
        assert "moves from" not in words, (source, target, kind)
        assert "/" not in words
        assert "_" not in words
        seen.add(kind)
    assert seen <= set(KINDS)
    assert len(seen) > 15


def test_spans_of_days_are_short():
    """Month and year are said once where they can be."""
    day = pd.Timestamp
    assert dates_in_words(day("2031-04-30"), day("2031-05-02")) == "30 April to 2 May 2031"
    assert (
        dates_in_words(day("2031-12-31"), day("2032-01-02")) == "31 December 2031 to 2 January 2032"
    )
    assert dates_in_words(day("2031-05-02"), day("2031-05-02 18:00")) == "2 May 2031"


def test_dates_are_read_as_people_write_them():
    """ISO, day first, month first, with or without the year: all are one day."""
    season = one_town().season
    for text in ("2031-08-15", "15 August 2031", "August 15, 2031", "15 Aug", "aug 15"):
        assert date_in(season, text) == pd.Timestamp("2031-08-15"), text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2031-13-01", "is no date"),
        ("soon", "is no date"),
        ("08/09/2031", "is no date"),
        ("2032-05-01", "lies outside the season"),
        ("1 April", "lies outside the season"),
    ],
)
def test_dates_that_cannot_be_are_refused(text, words):
    """What is no date, could be two, or lies outside the season is an error in one line."""
    with pytest.raises(ValueError, match=words) as caught:
        date_in(one_town().season, text)
    assert "\n" not in str(caught.value)


def test_towns_are_found_by_name_or_by_key():
    """A town may be asked for as it is written in a sentence; a wrong name offers the nearest."""
    assert town_of(["mill_valley"], "mill valley", {}) == "mill_valley"
    with pytest.raises(ValueError, match='Did you mean "mill_valley"'):
        town_of(["mill_valley", "larkmill"], "millvalley", {})


def test_a_town_begins_where_its_water_arrives():
    """River towns begin in the rapid mix, well towns in the clearwell; all draw from the mains."""
    record = simulate(read_scenario("five_towns"))
    assert begin_of(record, "osselby") == "osselby/rapid_mix"
    assert begin_of(record, "tamberly") == "tamberly/clearwell"
    assert begin_of(record, "tamberly", backward=True) == "tamberly/mains"
