"""A dye of which each use in a home adds as much, against the mean number of uses."""

from __future__ import annotations

import numpy as np

import hydroloop as hl
from hydroloop.tracing import Material, count_uses, operator, trace_material


def test_a_dye_that_vapour_takes_along_counts_the_uses():
    """1 mg/L at each use, nothing taken out: its concentration is the mean number of uses, in every
    store that holds water."""
    op = operator(hl.simulate(hl.read_scenario("first_town").changed({"season.end": "2031-06-30"})))
    dye = trace_material(op, Material(added={"home_use": 1.0}))["concentration"].isel(edge=-1)
    uses = count_uses(op, most=25)["mean_uses"].isel(edge=-1)
    assert float(dye.max()) > 0.9
    assert np.allclose(dye.values, uses.sel(store=dye["store"]).values, atol=1e-6)
