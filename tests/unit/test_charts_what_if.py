"""Pictures of what-ifs: readable in odd cases, drawn to scale, and refused where nothing fits."""

from __future__ import annotations

import numpy as np
import pytest
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from matplotlib.colors import to_hex

from hydroloop.charts import bands, contributions, heat_map, lines
from hydroloop.charts.bands import MOST_ROWS, Band
from hydroloop.charts.contrast import contrast_ratio
from hydroloop.charts.contributions import Steps
from hydroloop.charts.varied import FACTOR, Drawn, Varied
from hydroloop.errors import AskError

USED = Drawn("used share f of the season", "%")
LONG = "use per person of Brackenhythe's homes and of all that lie below it on the river"
CAPTION = "Of 200 runs half lie in the broad bar, nine tenths in the thin one. " * 5
PEOPLE = Varied("people of Larkmill", "people", (20e3, 30e3, 40e3), 20e3)
INFLOW = Varied("inflow of the Wren", FACTOR, (1.0, 0.8, 0.6, 0.4), 1.0)
TOWNS = ["quillford", "larkmill", "brackenhythe", "tamberly", "osselby", "velderby"]


def band(*levels, hangs=(), words="lowest dilution (river over effluent)", unit=""):
    return Band(Drawn(words, unit), levels, hangs)


BANDS = {
    "plain": [band(6.5, 8.1, 9.5, 12.2, 14.9, hangs=(("inflow of the Wren", -0.84),))],
    "many": [band(0.95, 1.0, 1.2, 1.8, 2.3, hangs=((LONG, 1.0), (LONG, -0.44)))] * MOST_ROWS,
    "no width": [band(3.0, 3.0, 3.0, 3.0, 3.0)],
    "at the end of a scale": [
        band(85.0, 89.0, 95.0, 99.0, 100.0, unit="%"),
        band(0.0, 0.0, 0.0, 12.0, 85.0, unit="Mgal"),
    ],
    "narrow": [band(20.95, 20.98, 21.0, 21.03, 21.05, unit="%")],
    "large": [band(1.2e6, 1.3e6, 1.4e6, 1.5e6, 1.6e6, unit="Mgal")],
}


@pytest.mark.parametrize("case", BANDS)
def test_bands_can_be_read(case):
    """No label of the bands touches another or is hard to read."""
    picture = bands("larkmill", BANDS[case], caption=CAPTION)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_bars_of_bands_are_their_levels():
    """The thin bar reaches from 5 to 95 %, the broad one over the middle half, with the median."""
    picture = bands("larkmill", BANDS["plain"], caption=".")
    axes = picture.axes[1]
    ends = {
        patch.get_gid(): (patch.get_x(), patch.get_x() + patch.get_width())
        for patch in axes.patches
    }
    assert ends["nine tenths"] == pytest.approx((6.5, 14.9))
    assert ends["middle half"] == pytest.approx((8.1, 12.2))
    (median,) = [line for line in axes.lines if line.get_gid() == "median"]
    assert list(median.get_xdata()) == [9.5, 9.5]


@pytest.mark.parametrize("case", BANDS)
def test_marks_of_a_scale_tell_their_values(case):
    """Every mark of a band's scale is labelled with its own value, however narrow the band is."""
    axes = bands("larkmill", BANDS[case], caption=".").axes[1]
    axes.figure.draw_without_rendering()
    told = [float(label.get_text().replace(",", "")) for label in axes.get_xticklabels()]
    assert told == pytest.approx(list(axes.get_xticks()), rel=1e-9, abs=1e-9)


def test_bars_of_correlations_are_to_scale():
    """A correlation of -0.5 goes half as far to the left as one of 1 goes to the right."""
    row = band(1.0, 2.0, 3.0, 4.0, 5.0, hangs=(("a", 1.0), ("b", -0.5), ("c", 0.2)))
    wide = [
        patch.get_width()
        for patch in bands("larkmill", [row], caption=".").sheet.patches
        if patch.get_gid() == "hangs"
    ]
    assert len(wide) == 2
    assert wide[1] == pytest.approx(-0.5 * wide[0])


@pytest.mark.parametrize("rows", [[], BANDS["plain"] * (MOST_ROWS + 1)])
def test_bands_have_room_for_some_rows(rows):
    """None and too many are refused."""
    with pytest.raises(AskError, match="cannot be drawn"):
        bands("larkmill", rows, caption=".")


GRIDS = {
    "two towns": (np.array([[0.0, 6.4], [0.0, 9.6], [0.0, 12.8]]), PEOPLE),
    "all at one value": (np.full((3, 6), 100.0), PEOPLE),
    "not known": (np.array([[np.nan, 1.0], [np.nan, 2.0], [3.0, np.nan]]), PEOPLE),
    "words": (
        np.array([[1.0], [2.0], [3.0]]),
        Varied("method of the dry season", "", ("none", "driest_year", "one_in_years")),
    ),
    "many words": (
        np.arange(9.0)[:, None],
        Varied("method", "", tuple(f"a_way_to_make_it_dry_{k}" for k in range(9))),
    ),
    "close together": (
        np.arange(40.0)[:, None],
        Varied("people", "people", tuple(range(20000, 20040))),
    ),
    "below zero": (np.array([[-3.0], [2.0]]), Varied("warmer by", "°F", (0.0, 5.0))),
}


@pytest.mark.parametrize("case", GRIDS)
def test_lines_can_be_read(case):
    """No label of the lines touches another or is hard to read."""
    values, along = GRIDS[case]
    picture = lines(values, TOWNS[: values.shape[1]], along, USED, caption=CAPTION)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_lines_go_through_their_runs():
    """Each town's line has the values of its runs, in rising order of the key."""
    values = np.array([[11.0, 1.0], [12.0, np.nan], [13.0, 3.0], [14.0, 4.0]])
    picture = lines(values, TOWNS[:2], INFLOW, USED, caption=".")
    drawn = {line.get_gid(): line for line in picture.axes[1].lines if line.get_gid() in TOWNS}
    assert list(drawn["quillford"].get_xdata()) == [0.4, 0.6, 0.8, 1.0]
    assert list(drawn["quillford"].get_ydata()) == [14.0, 13.0, 12.0, 11.0]
    assert list(drawn["larkmill"].get_ydata()) == [4.0, 3.0, 1.0]
    marks = {(line.get_marker(), str(line.get_linestyle())) for line in drawn.values()}
    assert len(marks) == 2


@pytest.mark.parametrize(("now", "drawn"), [(24e3, [24e3]), (20e3, [20e3]), (90e3, []), (None, [])])
def test_the_scenario_itself_is_marked(now, drawn):
    """A thread stands at the scenario's own value, where that lies among those that were run."""
    along = Varied("people of Larkmill", "people", (20e3, 30e3), now)
    picture = lines(np.array([[1.0], [2.0]]), ["larkmill"], along, USED, caption=".")
    assert [
        line.get_xdata()[0] for line in picture.axes[1].lines if line.get_gid() == "now"
    ] == drawn
    assert ("now" in [text.get_text() for text in picture.sheet.texts]) == bool(drawn)
    assert_labels_are_apart(picture)


def test_the_cell_of_the_scenario_is_framed():
    """The frame stands round the run with 20,000 people and the whole inflow, in every map."""
    picture = heat_map(grid_of(2), TOWNS[:2], PEOPLE, INFLOW, USED, caption=".")
    for axes in picture.axes[1:3]:
        (frame,) = [patch for patch in axes.patches if patch.get_gid() == "now"]
        assert (frame.get_x(), frame.get_y()) == (3, 0)  # 0.4, 0.6, 0.8, 1 by 20,000, ...


def test_lines_need_two_runs_and_a_town():
    """One run is no line."""
    for values, towns in ((np.ones((1, 1)), ["larkmill"]), (np.ones((3, 0)), [])):
        with pytest.raises(AskError, match="cannot be drawn"):
            lines(values, towns, PEOPLE, USED, caption=".")


def grid_of(towns, rows=3, columns=4):
    return np.geomspace(0.01, 12345.0, rows * columns * towns).reshape(rows, columns, towns)


@pytest.mark.parametrize("towns", range(1, 7))
def test_heat_map_can_be_read(towns):
    """For one to six towns no label touches another, and every value can be read on its cell."""
    picture = heat_map(grid_of(towns), TOWNS[:towns], PEOPLE, INFLOW, USED, caption=CAPTION)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_the_scale_stays_off_the_maps():
    """The ends of the scale are right of the maps, however long their unit is."""
    short = Drawn("worst day of a shortage, on average", "Mgal/day")
    picture = heat_map(grid_of(2), TOWNS[:2], PEOPLE, INFLOW, short, caption=".")
    assert_labels_are_apart(picture)
    ends = [words for words in picture.sheet.texts if words.get_text().endswith("Mgal/day")]
    maps = max(axes.get_window_extent().x1 for axes in picture.axes[1:3])
    assert len(ends) == 2
    assert all(words.get_window_extent().x0 > maps for words in ends)


@pytest.mark.parametrize("across", [False, True])
def test_words_stand_beside_the_map(across):
    """A key whose values are words, down or across, has room for them."""
    words = Varied("method of the dry season", "", ("driest_year", "one_in_years_of_long_records"))
    keys = (INFLOW, words) if across else (words, INFLOW)
    values = grid_of(3, 4, 2) if across else grid_of(3, 2, 4)
    picture = heat_map(values, TOWNS[:3], *keys, USED, caption=".")
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


@pytest.mark.parametrize(("rows", "columns"), [(2, 30), (30, 2), (40, 40)])
def test_heat_map_of_many_values_can_be_read(rows, columns):
    """With many runs the values are left out and the marks of the axes thinned."""
    down = Varied("people of Larkmill", "people", tuple(np.linspace(1e4, 9e4, rows)))
    across = Varied("inflow of the Wren", "ft3/s", tuple(np.linspace(1.0, 99.0, columns)))
    picture = heat_map(grid_of(2, rows, columns), TOWNS[:2], down, across, USED, caption=".")
    assert_labels_are_apart(picture)
    assert not [text for axes in picture.axes[1:3] for text in axes.texts]


def test_every_shade_can_be_written_on():
    """All steps of the scale in one row of cells: each value passes AA on its own ground."""
    across = Varied("a", "", tuple(np.arange(12.0)))
    values = np.linspace(0.0, 1.0, 12)[None, :, None]
    picture = heat_map(values, ["larkmill"], Varied("b", "", (1.0,)), across, USED, caption=".")
    assert len(picture.axes[1].texts) == 12
    assert_text_can_be_read(picture)


def test_what_rounding_leaves_of_nothing_is_nothing():
    """A cell, and the end of the scale, that are zero but for rounding are drawn as zero."""
    values = np.array([[6.65e-17, 0.2], [1.0, 2.0]])[..., None]
    down, across = Varied("people", "", (1e4, 2e4)), Varied("inflow", "", (0.5, 1.0))
    picture = heat_map(values, ["larkmill"], down, across, Drawn("dilution", ""), caption=".")
    texts = [text.get_text() for axes in picture.axes for text in axes.texts]
    assert texts.count("0") == 2
    assert not any("e-" in text for text in texts)


def test_heat_map_needs_values():
    """No town, too many, and no value at all are refused."""
    for values, towns in (
        (grid_of(0), []),
        (grid_of(7), [*TOWNS, "x"]),
        (np.full((2, 2, 1), np.nan), ["larkmill"]),
    ):
        with pytest.raises(AskError):
            heat_map(values, towns, PEOPLE, INFLOW, USED, caption=".")


STEPS = {
    "one town": [Steps("penhollow", 7.65, (5.88, 2.62), 16.15)],
    "three towns": [
        Steps("osselby", 21.3, (30.9, -1.3), 50.9),
        Steps("larkmill", 11.2, (-4.85, 1.0), 7.35),
        Steps("brackenhythe", 0.0, (0.0, 25.1), 25.1),
    ],
    "small steps": [Steps("penhollow", 21.3, (0.1, -0.05), 21.35)],
    "through zero": [Steps("penhollow", 3.0, (1.0, -5.0), -1.0)],
}


@pytest.mark.parametrize("case", STEPS)
def test_contributions_can_be_read(case):
    """No label of the steps touches another or is hard to read."""
    picture = contributions(["inflow of the Wren", LONG], STEPS[case], USED, caption=CAPTION)
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


@pytest.mark.parametrize("case", STEPS)
def test_steps_lead_from_run_to_run(case):
    """Each step begins where the last ended, and the last ends where the bar of the run after does.

    In inches: a step's length over its value is one scale for all bars of a town.
    """
    (one, *_) = STEPS[case]
    picture = contributions(["a", "b"], [one], USED, caption=".")
    bars = [patch for patch in picture.sheet.patches if patch.get_gid() in ("end", "step")]
    scale = bars[1].get_width() / abs(one.parts[0])
    assert bars[2].get_width() == pytest.approx(abs(one.parts[1]) * scale)
    at = [end_of(bars[0], one.before)]
    for bar, part in zip(bars[1:3], one.parts, strict=True):
        start = bar.get_x() if part > 0 else bar.get_x() + bar.get_width()
        assert start == pytest.approx(at[-1])
        at.append(end_of(bar, part))
    assert end_of(bars[3], one.after) == pytest.approx(at[-1])
    assert at[-1] - at[0] == pytest.approx((one.after - one.before) * scale)


def test_what_cannot_be_negative_is_not_drawn_below_zero():
    """Where a change takes away what only another brings, it is drawn after that one: no bar of a
    shortage reaches below zero, in whatever order the changes are given."""
    for parts in ((-12.1, 25.3), (25.3, -12.1)):
        one = Steps("larkmill", 0.0, parts, 13.2)
        picture = contributions(["a", "b"], [one], Drawn("water short", "Mgal"), caption=".")
        bars = [patch for patch in picture.sheet.patches if patch.get_gid() in ("end", "step")]
        zero = bars[0].get_x()
        assert min(bar.get_x() for bar in bars) >= zero - 1e-9
        assert bars[1].get_width() > bars[2].get_width()


def end_of(bar, value):
    """Where a bar ends: at its right, or at its left if it takes away."""
    return bar.get_x() + (bar.get_width() if value >= 0 else 0.0)


def test_what_is_added_is_no_whole_in_grey():
    """A step that adds differs in grey from the bars of both runs as use classes that lie on each
    other do, by a contrast of 1.5; one that takes away is hatched."""
    picture = contributions(["a", "b"], [Steps("x", 10.0, (5.0, -1.0), 14.0)], USED, caption=".")
    bars = {name: [] for name in ("end", "step")}
    for patch in picture.sheet.patches:
        if patch.get_gid() in bars:
            bars[patch.get_gid()].append(patch)
    first, last = (to_hex(bar.get_facecolor()) for bar in bars["end"])
    adds, takes = bars["step"]
    assert first == last
    assert contrast_ratio(first, to_hex(adds.get_facecolor())) >= 1.5
    assert (adds.get_hatch(), takes.get_hatch()) == (None, "//")


def test_rounding_is_no_step():
    """What is rounding beside the whole is written as 0."""
    picture = contributions(["a", "b"], [Steps("x", 10.0, (2e-15, 1.0), 11.0)], USED, caption=".")
    assert "0" in [text.get_text() for text in picture.sheet.texts]


def test_steps_that_do_not_add_up_are_refused():
    """A gap between the runs, a part too few, and too many changes are refused."""
    with pytest.raises(AskError, match="do not add up"):
        contributions(["a"], [Steps("penhollow", 1.0, (1.0,), 3.0)], USED, caption=".")
    with pytest.raises(AskError, match="do not add up"):
        contributions(["a", "b"], [Steps("penhollow", 1.0, (1.0,), 2.0)], USED, caption=".")
    with pytest.raises(AskError, match="cannot be drawn"):
        contributions([], [], USED, caption=".")
