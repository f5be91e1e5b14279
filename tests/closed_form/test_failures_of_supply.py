"""Reliability, resilience and vulnerability of a series that can be counted by hand.

S S F S F F S S S F S S: twelve steps, eight without shortage, so reliability 8/12. Four failing
steps in three failures, each of which is followed by a step without: three recoveries, resilience
3/4, the mean failure lasts 4/3 of a step. With shortages 2 | 5 4 | 1 the worst of each failure is
2, 5, 1: mean 8/3, largest 5.
"""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.measures.supply import longest_failure, reliability, resilience, vulnerability

SHORT = np.array([0, 0, 2, 0, 5, 4, 0, 0, 0, 1, 0, 0], dtype=float)


def test_hand_case():
    """The three measures of Hashimoto, Stedinger and Loucks come out as counted."""
    assert reliability(SHORT) == 8 / 12
    assert resilience(SHORT) == 3 / 4
    assert 1.0 / resilience(SHORT) == pytest.approx(4 / 3, rel=1e-15)
    assert vulnerability(SHORT) == pytest.approx(8 / 3, rel=1e-15)
    assert vulnerability(SHORT, variant="largest") == 5.0
    assert longest_failure(SHORT) == 2


def test_a_failure_that_does_not_end_has_no_recovery():
    """F F at the end: no recovery in it, so resilience falls to 3/6, and reliability to 8/14."""
    short = np.append(SHORT, [3.0, 3.0])
    assert resilience(short) == 3 / 6
    assert reliability(short) == 8 / 14
    assert vulnerability(short) == pytest.approx((2 + 5 + 1 + 3) / 4, rel=1e-15)


def test_nothing_failed():
    """Without failure reliability is 1, severity 0, and resilience has no meaning."""
    short = np.zeros(5)
    assert reliability(short) == 1.0
    assert np.isnan(resilience(short))
    assert vulnerability(short) == 0.0
    assert longest_failure(short) == 0


def test_members_are_counted_apart():
    """A second column is measured by itself: all failing, resilience 0, the mean its largest."""
    short = np.stack([SHORT, np.full(12, 7.0)], axis=1)
    assert reliability(short).tolist() == [8 / 12, 0.0]
    assert resilience(short).tolist() == [3 / 4, 0.0]
    assert vulnerability(short).tolist() == pytest.approx([8 / 3, 7.0])
    assert longest_failure(short).tolist() == [2, 12]


def test_unknown_variant_is_refused():
    """A variant that does not exist is named with those that do."""
    with pytest.raises(ValueError, match="largest"):
        vulnerability(SHORT, variant="median")
