"""How well two colours can be told apart: by everybody, by the colour-blind, and in grey."""

from __future__ import annotations

from typing import Literal

import numpy as np
from matplotlib.colors import to_rgb

AA_TEXT = 4.5
"""Least contrast of text with its ground [-] (WCAG 2, level AA)."""
AA_LARGE = 3.0
"""Least contrast of large text, and of lines and shapes that carry meaning [-] (WCAG 2, AA)."""

Deficiency = Literal["protanopia", "deuteranopia", "tritanopia"]

# Machado, Oliveira & Fernandes 2009, A physiologically-based model for simulation of color vision
# deficiency, IEEE Trans. Vis. Comput. Graph. 15(6): matrices for severity 1.0, from memory.
_SEEN = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def _linear(colour: str) -> np.ndarray:
    """Red, green and blue light from screen values (the WCAG 2 threshold, 0.04045 in sRGB)."""
    value = np.array(to_rgb(colour))
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def relative_luminance(colour: str) -> float:
    """Relative luminance, from 0 (black) to 1 (white): `0.2126 R + 0.7152 G + 0.0722 B` with linear
    light.
    W3C, Web Content Accessibility Guidelines (WCAG) 2."""
    return float(_linear(colour) @ (0.2126, 0.7152, 0.0722))


def contrast_ratio(one: str, other: str) -> float:
    """Contrast of two colours, from 1 to 21: `(L1 + 0.05) / (L2 + 0.05)`, the larger luminance
    above.
    W3C, Web Content Accessibility Guidelines (WCAG) 2."""
    low, high = sorted((relative_luminance(one), relative_luminance(other)))
    return (high + 0.05) / (low + 0.05)


def as_seen(colour: str, deficiency: Deficiency) -> str:
    """Colour as somebody sees it who lacks one of the three kinds of cones.

    Tells which colours fall together for the colour-blind. It is a model of an average eye: do not
    use it to judge one person's sight.
    """
    light = np.clip(np.array(_SEEN[deficiency]) @ _linear(colour), 0.0, 1.0)
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * float(part)):02x}" for part in value)


def best_ink(ground: str, inks: tuple[str, ...]) -> str:
    """The ink that can be read best on a ground."""
    return max(inks, key=lambda ink: contrast_ratio(ink, ground))
