"""What every picture must hold: labels that fit, do not touch and can be read."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.text import Text

from hydroloop.charts.contrast import AA_TEXT


def _shown(picture):
    """Every text with its box in pixels."""
    picture.draw_without_rendering()
    renderer = picture.canvas.get_renderer()
    hidden = {id(label) for axes in picture.axes for label in _hidden_labels(axes)}
    texts = [
        text
        for text in picture.findobj(Text)
        if text.get_visible() and text.get_text() and id(text) not in hidden
    ]
    return [(text, text.get_window_extent(renderer)) for text in texts]


def _hidden_labels(axes):
    """Labels of ticks that matplotlib keeps but does not draw."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            if not axes.axison or not low <= tick.get_loc() <= high:
                yield from (tick.label1, tick.label2)


def assert_labels_are_apart(picture):
    """No text touches another or leaves the page."""
    shown = _shown(picture)
    wide, high = picture.canvas.get_width_height()
    for text, box in shown:
        inside = box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide and box.y1 <= high
        assert inside, f"off the page: {text.get_text()!r}"
    for row, (text, box) in enumerate(shown):
        for other, next_box in shown[row + 1 :]:
            # Two pixels of a box are air above and below the letters.
            apart = (
                box.x1 <= next_box.x0
                or next_box.x1 <= box.x0
                or box.y1 - 2 <= next_box.y0
                or next_box.y1 - 2 <= box.y0
            )
            assert apart, f"{text.get_text()!r} touches {other.get_text()!r}"


def assert_text_can_be_read(picture, smallest=14.0):
    """Every pixel behind a text differs enough from its ink (WCAG 2 AA), and letters are large."""
    shown = _shown(picture)
    for text, _ in shown:
        assert text.get_fontsize() >= smallest, f"small letters: {text.get_text()!r}"
        text.set_visible(False)
    picture.canvas.draw()
    ground = np.asarray(picture.canvas.buffer_rgba())[::-1, :, :3] / 255.0
    for text, box in shown:
        text.set_visible(True)
        x0, y0, x1, y1 = (round(value) for value in (box.x0, box.y0, box.x1, box.y1))
        ink = _luminance(np.array(to_rgb(text.get_color())))
        behind = _luminance(ground[y0 + 2 : y1 - 2, x0:x1])
        low, high = np.minimum(ink, behind), np.maximum(ink, behind)
        worst = ((high + 0.05) / (low + 0.05)).min()
        assert worst >= AA_TEXT, f"contrast {worst:.2f} behind {text.get_text()!r}"


def assert_axes_show_something(picture):
    """No axes with marks are over an empty range, or over a range that nothing is drawn in."""
    for axes in picture.axes:
        if axes is picture.sheet or not axes.axison:
            continue
        for low, high in (axes.get_xlim(), axes.get_ylim()):
            assert np.isfinite([low, high]).all(), "axes without ends"
            assert low != high, "axes over an empty range"
        if not axes.get_yticks().size:  # a strip: when something was so, if ever
            continue
        assert axes.lines or axes.collections or axes.patches, "axes without anything drawn"
        marks = [label.get_text() for label in axes.get_yticklabels() if label.get_text()]
        if marks and not axes.patches:
            assert axes.dataLim.height > 0.0, f"nothing to see between {marks[0]} and {marks[-1]}"


def assert_neighbours_differ_in_grey(picture):
    """Layers of a glass, from below: each can be told from the next without its colour."""
    layers = [patch for patch in picture.sheet.patches if patch.get_gid() == "layer"]
    for low, high in pairwise(layers):
        if low.get_x() != high.get_x() or low.get_hatch() != high.get_hatch():
            continue  # another glass, or hatched
        light = sorted(_luminance(np.array(to_rgb(one.get_facecolor()))) for one in (low, high))
        assert (light[1] + 0.05) / (light[0] + 0.05) >= 1.25, "layers that are one in grey"


def _luminance(colour):
    light = np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)
    return light @ np.array([0.2126, 0.7152, 0.0722])
