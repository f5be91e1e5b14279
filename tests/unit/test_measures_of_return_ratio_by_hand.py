"""Return ratios of records without storage: what counts as return flow, and where it goes."""

from __future__ import annotations

import numpy as np
import pytest
from small_records import small_record

from hydroloop.measures import return_ratio


def ratio(flows, **more):
    """Return ratio of each store at the end of a record without storage."""
    record = small_record(flows, **more)
    found = return_ratio(record)[-1, :, 0]
    return dict(zip(record["store"].values.tolist(), found.tolist(), strict=True))


def test_what_counts_as_return_flow():
    """An outfall, an overflow and a bypass into the river, reclaimed water where it goes no further
    as such, and sewage that soaks away count once each; sewage in sewers does not. Of 14 that flow
    through the reach 4 are taken out of it, and 4 are returned."""
    base = [
        ("upstream", "wren/reach", "upstream", 10.0),
        ("wren/reach", "downstream", "downstream", 10.0),
        ("wren/reach", "a/mains", "intake", 4.0),
        ("a/mains", "a/taps", "home_use", 4.0),
    ]
    for ways in (
        [("a/sewers", "wren/reach", "outfall", 4.0)],
        [("a/sewers", "wren/reach", "overflow", 4.0)],
        [("a/sewers", "wren/reach", "bypass", 4.0)],
        [("a/sewers", "a/contact", "bypass", 4.0), ("a/contact", "wren/reach", "outfall", 4.0)],
        [("a/sewers", "a/soak", "sewage", 4.0), ("a/soak", "wren/reach", "baseflow", 4.0)],
        [("a/sewers", "a/primary", "sewage", 4.0), ("a/primary", "wren/reach", "outfall", 4.0)],
        [("a/sewers", "a/tank", "reclaimed", 4.0), ("a/tank", "wren/reach", "reclaimed", 4.0)],
    ):
        found = ratio([*base, ("a/taps", "a/sewers", "sewage", 4.0), *ways])
        assert found["wren/reach"] == pytest.approx(4 / 14), ways


def test_return_flow_in_a_store_that_comes_first():
    """A septic field that is the record's first store, and a place where it piles up."""
    flows = [
        ("a/taps", "a/groundwater", "sewage", 1.0),
        ("import", "a/taps", "home_use", 1.0),
        ("a/groundwater", "wren/reach", "baseflow", 1.0),
        ("upstream", "wren/reach", "upstream", 3.0),
        ("wren/reach", "downstream", "downstream", 4.0),
    ]
    found = ratio(flows, held={"a/groundwater": 0.0})
    assert found == pytest.approx(
        {"a/groundwater": 1.0, "a/taps": 0.0, "wren/reach": 0.25}, abs=1e-9
    )
    piled = [
        ("a/taps", "a/pond", "sewage", 1.0),
        ("import", "a/taps", "home_use", 1.0),
        ("upstream", "wren/reach", "upstream", 3.0),
        ("wren/reach", "downstream", "downstream", 3.0),
    ]
    for held in ({"a/pond": 5.0}, {"wren/reach": 0.0, "a/pond": 5.0}):
        found = ratio(piled, held=held)
        assert np.isnan(found["a/pond"])
        assert found["wren/reach"] == 0.0
    fed = [*piled, ("a/pond", "a/lake", "baseflow", 0.5)]
    found = ratio(fed, held={"a/pond": 5.0, "a/lake": 1.0})
    assert np.isnan([found["a/pond"], found["a/lake"]]).all()
    assert found["wren/reach"] == 0.0


def test_a_pond_that_only_rain_fills_holds_no_return_flow():
    """Nothing leaves it, and nothing was used: there is none, which is known."""
    flows = [
        ("import", "a/taps", "home_use", 1.0),
        ("a/taps", "wren/reach", "outfall", 1.0),
        ("upstream", "wren/reach", "upstream", 3.0),
        ("wren/reach", "downstream", "downstream", 4.0),
        ("rain", "a/pond", "rain", 2.0),
    ]
    found = ratio(flows)
    assert found["a/pond"] == 0.0
    assert found["wren/reach"] == pytest.approx(0.25)


def test_a_river_that_is_drawn_empty_passes_its_returns_to_the_town():
    """Where nothing flows on, what was returned above goes with the water; where the river flows on
    it stays there, and evaporation takes none."""
    above = [
        ("import", "up/taps", "home_use", 2.0),
        ("up/taps", "wren/reach", "outfall", 2.0),
        ("upstream", "wren/reach", "upstream", 6.0),
        ("a/mains", "a/taps", "home_use", 4.0),
        ("a/taps", "sky", "evaporation", 4.0),
        ("wren/reach", "a/mains", "intake", 4.0),
    ]
    on = ratio([*above, ("wren/reach", "downstream", "downstream", 4.0)])
    assert on["wren/reach"] == pytest.approx(
        2 / 4 * 4 / 8
    )  # all 2 leave with 4; the label is mixed
    dry = ratio([*above, ("wren/reach", "sky", "evaporation", 4.0)])
    assert dry["a/mains"] == pytest.approx(0.5)
