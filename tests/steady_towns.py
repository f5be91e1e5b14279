"""A town whose water passes one mixed basin at a steady rate."""

from __future__ import annotations

import numpy as np
from conserves import assert_closes

import hydroloop as hl
from hydroloop.record import Network, build_record, edges_of

_FLOW = 100.0  # m3/d
_LONG = 120.0  # d; water is followed for half of it


def through_a_basin(days: float, step: float) -> np.ndarray:
    """Days within which a tenth, half and nine tenths of what a town takes in have come back, if
    its water stays in one basin of so many days of flow, in a record of such steps [d]."""
    flows = [
        ("upstream", "wren/reach", "upstream", 5.0),
        ("wren/reach", "city/clearwell", "intake", 1.0),
        ("wren/reach", "downstream", "downstream", 4.0),
        ("city/clearwell", "city/mains", "supply", 1.0),
        ("city/mains", "city/taps", "home_use", 1.0),
        ("city/taps", "city/contact", "sewage", 1.0),
        ("city/contact", "downstream", "outfall", 1.0),
    ]
    source, target, kind, times = (list(column) for column in zip(*flows, strict=True))
    stores = ["wren/reach", "city/clearwell", "city/mains", "city/taps", "city/contact"]
    volume = _FLOW * np.array([10.0, days, 0.0, 0.0, 0.0])
    steps = round(_LONG / step)
    record = build_record(
        Network(stores, source, target, kind),
        edges_of("2031-01-01", steps, step),
        [volume] * (steps + 1),
        [_FLOW * np.array(times)] * steps,
    )
    assert_closes(record)
    return hl.measures(record).intake_to_outfall_time.sel(town="city").values
