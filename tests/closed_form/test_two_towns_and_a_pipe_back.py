"""Because, worked out by hand: two towns on a river, the second with reclaimed water.

All is steady and nothing is consumed. The river brings 100. Upper takes 20 and returns it by its
outfall: below it, 20/100 were used, last in Upper. Lower takes 20 of that and 5 of its own
reclaimed water; 25 go through homes, 5 back to the plant, 20 to the river. So the raw water of
Lower has the parts 20 x .2 / 25 = .16 last used in Upper, by the river, and 5 / 25 = .2 last used
in Lower, reclaimed straight to the plant. Below Lower: (80 x .2) / 100 = .16 Upper, 20/100 Lower.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.record import Network, build_record, edges_of

FLOWS = (
    ("upstream", "wren/one", "upstream", 100.0),
    ("wren/one", "upper/mains", "intake", 20.0),
    ("wren/one", "wren/two", "river", 80.0),
    ("upper/mains", "upper/taps", "home_use", 12.0),
    ("upper/mains", "upper/toilets", "home_use", 8.0),
    ("upper/taps", "upper/sewers", "sewage", 12),
    ("upper/toilets", "upper/sewers", "sewage", 8.0),
    ("upper/sewers", "wren/two", "outfall", 20.0),
    ("wren/two", "lower/plant", "intake", 20.0),
    ("wren/two", "wren/three", "river", 80.0),
    ("lower/plant", "lower/taps", "home_use", 25.0),
    ("lower/taps", "lower/works", "sewage", 25.0),
    ("lower/works", "lower/tank", "reclaimed", 5.0),
    ("lower/tank", "lower/plant", "reclaimed", 5.0),
    ("lower/works", "wren/three", "outfall", 20.0),
    ("wren/three", "downstream", "downstream", 100.0),
)


def chain(change=(), before=None):
    """The record, with some kinds of flow changed, or water used above the map."""
    kinds = dict(change)
    flows = [(a, b, kinds.get(f"{a} > {b}", kind), rate) for a, b, kind, rate in FLOWS]
    stores = list(dict.fromkeys(name for a, b, *_ in flows for name in (a, b) if "/" in name))
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    days = 4
    record = build_record(
        Network(stores, source, target, kind),
        edges_of("2031-01-01", days),
        [[3.0] * len(stores)] * (days + 1),
        [rate] * days,
        used_before={"upstream > wren/one": [before]} if before else None,
    )
    assert_closes(record)
    return record


def parts(record, at, by, **more):
    """The parts on the last day that are not zero."""
    found = hl.because(record, at=at, on="2031-01-04", by=by, **more).share
    stacked = found.to_series()
    return {name: part for name, part in stacked.items() if abs(part) > 1e-9}


@pytest.mark.parametrize("warm_up", ["repeat", "steady"])
def test_the_second_town_drinks_both(warm_up):
    """.16 from Upper by the river and .2 from its own homes, straight back to the plant."""
    found = parts(chain(), "lower/plant", ["town", "way"], warm_up=warm_up)
    assert found == pytest.approx(
        {("upper", "river"): 0.16, ("lower", "reclaimed to plant"): 0.2}, abs=1e-9
    )
    assert parts(chain(), "wren/three", "town") == pytest.approx(
        {"upper": 0.16, "lower": 0.2}, abs=1e-9
    )


def test_end_uses_share_what_their_town_returns():
    """Of Upper's 20, 12 went through taps and 8 through toilets: .6 and .4 of its part."""
    found = parts(chain(), "lower/plant", ["town", "use"])
    assert found == pytest.approx(
        {("upper", "taps"): 0.096, ("upper", "toilets"): 0.064, ("lower", "taps"): 0.2}, abs=1e-9
    )
    assert parts(chain(), "lower/plant", "use") == pytest.approx(
        {"taps": 0.296, "toilets": 0.064}, abs=1e-9
    )


def test_what_was_used_above_the_map_is_a_part():
    """A quarter was used before: Upper's homes relabel theirs; Lower has .8 x .8 x .25 of it."""
    found = parts(chain(before=0.25), "lower/plant", "way")
    assert found == pytest.approx(
        {"above the map": 0.8 * 0.8 * 0.25, "river": 0.16, "reclaimed to plant": 0.2}, abs=1e-9
    )


@pytest.mark.parametrize(("kind", "way"), [("overflow", "overflow"), ("sewage", "river")])
def test_the_last_returning_flow_tells_the_way(kind, way):
    """What the sewers let into the river untreated came by overflow."""
    found = parts(chain({"upper/sewers > wren/two": kind}), "lower/plant", ["town", "way"])
    assert found["upper", way] == pytest.approx(0.16, abs=1e-9)


def test_a_gate_of_ones_own():
    """At the wastewater plants: the tank's water is reclaimed, the river's came by an outfall."""
    found = parts(chain(), "lower/plant", ["town", "use"], gate="wastewater-plant")
    assert found == pytest.approx(
        {("upper", "outfall"): 0.16, ("lower", "reclaimed"): 0.2}, abs=1e-9
    )
    only = parts(chain(), "lower/plant", "town", gate=["upper/mains > upper/toilets"])
    used = hl.count_uses(chain(), gate=["upper/mains > upper/toilets"])
    assert sum(only.values()) == pytest.approx(
        1 - float(used.share.sel(use=0, store="lower/plant")[-1]), abs=1e-12
    )


def test_without_a_past_the_unknown_is_told():
    """What the first volumes were is not known; the parts are those of the water since."""
    found = hl.because(chain(), at="lower/plant", warm_up="none")
    whole = found.share.sum("used_in") + found.never + found.unknown
    assert np.abs(whole - 1.0).max() <= 1e-12
    assert float(found.unknown[0]) > float(found.unknown[-1]) > 0


@pytest.mark.parametrize("by", ["week", ["use", "way"], [], ["town", "town"]])
def test_parts_that_cannot_be_had_are_refused(by):
    """One message, which names what can be asked."""
    with pytest.raises(hl.HydroloopError, match="town"):
        hl.because(chain(), at="lower/plant", by=by)
