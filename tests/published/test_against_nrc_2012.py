"""Lake Livingston on the Trinity River, compared with NRC 2012, Water Reuse, Box 2-3.

About half of the yearly inflow is precipitation and the other half effluent of about 500 mgd; it
says that about 50 % of what a plant takes from the lake is effluent. 1 mgd = 3785.41 m3/d. The lake
holds one year of inflow ("up to 1 year in the lake").
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves
from published_checks import Check

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses

EFFLUENT = 500 * 3785.41


def lake_share():
    """Share of the water at the intake that passed the outfalls above, in percent."""
    flows = [
        ("rain", "trinity/river", "rain", EFFLUENT),
        ("upstream", "trinity/river", "outfall", EFFLUENT),
        ("trinity/river", "trinity/lake", "river", 2 * EFFLUENT),
        ("trinity/lake", "trinity/plant", "intake", 0.3 * EFFLUENT),
        ("trinity/lake", "downstream", "downstream", 1.7 * EFFLUENT),
        ("trinity/plant", "downstream", "supply", 0.3 * EFFLUENT),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(["trinity/river", "trinity/lake", "trinity/plant"], source, target, kind)
    volume = np.array([14.0, 365.0, 0.0]) * 2 * EFFLUENT
    record = build_record(network, edges_of("2031-01-01", 365), [volume] * 366, [rate] * 365)
    assert_closes(record)
    uses = count_uses(record, gate="outfall")
    assert_conserves(record, uses, "outfall")
    plant = uses["share"].sel(store="trinity/plant", use=0).isel(edge=-1)
    return 100 * (1 - float(plant))


CHECKS = [
    Check(
        "NRC 2012, Water Reuse, Box 2-3",
        "effluent share at an intake of Lake Livingston",
        50,
        1,
        lake_share,
        "%",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
