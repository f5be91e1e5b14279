"""Contrast of colours on white.

W3C, Web Content Accessibility Guidelines (WCAG) 2: the ratio runs from 1 to 21. Ratios of pure red,
green and blue on white as an accessibility centre's guide to WCAG 2 contrast
prints them. All from memory.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half

from hydroloop.charts.contrast import contrast_ratio


def wcag(colour, printed, source="guide to WCAG 2 contrast"):
    return Check(
        source=source,
        quantity=f"contrast of {colour} on white",
        printed=float(printed),
        tolerance=half(printed),
        ours=lambda: contrast_ratio(colour, "#ffffff"),
        known="memory",
    )


CHECKS: list[Check] = [
    wcag("#000000", "21", "WCAG 2"),
    wcag("#ffffff", "1", "WCAG 2"),
    wcag("#ff0000", "4"),
    wcag("#00ff00", "1.4"),
    wcag("#0000ff", "8.6"),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what is printed about WCAG 2."""
    check.holds()


def test_greys_at_the_limit():
    """767676 is the palest grey that may be text on white; 777777 fails (second-hand rule)."""
    assert contrast_ratio("#767676", "white") >= 4.5 > contrast_ratio("#777777", "white")
