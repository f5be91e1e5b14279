"""How well two colours can be told apart in grey."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb

AA_TEXT = 4.5
"""Least contrast of text with its ground [-] (WCAG 2, level AA)."""


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


def best_ink(ground: str, inks: tuple[str, ...]) -> str:
    """The ink that can be read best on a ground."""
    return max(inks, key=lambda ink: contrast_ratio(ink, ground))
