"""One scenario by the hour and by the day: what leaves each part in the season is the same.

A daily step flattens what lasts for hours (a sewer that overflows for an hour, the morning peak in
homes); it must not change what evaporates, leaks, seeps or runs off in the long run.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.record import flow_mask

SEASON = {
    "season.start": "2031-01-01",
    "season.end": "2031-12-31",
    "river.wren.catchment": "150 km2",
    "river.wren.catchment_at_end": "190 km2",
}
# Wet-weather flows of works last for hours: overflow and bypass.
SHORT = ("overflow", "bypass")


@pytest.fixture(scope="module")
def records():
    """A year of two towns, on a river that gains along its length, by the day and the hour."""
    scenario = hl.read_scenario("first_town").changed(SEASON)
    return [hl.simulate(scenario.changed({"season.step": step})) for step in ("1 day", "1 hour")]


def totals(record, step_days: float) -> dict[tuple[str, str], float]:
    """Volume of the year by kind of flow and the role of what it leaves [m3]."""
    roles = dict(zip(record["store"].values.tolist(), record["role"].values.tolist(), strict=True))
    volume = record["rate"].sum("time").values * step_days
    found: dict[tuple[str, str], float] = {}
    for kind, source, one in zip(
        record["kind"].values.tolist(),
        record["source"].values.tolist(),
        volume.tolist(),
        strict=True,
    ):
        key = kind, roles.get(source, source)
        found[key] = found.get(key, 0.0) + one
    return found


def test_yearly_totals_agree(records):
    """Every total of the year by the hour is within 5 % of that by the day."""
    days, hours = totals(records[0], 1.0), totals(records[1], 1.0 / 24.0)
    assert set(days) == set(hours)
    least = 1e-4 * days["upstream", "upstream"]
    compared = [key for key in days if key[0] not in SHORT and days[key] > least]
    assert len(compared) > 30
    apart = {
        key: hours[key] / days[key] for key in compared if not 0.95 < hours[key] / days[key] < 1.05
    }
    assert not apart


def test_both_close(records):
    """The account closes by the day and by the hour."""
    for record in records:
        assert_closes(record)


def test_leaks_run_evenly_through_the_day(records):
    """Within a day the leaks of a town change by less than a tenth, while homes use ten times more
    at the peak than by night."""
    record = records[1]
    day = slice("2031-03-10", "2031-03-10T23:00")
    leaks, homes = (
        record["rate"]
        .isel(flow=flow_mask(record, kind=kind, from_place="larkmill"))
        .sum("flow")
        .sel(time=day)
        .values
        for kind in ("leak", "home_use")
    )
    assert leaks.max() < 1.1 * leaks.min()
    assert homes.max() > 4.0 * homes.min()


def test_night_flow_is_mostly_leaks(records):
    """With leaks L of the mean and night use f of the mean use the flow of the quietest hour is
    L + f (1 - L) of the mean flow."""
    record = records[1]
    day = slice("2031-03-10", "2031-03-10T23:00")

    def rate(kind: str | tuple[str, ...]) -> np.ndarray:
        flows = flow_mask(record, kind=kind, from_role="mains", from_place="larkmill")
        return record["rate"].isel(flow=flows).sum("flow").sel(time=day).values

    leaks, use = rate("leak"), rate(("home_use", "work_use", "yard_use"))
    flow = leaks + use
    night = int(flow.argmin())
    share, low = leaks.mean() / flow.mean(), use[night] / use.mean()
    assert flow[night] / flow.mean() == pytest.approx(share + low * (1.0 - share), rel=0.01)
