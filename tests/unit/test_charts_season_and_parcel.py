"""The season and the parcel: odd cases stay readable, and what is shown is to scale."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from chart_tables import table_of
from matplotlib.colors import to_hex

import hydroloop as hl
from hydroloop.charts import glass, parcel, season
from hydroloop.errors import AskError
from hydroloop.measures import ends_by_use

ENDS = ("evaporated", "left down the river", "left with sludge", "in rivers", "in the ground")
PLAIN = [0.61, 0.27, 0.08, 0.025, 0.01, 0.005]
SEASONS = {
    "plain": table_of(PLAIN),
    "unused": table_of([1.0, 0, 0, 0, 0, 0]),
    "all used": table_of([0.0, 0.2, 0.2, 0.2, 0.2, 0.2]),
    "unknown past": table_of([0.2, 0.5], unknown=0.3),
    "short of water": table_of(PLAIN, unmet=np.where(np.arange(60) % 7 == 0, 50.0, 0.0)),
    "river falls": table_of(PLAIN, river=np.geomspace(1e6, 3e3, 60)),
    "dry river": table_of(PLAIN, river=np.zeros(60)),
    "no river": table_of(PLAIN, river=np.full(60, np.nan)),
    "long": table_of(PLAIN, steps=900),
    "two days": table_of(PLAIN, steps=50).isel(time=slice(44, 46)),
}


def words(picture):
    return [text.get_text() for axes in picture.axes for text in axes.texts]


def bars(picture, gid):
    """Lengths of bars [in]."""
    return np.array([p.get_width() for p in picture.sheet.patches if p.get_gid() == gid])


@pytest.mark.parametrize("case", SEASONS)
def test_season_can_be_read(case):
    """No label of the season touches another or is hard to read."""
    picture = season(SEASONS[case], "larkmill")
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_rain_has_its_own_bars():
    """Rain of the record stands in bars of its own, with its sum and the most of a step."""
    table = SEASONS["plain"]
    rain = xr.Dataset({"rain_mm": ("time", np.where(np.arange(60) == 3, 25.4, 0.0))})
    picture = season(table, "larkmill", rain)
    assert_labels_are_apart(picture)
    assert "rain: 1 in in all,\nmost in a day: 1 in" in words(picture)
    assert len(picture.axes) == 1 + len(season(table, "larkmill").axes)


def test_upper_line_is_the_used_share():
    """The top of the areas is the used share, and its peak is named with its day."""
    table = SEASONS["plain"].copy(deep=True)
    table["use_share"][40, 0] = [0.2, 0.5, 0.2, 0.1, 0.0, 0.0]
    picture = season(table, "larkmill")
    assert "80 % used on 10 August 2031" in words(picture)
    assert "highest on 10 August 2031 with 80 %" in picture.caption
    tops = [patch.get_data().values for patch in picture.axes[-1].patches]
    assert any(np.allclose(top, np.where(np.arange(60) == 40, 0.8, 0.39)) for top in tops)


def test_no_gap_is_left_below_the_line():
    """Where all used water is little, a class of a few hundredths of it is drawn and named."""
    table = SEASONS["plain"].copy(deep=True)
    table["use_share"][:, 0] = [0.985, 0.0126, 0.002, 0.0004, 0.0, 0.0]
    picture = season(table, "larkmill")
    areas = [patch for patch in picture.axes[-1].patches if patch.get_fill()]
    assert max(patch.get_data().values.max() for patch in areas) == pytest.approx(0.015)
    assert any("used three times" in word for word in words(picture))


@pytest.mark.parametrize(
    ("case", "said"),
    [
        ("unused", "Over the season none of the water"),
        ("plain", "Over the season 39 % of the water"),
    ],
)
def test_the_caption_counts_in_words_where_there_is_nothing(case, said):
    """A season without used water says none, not 0 %; so does a glass."""
    assert said in season(SEASONS[case], "larkmill").caption
    told = glass(SEASONS[case], "larkmill").caption
    assert told.startswith("None of this glass" if case == "unused" else "39 % of this glass")


def test_unknown_past_is_not_called_unused():
    """A season whose water has no known past is not said to be free of used water."""
    table = table_of([0.0, 0.0], unknown=1.0).assign(season_unknown_share=("town", [1.0]))
    picture = season(table, "larkmill")
    assert not any("used before" in word for word in words(picture))
    assert (
        "none of the water delivered to homes is known to have been in a home before; the "
        "past of 100 % is not known" in picture.caption
    )


@pytest.mark.parametrize(("case", "scale"), [("plain", "linear"), ("river falls", "log")])
def test_river_is_logarithmic_only_where_it_must_be(case, scale):
    """From a ratio of 20 on the river has a logarithmic scale, which its label says."""
    picture = season(SEASONS[case], "larkmill", units="metric")
    assert picture.axes[1].get_yscale() == scale
    label = next(word for word in words(picture) if word.startswith("river"))
    assert ("log scale" in label) == (scale == "log")
    assert "m³/s" in label


def test_short_days_are_counted():
    """Days with unmet demand are counted in label and caption; else nobody here was short."""
    picture = season(SEASONS["short of water"], "larkmill")
    assert "short of water: 9 days" in words(picture)  # days 0, 7, ..., 56
    assert picture.caption.endswith("Larkmill was short of water on 9 days.")
    plain = season(SEASONS["plain"], "larkmill")
    assert plain.caption.endswith("Nobody in Larkmill went short of water.")


def test_lowest_flow_is_told_with_its_day():
    """The river's lowest flow is in the caption, in cubic metres or feet per second."""
    caption = season(SEASONS["river falls"], "larkmill", units="metric").caption
    assert "lowest on 29 August 2031 with 0.0347 m³/s" in caption  # 3,000 / 86,400


def ends_of(shares):
    """A parcel by end and use: what evaporates, leaves or stays has been used alike."""
    ends = np.array([0.1, 0.6, 0.0002, 0.0498, 0.25])
    return xr.DataArray(ends[:, None] * np.array(shares), {"end": list(ENDS)}, ("end", "use"))


@pytest.mark.parametrize("shares", [PLAIN, [1.0, 0, 0, 0, 0, 0], [0, 0.2, 0.2, 0.2, 0.2, 0.2]])
def test_parcel_can_be_read(shares):
    """No label of the parcel touches another or is hard to read."""
    picture = parcel(table_of(shares), "larkmill", ends_of(shares))
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_parcel_shows_a_hundred_drops_by_end_and_use():
    """Rows have as many drops as their ends have percent, the largest first; colours are uses."""
    picture = parcel(table_of(PLAIN), "larkmill", ends_of(PLAIN))
    drops = [p for p in picture.sheet.patches if str(p.get_gid()).startswith("drop")]
    told = [text for text in words(picture) if text[:1].isdigit()]
    assert told == [
        "60 had left down the river",
        "25 were in the ground",
        "10 had evaporated",
        "5 were in rivers",
    ]
    assert len(drops) == 100
    unused = sum(p.get_gid() == "drop 0" for p in drops)
    assert unused == pytest.approx(100 * PLAIN[0], abs=2)


@pytest.mark.parametrize(
    "shares", [PLAIN, [0.996, 0.004, 0, 0, 0, 0], [0.5, 0.49, 0.004, 0.003, 0.002, 0.001]]
)
def test_the_key_of_a_parcel_names_the_colours_of_its_drops(shares):
    """A number of uses that no drop of the hundred has is not in the key."""
    picture = parcel(table_of(shares), "larkmill", ends_of(shares))
    fills = {"drop": set(), "key": set()}
    for patch in picture.sheet.patches:
        kind = str(patch.get_gid()).split()[0]
        if kind in fills:
            fills[kind].add(to_hex(patch.get_facecolor()))
    assert fills["key"] == fills["drop"]
    assert fills["key"]


def test_parcel_drops_are_those_of_the_tracing():
    """Ends and uses of a real parcel are those that the measures have, within half a drop."""
    record = hl.simulate(hl.read_scenario("first_town"))
    table = hl.measures(record)
    found = ends_by_use(record, table, "larkmill")
    own = table.sel(town="larkmill")
    assert found.sum("use").values == pytest.approx(own["parcel_end_share"].values, abs=1e-9)
    assert found.sum("end").values[:5] == pytest.approx(
        own["parcel_pass_share"].values[:5], abs=1e-9
    )


def test_parcel_caption_says_ends_and_passes():
    """The largest ends, the mean number of passes and the share with several are told."""
    caption = parcel(table_of(PLAIN), "larkmill", ends_of(PLAIN)).caption
    ends = "60 had left down the river, 25 were in the ground and 10 had evaporated"
    assert ends in caption
    assert "0.57 times; 12 % of it had done so more than once" in caption


def test_parcel_needs_a_parcel():
    """A town for which no parcel was followed is refused with a cure."""
    with pytest.raises(AskError, match="no parcel was followed"):
        parcel(table_of(PLAIN), "larkmill", ends_of([np.nan] * 6))
