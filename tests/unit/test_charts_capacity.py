"""Capacity against demand: labels stay on the page and apart, wherever the lines fall."""

from __future__ import annotations

import pytest
from chart_checks import assert_labels_are_apart

from hydroloop.charts import capacity


@pytest.mark.parametrize("demands", [(2.0, 2.5), (7.0, 7.2), (3.0, 9.0), (0.5, 4.0), (7.5,)])
def test_labels_of_demands_stay_on_the_page(demands):
    """Each demand keeps its label, apart from the others, be its line in the middle or far out."""
    limits = [("river on its driest day", 0.4e3), ("filters", 5e3), ("chlorine contact", 8e3)]
    named = [(f"busiest day in {2031 + 30 * k}", 1e3 * flow) for k, flow in enumerate(demands)]
    picture = capacity("larkmill", limits, named, caption="Enough.")
    assert_labels_are_apart(picture)
