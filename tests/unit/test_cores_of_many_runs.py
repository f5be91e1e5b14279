"""Without a number of workers many runs are made here, or on all cores where that ends sooner."""

from __future__ import annotations

from dataclasses import replace

import pytest

import hydroloop as hl
from hydroloop.whatif import running
from hydroloop.whatif.job import drawn_job


@pytest.mark.parametrize(("worth", "left"), [(0.0, [8, 12]), (1e9, [])])
def test_what_is_left_is_shared_out_where_that_ends_sooner(monkeypatch, worth, left):
    """Two chunks are run here; what the others would take decides where they are run, and the
    result is the same."""
    scenario = hl.read_scenario("first_town").changed(
        {"town.larkmill.mains.real_losses": "8 % to 20 %"}
    )
    job = replace(drawn_job(scenario, 16), chunk=4)
    handed: list[int] = []

    def in_processes(job, todo, count):
        assert count == 2
        handed.extend(todo)
        for first in todo:
            yield first, running.run_chunk(job, first)

    monkeypatch.setattr(running, "cores", lambda: 2)
    monkeypatch.setattr(running, "in_processes", in_processes)
    monkeypatch.setattr(running, "_WORTH_STARTING_S", worth)
    assert running.run_job(job, workers=None).identical(running.run_job(job, workers=1))
    assert handed == left
