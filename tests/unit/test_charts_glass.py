"""The glass: layers to scale, labels that fit, a caption that says what is shown."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from chart_tables import table_of

import hydroloop as hl
from hydroloop.charts import glass
from hydroloop.charts.glass import LEAST_SHOWN
from hydroloop.errors import AskError

CASES = {
    "plain": ([0.61, 0.27, 0.08, 0.025, 0.01, 0.005], 0.0),
    "nearly unused": ([0.99, 0.009, 0.0008, 0.0002, 0.0, 0.0], 0.0),
    "all used": ([0.0, 0.3, 0.25, 0.2, 0.15, 0.1], 0.0),
    "unknown past": ([0.4, 0.2, 0.06, 0.03, 0.007, 0.003], 0.3),
    "thin layers": ([0.85, 0.03, 0.03, 0.03, 0.03, 0.02], 0.01),
    "one layer": ([1.0, 0, 0, 0, 0, 0], 0.0),
    "twelve classes": ([0.4, *[0.05] * 12], 0.0),
    "once or more": ([0.5, 0.5], 0.0),
    "all unknown": ([0.0, 0.0, 0.0], 1.0),
}


def heights(picture):
    """Heights of the layers, from below [in]."""
    layers = [patch for patch in picture.sheet.patches if patch.get_gid() == "layer"]
    return np.array([patch.get_height() for patch in layers])


def words(picture):
    return [text.get_text() for text in picture.sheet.texts]


@pytest.mark.parametrize("case", CASES)
def test_labels_fit_and_can_be_read(case):
    """No label touches another, leaves the page or is hard to read, however odd the glass."""
    shares, unknown = CASES[case]
    picture = glass(table_of(shares, unknown=unknown), "larkmill")
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def gathered(shares):
    """Shares with the uppermost thin ones as one: labels of layers that nobody can tell apart."""
    thick = max(place for place, share in enumerate(shares) if share >= 0.012) + 1
    return [*shares[:thick], sum(shares[thick:])] if len(shares) - thick > 1 else shares


@pytest.mark.parametrize("case", ["plain", "unknown past", "thin layers"])
def test_layers_are_to_scale(case):
    """Every layer is as high as its share, and one label stands for each."""
    shares, unknown = CASES[case]
    picture = glass(table_of(shares, unknown=unknown), "larkmill")
    shown = np.array(
        gathered([share for share in shares if share > LEAST_SHOWN])
        + [unknown] * (unknown > LEAST_SHOWN)
    )
    assert heights(picture) / heights(picture).sum() == pytest.approx(shown / shown.sum())
    assert sum(word.startswith(("never", "used ", "past")) for word in words(picture)) == len(shown)


def test_title_label_and_caption_say_the_numbers():
    """Town, date and shares stand in title, labels and caption."""
    picture = glass(table_of(CASES["plain"][0]), "larkmill", "2031-08-15")
    assert picture.title == "A glass of tap water in Larkmill, 15 August 2031"
    assert {"never in a home 61 %", "used once 27 %", "used four or more times 1.5 %"} <= set(
        words(picture)
    )
    assert picture.caption.startswith("39 % of this glass")
    assert "0.57 times" in picture.caption  # 0.27 + 2 x 0.08 + 3 x 0.025 + 4 x 0.01 + 5 x 0.005
    assert "within 5 days" in picture.caption


def test_higher_classes_are_gathered():
    """A table with twelve classes is drawn with six, the last open."""
    picture = glass(table_of(CASES["twelve classes"][0]), "larkmill")
    assert len(heights(picture)) == 6
    assert "used five or more times 40 %" in words(picture)


def test_unknown_past_is_said():
    """Water of unknown past has a layer, a label and a sentence."""
    picture = glass(table_of(*CASES["unknown past"][:1], unknown=0.3), "larkmill")
    assert "past unknown 30 %" in words(picture)
    assert "past of 30 % is not known" in picture.caption


@pytest.mark.parametrize(
    ("shares", "unknown", "said"),
    [
        (
            [0.7, 0.0],
            0.3,
            "None of this glass is known to have been in a home before. The past of "
            "30 % is not known.",
        ),
        (
            [0.0, 0.0],
            1.0,
            "The past of this glass is not known: it was already there when the record began.",
        ),
    ],
)
def test_unknown_past_is_not_called_unused(shares, unknown, said):
    """Where nothing is known to be used, a glass of unknown past is not said to be new."""
    assert glass(table_of(shares, unknown=unknown), "larkmill").caption == said


def test_last_use_belongs_to_one_day():
    """On a day for which the table has no time since the last use, none is told."""
    picture = glass(table_of(CASES["plain"][0]), "larkmill", "2031-07-03")
    assert "last in a home" not in picture.caption
    assert not any("within 7 days" in word for word in words(picture))


def test_glasses_of_other_days_are_found():
    """A day asked of the measures by `glass_dates` has its own time since the last use."""
    table = table_of(CASES["plain"][0])
    day = table.time.values[[9]]
    more = xr.Dataset(
        {
            "glass_last_use_share": (("glass", "days_before", "town"), np.full((1, 3, 1), 0.1)),
            "glass_last_use_before_record": (("glass", "town"), [[0.0]]),
            "glass_last_use_median": (("glass", "town"), [[2.0]]),
        },
        {"glass": day, "days_before": [0.0, 1.0, 2.0], "town": ["larkmill"]},
    )
    picture = glass(table.merge(more), "larkmill", day[0])
    # 0.3 of 0.39 has a known last use: the rest was used before the season, which is said.
    assert "within 7 days: 77 % of it" in words(picture)
    assert "before the season: 23 % of it" in words(picture)
    assert "Half of what was used within the season" in picture.caption


def test_members_are_averaged():
    """Of an ensemble the mean glass is shown, which still adds up."""
    one, two = (table_of([1 - used, used]) for used in (0.2, 0.4))
    picture = glass(xr.concat([one, two], "member"), "larkmill")
    assert "used once or more 30 %" in words(picture)


def test_long_and_odd_names_fit():
    """A very long name is made to fit, and a dollar sign is no formula."""
    for name in (
        "saint_bartholomew_under_the_long_green_hill_by_the_upper_river_wren_and_beyond",
        "$mill$",
    ):
        picture = glass(table_of([0.5, 0.5], town=name), name)
        assert_labels_are_apart(picture)
    assert picture.sheet.texts[0].get_text().startswith("A glass of tap water in $Mill$")


@pytest.mark.parametrize(
    ("town", "date", "said"),
    [
        ("larkmil", None, 'Did you mean "larkmill"?'),
        ("larkmill", "soon", "Write it as"),
        ("larkmill", "2032-01-01", "2031-07-01 to 2031-08-29"),
    ],
)
def test_wrong_questions_are_answered(town, date, said):
    """An unknown town, a word that is no date and a day outside the season each get a cure."""
    with pytest.raises(AskError, match=said.replace("?", r"\?")):
        glass(table_of([1.0, 0.0]), town, date)


def test_no_water_no_glass():
    """A day on which no water reached homes is refused, not drawn empty."""
    with pytest.raises(AskError, match="no water reached"):
        glass(table_of([0.0, 0.0]), "larkmill", "2031-08-01")
    with pytest.raises(AskError, match="Give a date"):
        glass(table_of([1.0, 0.0]).drop_vars("glass_date"), "larkmill")


@pytest.mark.parametrize("inflow", [1.0, 8.0], ids=["a layer to be seen", "a thin one"])
def test_a_glass_says_where_its_water_was_used_last(inflow):
    """One town above is named too: beside the layer, or below the glass where that is thin."""
    scenario = hl.read_scenario("first_town").scaled({"river.wren.inflow": inflow})
    picture = hl.draw.glass(hl.simulate(scenario), "penhollow")
    told = [text.get_text() for text in picture.sheet.texts]
    beside = any(text.startswith("Larkmill ") for text in told) and "last used in" in told
    assert beside or "was last used in Larkmill" in picture.caption
    assert beside is (inflow == 1.0)
    assert_labels_are_apart(picture)
