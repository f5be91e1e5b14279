"""A thousand random scenarios, some absurd: water is neither made nor lost; limits hold."""

from __future__ import annotations

import numpy as np
import pytest
from random_scenarios import Run, random_run

# A flow that is the difference of larger ones carries their rounding.
ROUNDING = 1e-9


@pytest.mark.parametrize("seed", range(10))
def test_account_closes_and_limits_hold(seed: int) -> None:
    """For every store and step: change = dt (in - out) to 1e-12 of the water that is there."""
    rng = np.random.default_rng(seed)
    for _ in range(100):
        run = random_run(rng)
        _assert_closes(run)
        _assert_limits(run)


def _assert_closes(run: Run) -> None:
    assert np.isfinite(run.volume).all()
    assert np.isfinite(run.rate).all()
    assert run.volume.min() >= 0.0
    assert run.rate.min() >= -ROUNDING
    assert run.spare == 0.0
    inflow, outflow = run.in_and_out()
    gap = np.abs(np.diff(run.volume, axis=0) - run.dt * (inflow - outflow))
    through = np.maximum(run.volume[:-1], run.volume[1:]) + run.dt * (inflow + outflow)
    assert (gap <= 1e-12 * through + 1e-300).all()


def _assert_limits(run: Run) -> None:
    ledger, names = run.works.ledger, run.names
    for town, row in zip(run.scenario.town, run.works.tables.towns, strict=True):
        slack = 1.0 + 1e-12
        tanks = run.volume[:, names.index(f"{town}/tanks")]
        assert tanks.max() <= max(row["tanks_volume"], tanks[0]) * slack
        sewers = run.volume[:, names.index(f"{town}/sewers")]
        assert sewers.max() <= max(row["sewer_storage"], sewers[0]) * slack
    for dam, row in zip(run.scenario.reservoir, run.works.tables.reservoirs, strict=True):
        assert run.volume[:, names.index(f"{dam}/reservoir")].max() <= row["capacity"] * (1 + 1e-12)
    for town, number in zip(run.scenario.town, range(len(run.scenario.town)), strict=True):
        for purpose, (kind, column) in enumerate([("home_use", 0), ("work_use", 1)]):
            flows = [
                i
                for i, name in enumerate(ledger.source_names)
                if name == f"{town}/mains" and ledger.kinds[i] == kind
            ]
            given = run.rate[:, flows].sum(axis=1)
            assert (given <= run.demand[:, number, column] * (1 + 1e-9)).all(), purpose
