"""The answer in sentences says what the numbers say, and what is not known."""

from __future__ import annotations

import re

import numpy as np
import pytest
import xarray as xr
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.charts import glass
from hydroloop.gates import USES
from hydroloop.outputs.document import Ran
from hydroloop.outputs.document.as_json import as_values
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.wording import big, wrap
from hydroloop.outputs.run.answer import (
    account_sentence,
    mean_uses_sentence,
    season_sentences,
    town_sentences,
)
from hydroloop.outputs.run.glass import glass_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.whatif.changed import Changed

DAYS = np.array(["2031-08-14", "2031-08-15"], dtype="datetime64[ns]")


def result(shares, *, unknown=0.0, season=None, gap=0.0, **more) -> Result:
    """A run of one town with these shares by use on 15 August, none used the day before."""
    shares = np.array(shares, dtype=float)
    never = np.zeros_like(shares)
    never[0] = 1.0
    used = float(shares[1:].sum())
    daily = {
        "use_share": (("time", "town", "use"), np.stack([never, shares])[:, None, :]),
        "unknown_share": (("time", "town"), [[0.0], [unknown]]),
        "used_share": (("time", "town"), [[0.0], [used]]),
        "mean_uses": (("time", "town"), [[0.0], [float(shares @ np.arange(len(shares)))]]),
        "toilet_share": (("time", "town"), [[0.0], [used / 4]]),
    }
    whole = {
        "season_used_share": ("town", [used / 2 if season is None else season]),
        "season_unknown_share": ("town", [unknown]),
        "glass_date": ("town", [np.datetime64("2031-08-15", "ns")]),
        "balance": (("place", "term"), [[gap]]),
        "molecules_in_a_glass": ((), 8.34e24),
        **{name: ("town", [value]) for name, value in more.items()},
    }
    coords = {
        "place": ["larkmill"],
        "term": ["gap"],
        "time": DAYS,
        "town": ["larkmill"],
        "use": np.arange(len(shares)),
    }
    return Result(one_town(), xr.Dataset(), xr.Dataset({**daily, **whole}, coords))


def test_a_day_is_told_by_number_of_uses():
    """Date, used share, its parts and the season stand in two sentences."""
    said = town_sentences(result([0.57, 0.31, 0.09, 0.03], season=0.304), "larkmill")
    assert said == (
        "On 15 August 2031, 43 % of Larkmill's tap water had been through a home before: 31 % "
        "once, 9 % twice and 3 % three or more times. Over the whole season it was 30 %."
    )


@pytest.mark.parametrize(
    ("shares", "told"),
    [
        (
            [0.780, 0.2157, 0.0043, 0.0],
            "22 % of Larkmill's tap water had been through a home before, "
            "nearly all of it once and 0.4 % twice.",
        ),
        ([0.647, 0.304, 0.045, 0.004], "30 % once, 5 % twice and under 1 % three or more times."),
        ([0.647, 0.304, 0.049, 0.0], "30 % once and 5 % twice."),
    ],
)
def test_parts_by_uses_add_up_to_the_whole_as_printed(shares, told):
    """Parts in whole percent make the whole; what is under one percent is told apart from them."""
    assert told in town_sentences(result(shares), "larkmill")


def test_parts_that_round_to_nothing_are_left_out():
    """A share below a twentieth of a percent gets no word of its own."""
    said = town_sentences(result([0.7996, 0.2, 0.0004]), "larkmill")
    assert (
        "20 % of Larkmill's tap water had been through a home before, nearly all of it once."
        in said
    )


def test_all_once_is_said_as_such():
    """Where no water was used twice, all of it was used once."""
    assert "before, all of it once." in town_sentences(result([0.8, 0.2, 0.0]), "larkmill")


def test_nothing_used_is_said_in_one_sentence():
    """A town at the head of its river is told plainly, without shares of zero."""
    said = town_sentences(result([1.0, 0.0, 0.0]), "larkmill")
    assert said == "None of Larkmill's tap water had been through a home before."


def test_unknown_past_is_told_apart():
    """Water of unknown past is never counted as used or unused."""
    said = town_sentences(result([0.5, 0.2, 0.0], unknown=0.3), "larkmill")
    assert "20 % of Larkmill's tap water had been through a home" in said
    assert said.endswith("The past of another 30 % is not known.")
    season = season_sentences(result([0.5, 0.2], unknown=0.3, season=0.1), "larkmill")
    assert season == (
        "Larkmill: 10 % of the season's tap water had been through a home before. The most on one "
        "day was 20 %, on 15 August 2031. The past of another 30 % is not known."
    )


@pytest.mark.parametrize(
    ("shares", "unknown", "said"),
    [
        (
            [0.6, 0.0],
            0.4,
            "None of Larkmill's tap water is known to have been through a home before; "
            "the past of 40 % is not known.",
        ),
        (
            [0.0, 0.0],
            1.0,
            "The past of Larkmill's tap water is not known: it was already there when "
            "the record began.",
        ),
    ],
)
def test_unknown_past_is_not_called_unused(shares, unknown, said):
    """Where nothing is known to be used, water of unknown past is not said to be new."""
    assert town_sentences(result(shares, unknown=unknown), "larkmill", DAYS[1]) == said


@pytest.mark.parametrize(("gap", "said"), [(-0.0000007, "under 0.001 gal"), (0.0, "0 gal")])
def test_account_says_how_well_it_closes(gap, said):
    """The largest gap of a place stands as water; 0.7 mL are 0.0002 gallons of 3.785 litres."""
    assert account_sentence(result([0.9, 0.1], gap=gap)) == (
        f"Every drop is accounted for: the largest gap is {said}."
    )


def test_a_warm_up_that_does_not_settle_is_told():
    """What hangs on it is left out, and said to be."""
    found = result([0.9, 0.1])
    found.table.attrs["warm_up_change"] = 0.01
    assert "has not settled" in account_sentence(found)
    assert "on average cannot be told" in mean_uses_sentence(float("nan"), 0.5, USES["home"])


def test_used_once_on_average_is_not_all_used():
    """A mean near one comes with the share that was never used."""
    assert mean_uses_sentence(1.02, 0.63, USES["home"]).endswith(
        "1 time; still, 37 % of it never was."
    )
    assert "still" not in mean_uses_sentence(0.4, 0.3, USES["home"])


def page(run):
    """The glass of the town as the command shows it."""
    return glass_document(run, "larkmill", Changed(Ran("A town"), []))


def test_a_glass_has_a_bar_for_each_number_of_uses():
    """Bars are as long as the shares, and there is one for the unknown past."""
    lines = as_text(page(result([0.5, 0.25, 0.125], unknown=0.125)))
    bars = {line.split("  ")[1].strip(): line.count("#") for line in lines if "#" in line}
    assert bars == {"never in a home": 20, "once": 10, "twice or more": 5, "past unknown": 5}
    assert lines[0] == "A glass of tap water in Larkmill, 15 August 2031"


def dated(shares, parts, *, above=0.0, **more) -> Result:
    """A glass whose used part has these shares of the glass by days since the last use."""
    one = result(shares, last_use_before_record=above, **more)
    share = ("town", "days_ago"), [list(parts.values())]
    return Result(
        one.scenario,
        one.record,
        one.table.assign_coords(days_ago=list(map(float, parts))).assign(last_use_share=share),
    )


def test_a_glass_says_when_and_how_many_molecules():
    """Toilets, the time since the last use and the molecules of a month stand in words."""
    one = dated(
        [0.6, 0.4],
        {7: 0.1, 12: 0.2, 30: 0.04, 31: 0.06},
        last_use_median=12.0,
        molecules_in_homes_last_month=2.1e24,
    )
    text = " ".join(line.strip() for line in as_text(page(one)))
    assert "10 % of it has flushed a toilet." in text
    # Of 0.4 used: 0.1 in seven days, the seventh among them, 0.24 up to the thirtieth, 0.06 later.
    assert (
        "Of the used part, 25 % was last in a home within 7 days, 60 % 7 to 30 days before "
        "and 15 % 30 to 90 days before. Half of it was in a home within the last 12 days." in text
    )
    assert (
        "8.3 trillion trillion (8.3e24) molecules of water; 2.1 trillion trillion (2.1e24) of "
        "them were in a home within the last 30 days." in text
    )


def test_words_and_picture_of_a_glass_say_the_same():
    """Every bar beside the drawn glass stands in the words with the same number."""
    # The last three classes are too thin to be drawn as layers, and still part of what is used.
    shares = [0.6, 0.3988, 0.0004, 0.0004, 0.0004]
    one = dated(shares, {7: 0.1, 8: 0.2}, above=0.06, last_use_median=8.0)
    text = " ".join(line.strip() for line in as_text(page(one)))
    drawn = [word.get_text() for word in glass(one.table, "larkmill").sheet.texts]
    bars = dict(word.removesuffix(" of it").split(": ") for word in drawn if ": " in word)
    assert bars == {
        "within 7 days": "25 %",
        "7 to 30 days before": "50 %",
        "upstream of this map": "15 %",
        "before the season": "10 %",
    }
    assert "25 % was last in a home within 7 days and 50 % 7 to 30 days before" in text
    assert "upstream of this map for 15 % and before the season for 10 % of it" in text
    assert "Half of what was used within the season was in a home within the last 8 days." in text


@pytest.mark.parametrize(
    ("median", "told"),
    [(4.25, "within {}about 4 days"), (4.0, "within {}4 days"), (0.25, "on the same day")],
)
def test_the_median_is_rounded_in_one_way(median, told):
    """The glass in words and its picture tell the same whole days since the last use."""
    one = dated([0.6, 0.4], {0: 0.2, 7: 0.2}, last_use_median=median)
    text = " ".join(line.strip() for line in as_text(page(one)))
    drawn = " ".join(word.get_text() for word in glass(one.table, "larkmill").sheet.texts)
    assert f"was in a home {told.format('the last ')}." in text
    assert f"was last in a home {told.format('')}." in " ".join(drawn.split())


def test_thin_layers_count_in_the_picture_as_in_the_words():
    """A used share of 3.46 % in many thin classes is 3.5 % in both, not what the layers add to."""
    shares = [0.9654, 0.0326, 0.0004, 0.0004, 0.0004, 0.0004, 0.0004]
    one = dated(shares, {0: 0.01}, last_use_median=0.0)
    text = " ".join(line.strip() for line in as_text(page(one)))
    picture = glass(one.table, "larkmill")
    assert "29 % was last in a home within 7 days" in text
    assert "within 7 days: 29 % of it" in [word.get_text() for word in picture.sheet.texts]
    assert picture.caption.startswith("3.5 % of this glass")


def test_a_last_use_above_the_map_is_said():
    """Water used before it came onto the map has no known time, and the glass says so."""
    one = dated([0.9, 0.1], {0: 0.0}, above=0.1, last_use_median=np.nan)
    text = " ".join(line.strip() for line in as_text(page(one)))
    assert (
        "The last use was upstream of this map for 100 % of the used part: how long ago is "
        "not known." in text
    )
    assert "nan" not in text
    assert "within 7 days" not in text


def test_the_answer_is_of_the_most_used_day():
    """The day told of a run is the one on which most was used, whichever the glass is of."""
    one = result([0.6, 0.4])
    one.table["glass_date"] = ("town", [np.datetime64("2031-08-14", "ns")])
    assert town_sentences(one, "larkmill").startswith("On 15 August 2031, 40 % of")
    assert as_text(page(one))[0].endswith("14 August 2031")
    assert str(one.most_used_day("larkmill"))[:10] == "2031-08-15"


def test_facts_of_a_glass_are_plain_values():
    """What is unknown is None in the facts, never nan."""
    told = as_values(page(result([0.6, 0.4], last_use_median=np.nan)))
    facts = told["facts"]
    assert [layer["share"] for layer in told["tables"]["layers"]] == [0.6, 0.4, 0.0]
    assert facts["date"] == "2031-08-15"
    assert facts["last_use_median"] is None
    assert facts["within_7"] is None


def test_a_town_without_tap_water_is_told():
    """Where no water reached any home there is no glass, and no error."""
    one = result([1.0, 0.0])
    one.table["glass_date"] = ("town", [np.datetime64("NaT", "ns")])
    assert "No tap water reached the homes of Larkmill." in as_text(page(one))


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (0, "0"),
        (999, "999"),
        (1000, "1 thousand"),
        (2.5e6, "2.5 million"),
        (3e12, "3 trillion"),
        (9.99e17, "1 million trillion (1.0e18)"),
        (float("nan"), "an unknown number"),
    ],
)
def test_big_numbers_in_words(count, words):
    """Numbers without end are said in thousands, millions, billions and trillions."""
    assert big(count) == words


def test_no_number_is_cut_from_its_percent():
    """A line never ends between a number and its percent sign."""
    lines = wrap("12 % " * 60)
    assert len(lines) > 2
    assert all(line.endswith("%") for line in lines)


def test_a_day_is_told_with_the_towns_that_used_its_water():
    """The sentence of one day names those that used the water last, before it goes on to the
    season."""
    scenario = hl.read_scenario("first_town")
    record = hl.simulate(scenario)
    said = town_sentences(Result(scenario, record, hl.measures(record, scenario)), "penhollow")
    assert re.search(r"once\. All of it was last used in Larkmill\. Over the whole season", said)
