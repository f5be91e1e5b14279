"""Printed tables that close to rounding only: balanced where it is asked, and never in silence."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.errors import HydroloopWarning

EDGES = pd.date_range("2031-01-01", periods=4)


def tables(volumes, more=()):
    """A lake with one inflow of 1/3, printed with five digits, and one outflow."""
    rows = [
        (day, *row)
        for day in EDGES[:-1]
        for row in (
            ("upstream", "lake", "river", 0.33333),
            ("lake", "sky", "evaporation", 0.1),
            *more,
        )
    ]
    flows = pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
    return pd.DataFrame(volumes, index=EDGES), flows


PRINTED = {"lake": [10.0, 10.23333, 10.46667, 10.7]}


def test_a_rounded_table_is_refused_unless_balanced():
    """It is refused without a word; the flow that is named takes the gap, with a warning."""
    with pytest.raises(hl.RecordError, match="does not close"):
        hl.water_record(*tables(PRINTED))
    with pytest.warns(HydroloopWarning, match='"lake > sky" took the gap'):
        record = hl.water_record(*tables(PRINTED), balance={"lake": "lake > sky"})
    assert_closes(record)
    assert record.volume.sel(store="lake").values.tolist() == PRINTED["lake"]
    assert record.rate.sel(flow="upstream > lake").values.tolist() == [0.33333] * 3
    assert record.rate.sel(flow="lake > sky").values == pytest.approx(0.1, abs=2e-5)
    assert "lake > sky" in record.attrs["balanced"]


def test_volumes_may_take_it():
    """The flows stay as printed, and volumes follow from the first one."""
    with pytest.warns(HydroloopWarning, match="its volumes took the gap"):
        record = hl.water_record(*tables(PRINTED), balance={"lake": "volume"})
    assert_closes(record)
    np.testing.assert_allclose(record.rate.sel(flow="lake > sky"), 0.1, rtol=0)
    np.testing.assert_allclose(record.volume.sel(store="lake"), PRINTED["lake"], atol=3e-5)


@pytest.mark.parametrize(
    ("balance", "said"),
    [
        ({"lakes": "volume"}, 'Did you mean "lake"'),
        ({"lake": "lake > skies"}, 'Did you mean "lake > sky"'),
        ({"lake": "lake > pond"}, "does not join lake with the outside"),
        ("volume", "does not say of which store"),
    ],
)
def test_what_cannot_take_it_is_refused(balance, said):
    """No such store or flow, a flow that would hand the gap on to another store, or no store."""
    volumes = {**PRINTED, "pond": [0.0, 0.0, 0.0, 0.0]}
    more = [("lake", "pond", "river", 0.0), ("pond", "sky", "evaporation", 0.0)]
    with pytest.raises(hl.InputError, match=said):
        hl.water_record(*tables(volumes, more), balance=balance)


def test_a_mistake_is_not_balanced_away():
    """A misread volume is no rounding."""
    with pytest.raises(hl.RecordError, match="that is no rounding"):
        hl.water_record(
            *tables({"lake": [10.0, 10.23333, 10.64667, 10.7]}), balance={"lake": "lake > sky"}
        )
