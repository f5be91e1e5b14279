"""One town that drinks from its own loop, steady: a share rho of each use comes back to the intake.

What the home gets is the share rho of water used k times before (k + 1 uses after) and 1 - rho of
fresh water, so P(0) = 1 - rho and P(k + 1) = rho P(k):

    P(k) = (1 - rho) rho^k,   used share f = rho,   mean m = rho / (1 - rho)

A drop at home comes back with the probability rho, so N_home = 1 / (1 - rho).
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, long_run


def loop(rho, steps=5, volume=(3.0, 0.0, 2.0)):
    """Reservoir, home and sewer; the reservoir gives 1, of which rho comes back."""
    flows = [
        ("upstream", "reservoir", "upstream", 1 - rho),
        ("reservoir", "home", "supply", 1.0),
        ("home", "sewer", "home_use", 1.0),
        ("sewer", "reservoir", "outfall", rho),
        ("sewer", "sky", "evaporation", 1 - rho),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(["reservoir", "home", "sewer"], source, target, kind)
    edges = edges_of("2031-01-01", steps)
    record = build_record(network, edges, [volume] * (steps + 1), [rate] * steps)
    assert_closes(record)
    return record


@pytest.mark.parametrize("way", ["steady", "repeat"])
@pytest.mark.parametrize(("rho", "mean"), [(0.2, 0.25), (0.5, 1.0), (0.8, 4.0)])
def test_earlier_passes_are_geometric(rho, mean, way):
    """Shares by number of passes, used share and mean at the home, in every step."""
    record = loop(rho)
    uses = count_uses(record, most=12, warm_up=way)
    assert_conserves(record, uses, "home_use")
    home = uses.sel(store="home").isel(edge=slice(1, None))
    expected = (1 - rho) * rho ** np.arange(12)
    room = 1e-12 if way == "steady" else 1e-7
    assert np.abs(home["share"].values[:12].T - expected).max() <= room
    assert np.abs(home["share"].values[12] - rho**12).max() <= room
    assert np.abs(home["mean_uses"].values - mean).max() <= room


@pytest.mark.parametrize("rho", [0.2, 0.5, 0.8])
def test_long_run(rho):
    """N_home = 1/(1 - rho), used share and return probability rho, mean uses rho/(1 - rho)."""
    found = long_run(loop(rho)).sel(store="home")
    assert float(found["visits"].sel(visited="home")) == pytest.approx(1 / (1 - rho), abs=1e-12)
    assert float(found["return_probability"]) == pytest.approx(rho, abs=1e-12)
    assert float(found["used_share"]) == pytest.approx(rho, abs=1e-12)
    assert float(found["mean_uses"]) == pytest.approx(rho / (1 - rho), abs=1e-12)
    assert float(found["passes"]) == pytest.approx(1 / (1 - rho), abs=1e-12)


def test_leaky_town_loop():
    """Reservoir to home .30, home to sewer .85, sewer to reservoir .60: rho = .153.

    N_home = 1/(1 - .153) = 1.180638; used share .153; mean earlier passes .153/.847 = .180638.
    The throughflows follow from an inflow of 1: reservoir r = 1 + .6 * .85 * .3 r.
    """
    r = 1 / (1 - 0.153)
    home, sewer = 0.3 * r, 0.3 * 0.85 * r
    flows = [
        ("rain", "reservoir", "rain", 1.0),
        ("reservoir", "home", "home_use", home),
        ("reservoir", "downstream", "spill", 0.7 * r),
        ("home", "sewer", "sewage", sewer),
        ("home", "sky", "evaporation", 0.15 * home),
        ("sewer", "reservoir", "outfall", 0.6 * sewer),
        ("sewer", "downstream", "outfall", 0.4 * sewer),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(["reservoir", "home", "sewer"], source, target, kind)
    record = build_record(network, edges_of("2031-01-01", 3), [[9.0, 0, 1]] * 4, [rate] * 3)
    assert_closes(record)
    found = long_run(record)
    assert float(found["visits"].sel(store="home", visited="home")) == pytest.approx(r, abs=1e-12)
    back = float(found["return_probability"].sel(store="home"))
    assert back == pytest.approx(0.153, abs=1e-12)
    # Before the home gate, in the reservoir, is the water that the tap is about to get.
    tap = found.sel(store="reservoir")
    assert float(tap["used_share"]) == pytest.approx(0.153, abs=1e-12)
    assert float(tap["mean_uses"]) == pytest.approx(0.153 / 0.847, abs=1e-12)
