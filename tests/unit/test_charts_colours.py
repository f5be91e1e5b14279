"""Colours of the pictures: readable, apart in grey and for the colour-blind."""

from __future__ import annotations

import colorsys
from itertools import combinations, pairwise

import pytest
from colour_sight import as_seen
from matplotlib.colors import to_rgb

from hydroloop.charts import colours
from hydroloop.charts.contrast import (
    AA_TEXT,
    best_ink,
    contrast_ratio,
    relative_luminance,
)

FILLS = (
    *colours.USES,
    colours.UNKNOWN,
    colours.WALL,
    colours.RIVER,
    colours.TAP,
    colours.SEWAGE,
    colours.EFFLUENT,
    colours.RECLAIMED,
    colours.AIR,
    colours.GROUND,
    colours.STORM,
    colours.BAR,
    colours.WHOLE,
    colours.ADDED,
    *colours.STAGES,
    colours.PAPER,
)
LEAST_STEP = 1.5  # contrast of neighbouring use classes, so that their border shows in grey
AA_LARGE = 3.0  # of large text, and of lines and shapes that carry meaning (WCAG 2, level AA)
KINDS = ("protanopia", "deuteranopia", "tritanopia")


def test_neighbouring_use_classes_differ_in_grey():
    """Use classes that lie on each other differ in luminance by the stated contrast, 1.5."""
    assert all(contrast_ratio(a, b) >= LEAST_STEP for a, b in pairwise(colours.USES))


def test_use_classes_darken_from_class_to_class():
    """Any two classes differ at least as much in grey as neighbours do."""
    assert min(contrast_ratio(a, b) for a, b in combinations(colours.USES, 2)) >= LEAST_STEP


@pytest.mark.parametrize("kind", KINDS)
def test_neighbours_differ_for_the_colour_blind(kind):
    """Without one kind of cones neighbours keep a contrast of at least 1.4."""
    seen = [as_seen(colour, kind) for colour in colours.USES]
    assert min(contrast_ratio(a, b) for a, b in pairwise(seen)) >= 1.4


@pytest.mark.parametrize("fill", FILLS)
def test_ink_can_be_read_on_every_fill(fill):
    """Text on any fill passes AA, and so does its border against the paper."""
    assert contrast_ratio(fill, colours.ink_on(fill)) >= AA_TEXT
    assert contrast_ratio(colours.LINE, colours.PAPER) >= AA_LARGE


def lightness(colour):
    """L* of CIE 1976 for luminances above 0.009: 116 Y^(1/3) - 16."""
    return 116.0 * relative_luminance(colour) ** (1 / 3) - 16.0


def test_equal_steps_of_the_scale_look_equally_large():
    """From pale to deep lightness falls in even steps, within a fifth of the mean step."""
    light = [lightness(colours.shade(k / 20)) for k in range(21)]
    steps = [a - b for a, b in pairwise(light)]
    mean = (light[0] - light[-1]) / 20
    assert all(abs(step - mean) <= 0.2 * mean for step in steps)


@pytest.mark.parametrize("kind", KINDS)
def test_the_scale_darkens_for_the_colour_blind(kind):
    """Without one kind of cones, too, each step of the scale is darker than the one before."""
    seen = [relative_luminance(as_seen(colours.shade(k / 20), kind)) for k in range(21)]
    assert all(a > b for a, b in pairwise(seen))


def test_ink_can_be_read_on_every_shade():
    """Text passes AA on each of a hundred shades, and on each of a hundred greys."""
    for k in range(101):
        grey = "#" + 3 * f"{round(2.55 * k):02x}"
        for ground in (colours.shade(k / 100), grey):
            assert contrast_ratio(ground, colours.ink_on(ground)) >= AA_TEXT


@pytest.mark.parametrize("kind", KINDS)
def test_greys_look_the_same_to_everybody(kind):
    """The matrices leave grey as it is, since each of their rows sums to one."""
    assert [as_seen(grey, kind) for grey in ("#000000", "#808080", "#ffffff")] == [
        "#000000",
        "#808080",
        "#ffffff",
    ]


def test_red_and_green_fall_together_without_one_cone():
    """Seen without red or green cones, a red and a green of one hue family lose their hue."""
    for kind in ("protanopia", "deuteranopia"):
        red, green = as_seen("#c00000", kind), as_seen("#007000", kind)
        for colour in (red, green):
            parts = [int(colour[place : place + 2], 16) for place in (1, 3)]
            assert abs(parts[0] - parts[1]) < 0.35 * 255
    assert as_seen("#c00000", "tritanopia")[1:3] > "a0"


def test_the_better_ink_is_taken():
    """Dark ink on pale ground, white ink on dark ground."""
    assert best_ink("#dcf3f6", ("#10222e", "#ffffff")) == "#10222e"
    assert best_ink("#4b1650", ("#10222e", "#ffffff")) == "#ffffff"


def hue_of(colour):
    """Hue of a colour, from 0 (red) over 120 (green) to 240 (blue) [degrees]."""
    return 360.0 * colorsys.rgb_to_hsv(*to_rgb(colour))[0]


@pytest.mark.parametrize(
    ("fill", "low", "high"),
    [
        (colours.TAP, 195, 225),
        (colours.SEWAGE, 75, 150),
        (colours.EFFLUENT, 75, 150),
        (colours.RECLAIMED, 260, 290),
    ],
)
def test_waters_are_marked_as_the_trade_marks_them(fill, low, high):
    """Drinking water is blue, sewers and drains are green, reclaimed water is purple."""
    assert low <= hue_of(fill) <= high


def test_nothing_else_is_purple_or_green():
    """No other fill can be taken for reclaimed water or for sewage."""
    others = (
        colours.RIVER,
        colours.AIR,
        colours.GROUND,
        colours.STORM,
        colours.ADDED,
        *colours.STAGES,
        *colours.USES[:4],
    )
    assert not [fill for fill in others if 70 < hue_of(fill) < 150 or 250 < hue_of(fill) < 300]


def test_stages_darken_from_mild_to_hard():
    """Bands of drought stages differ in grey from one to the next."""
    assert all(
        relative_luminance(a) > relative_luminance(b) and contrast_ratio(a, b) >= 1.2
        for a, b in pairwise(colours.STAGES)
    )
