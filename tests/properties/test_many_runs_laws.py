"""Laws of many runs, over random towns, values, orders and places where a run is broken off."""

from __future__ import annotations

import dataclasses
import tempfile
from contextlib import suppress
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

import hydroloop as hl
from hydroloop.whatif import drawn_job, run_job, season_table, sweep

LOSSES, PEOPLE, INFLOW = (
    "town.larkmill.mains.real_losses",
    "town.larkmill.people",
    "river.wren.inflow",
)
SHORT = {"season.end": "2031-04-20"}
RANGES = {LOSSES: "8 % to 20 %", INFLOW: "15 cfs to 25 cfs"}


def short():
    """Two towns, twenty days."""
    return hl.read_scenario("first_town").changed(SHORT)


values = st.tuples(st.floats(0.02, 0.4), st.integers(5_000, 60_000), st.floats(0.4, 1.5))


@given(point=values)
@settings(max_examples=10, deadline=None)
def test_a_sweep_of_one_point_equals_a_run(point):
    """A grid with one point holds what the scenario changed to that point comes to by itself."""
    losses, people, factor = point
    grid = sweep(short(), {LOSSES: [losses], PEOPLE: [people]}, factors={INFLOW: [factor]})
    own = short().changed({LOSSES: losses, PEOPLE: people}).scaled({INFLOW: factor})
    alone = season_table([own]).isel(member=0)
    here = grid.isel({LOSSES: 0, PEOPLE: 0, INFLOW: 0})
    for name in alone.data_vars:
        assert np.allclose(here[name], alone[name], rtol=1e-12, atol=1e-12, equal_nan=True), name
    whole = hl.measures(hl.simulate(own), own)
    for name in ("season_used_share", "reliability"):
        assert np.allclose(here[name], whole[name], rtol=1e-9, atol=1e-12, equal_nan=True), name


@given(drawn=st.lists(values, min_size=2, max_size=20, unique=True), lot=st.randoms())
@settings(max_examples=8, deadline=None)
def test_members_in_any_order_give_the_same(drawn, lot):
    """Shuffling the members shuffles the results, and does nothing else."""
    scenarios = [
        short().changed({LOSSES: losses, PEOPLE: people}).scaled({INFLOW: factor})
        for losses, people, factor in drawn
    ]
    order = list(range(len(drawn)))
    lot.shuffle(order)
    there, mixed = season_table(scenarios), season_table([scenarios[one] for one in order])
    for name in there.data_vars:
        assert np.allclose(
            there[name].isel(member=order), mixed[name], rtol=1e-12, atol=1e-12, equal_nan=True
        ), name


@given(members=st.integers(2, 14), chunk=st.integers(1, 5), seed=st.integers(0, 99), data=st.data())
@settings(max_examples=8, deadline=None)
def test_a_resumed_run_equals_an_unbroken_one_to_the_bit(members, chunk, seed, data):
    """Wherever it was broken off, once or twice, the results are identical."""
    work = dataclasses.replace(drawn_job(short().changed(RANGES), members, seed=seed), chunk=chunk)
    whole = run_job(work)
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "runs"
        for _ in range(data.draw(st.integers(1, 2))):
            left = data.draw(st.integers(1, -(-members // chunk)))
            break_off(work, store, left)
        assert run_job(work, store=store).identical(whole)


def break_off(work, store, after):
    """Run until so many chunks have been done, then stop as ctrl-C does."""
    told = []

    def stops(*said):
        told.append(said)
        if len(told) >= after:
            raise KeyboardInterrupt

    with suppress(KeyboardInterrupt):  # none comes where fewer chunks were left than that
        run_job(work, store=store, progress=stops)
