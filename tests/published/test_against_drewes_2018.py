"""Bank filtrate, compared with the rule of Drewes 2018 (abstract) and Karakurt 2019.

The effluent share at the tap is the bank-filtrate share times the effluent share of the river: with
.6 and .2 it is .12.
"""

from __future__ import annotations

import pytest
from conserves import assert_closes, assert_conserves
from published_checks import Check

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses


def tap_share():
    """Effluent share at a tap that is fed by bank filtrate and by groundwater."""
    flows = [
        ("upstream", "wren/river", "upstream", 80.0),
        ("import", "wren/river", "outfall", 20.0),
        ("wren/river", "town/bank", "recharge", 6.0),
        ("wren/river", "downstream", "river", 94.0),
        ("rain", "town/groundwater", "recharge", 4.0),
        ("town/bank", "town/wells", "intake", 6.0),
        ("town/groundwater", "town/wells", "intake", 4.0),
        ("town/wells", "sky", "supply", 10.0),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    stores = ["wren/river", "town/bank", "town/groundwater", "town/wells"]
    volume = [50.0, 300.0, 2000.0, 1.0]
    network = Network(stores, source, target, kind)
    record = build_record(network, edges_of("2031-01-01", 30), [volume] * 31, [rate] * 30)
    assert_closes(record)
    uses = count_uses(record, gate="outfall", most=2)
    assert_conserves(record, uses, "outfall")
    return 1 - float(uses["share"].sel(store="town/wells", use=0).isel(edge=-1))


CHECKS = [
    Check(
        "Drewes 2018 (rule, abstract); Karakurt 2019",
        "effluent share at the tap, .6 bank filtrate of a river with .2 effluent",
        0.12,
        1e-7,
        tap_share,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
