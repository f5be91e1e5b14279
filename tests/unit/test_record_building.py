"""Building a record: from arrays and from tables, and what is refused."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from conserves import assert_closes
from random_records import random_record

from hydroloop.errors import RecordError, TableError
from hydroloop.record import (
    ALLOWED_GAP,
    BOUNDARIES,
    KINDS,
    Network,
    build_record,
    check_record,
    closure_gap,
    edges_of,
    water_record,
)

LAKE = Network(
    ["hill/lake_1"], ["rain", "hill/lake_1"], ["hill/lake_1", "sky"], ["rain", "evaporation"]
)
DAY = edges_of("2031-01-01", 1)


def tables():
    """Two days of a town pond: volumes by edge, flows by day."""
    volumes = pd.DataFrame(
        {"ash/pond": [10.0, 12.0, 11.0], "ash/mains": [0.0, 0.0, 0.0]},
        index=["2031-01-01", "2031-01-02", "2031-01-03"],
    )
    rows = [
        ("2031-01-01", "rain", "ash/pond", "rain", 5.0),
        ("2031-01-01", "ash/pond", "ash/mains", "supply", 3.0),
        ("2031-01-01", "ash/mains", "sky", "leak", 3.0),
        ("2031-01-02", "ash/pond", "ash/mains", "supply", 1.0),
        ("2031-01-02", "ash/mains", "sky", "leak", 1.0),
    ]
    return volumes, pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])


def test_every_variable_has_units_and_a_long_name():
    """Numbers, words and axes say what they are."""
    record = random_record(1, members=2)
    assert_closes(record)
    for name, variable in record.variables.items():
        assert variable.attrs["long_name"], name
        assert name in ("time", "edge") or variable.attrs["units"], name
    assert record["volume"].attrs["units"] == "m3"
    assert record["rate"].attrs["units"] == "m3 d-1"
    assert record["volume"].dims == ("edge", "store", "member")


def test_places_and_roles_come_from_the_names():
    """``place/part_3`` is of that place and has the role ``part``."""
    record = build_record(LAKE, DAY, [[1], [2]], [[3, 2]])
    assert record["place"].values.tolist() == ["hill"]
    assert record["role"].values.tolist() == ["lake"]
    assert record["label"].values.tolist() == ["hill/lake_1"]


def test_flows_that_join_the_same_pair_are_told_apart_by_kind():
    """Their kind stands behind their name; others have none."""
    record = random_record(2, stores=9)
    assert len(set(record["flow"].values)) == record.sizes["flow"]
    for flow, kind in zip(record["flow"].values, record["kind"].values, strict=True):
        assert not flow.endswith(")") or flow.endswith(f"({kind})")


def test_tables_come_to_the_same_record_as_arrays():
    """A flow that is not listed on a date has no water then."""
    record = water_record(*tables(), title="Ash", labels={"ash/pond": "the pond"})
    assert_closes(record)
    assert record["rate"].sel(flow="rain > ash/pond").values.tolist() == [5, 0]
    assert record["label"].values.tolist() == ["the pond", "ash/mains"]
    assert record.attrs["title"] == "Ash"
    names = (record[k].values.tolist() for k in ("store", "source", "target", "kind"))
    network = Network(*names, label=record["label"].values.tolist())
    again = build_record(
        network, record["edge"].values, record["volume"].values, record["rate"].values, title="Ash"
    )
    assert again.identical(record)


def test_volumes_may_be_a_data_array():
    """An array with edges and stores as coordinates is a table too."""
    volumes, flows = tables()
    array = xr.DataArray(
        volumes.to_numpy(),
        coords=[("edge", pd.to_datetime(volumes.index)), ("store", list(volumes.columns))],
    )
    assert water_record(array, flows).identical(water_record(volumes, flows))


def test_own_kinds_are_welcome_and_misspelt_ones_are_not():
    """A gate would miss ``homeuse`` without a word."""
    volumes, flows = tables()
    assert "brewing" in water_record(volumes, flows.replace("supply", "brewing"))["kind"].values
    with pytest.raises(TableError, match=r'"Home-Use" is not a kind\. Did you mean "home_use"'):
        water_record(volumes, flows.replace("supply", "Home-Use"))


def test_all_problems_of_a_table_come_at_once():
    """Two unknown names and a flow into itself: three problems, each with the nearest name."""
    volumes, flows = tables()
    flows.loc[0, "target"] = "ash/ponds"
    flows.loc[2, "target"] = "skye"
    flows.loc[4, "source"] = "ash/mains"
    flows.loc[4, "target"] = "ash/mains"
    with pytest.raises(TableError) as caught:
        water_record(volumes, flows)
    text = str(caught.value)
    assert len(caught.value.problems) == 3
    assert 'Did you mean "ash/pond"?' in text
    assert 'Did you mean "sky"?' in text
    assert "flows into itself" in text


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda v, f: (v, f.drop(columns="rate")), 'no column "rate"'),
        (lambda v, f: (v, f.rename(columns={"source": "sources"})), 'Did you mean "sources"'),
        (lambda v, f: (v, f.assign(time="soon")), "are no dates"),
        (lambda v, f: (v, f.assign(time="01/02/2031")), "are no dates"),
        (lambda v, f: (v.reset_index(drop=True), f), "are no dates"),
        (
            lambda v, f: (v, f.assign(rate=[5.0, 3.0, "3 m3", 1.0, 1.0])),
            "row 2 holds '3 m3': no nu",
        ),
        (lambda v, f: (v, f.assign(rate=[5.0, 3.0, None, 1.0, None])), "row 2 holds nothing: no n"),
        (lambda v, f: (v, f.assign(time="2031-01-09")), "no start of a step"),
        (lambda v, f: (v, pd.concat([f, f.head(1)])), "there twice on 2031-01-01"),
        (lambda v, f: (v, f.assign(kind="")), "holds no name"),
        (lambda v, f: (v.head(1), f), "1 row is too few"),
        (lambda v, f: (v.iloc[::-1], f), "do not run forward"),
        (lambda v, f: (v.rename(columns={"ash/pond": "rain"}), f), "name of a boundary"),
        (lambda v, f: (v.astype(str), f), "ash/pond: 2031-01-01 holds '10.0': no number"),
        (lambda v, f: ([1, 2], f), "is no table"),
    ],
)
def test_tables_that_cannot_be_read(change, message):
    """Each fault is named in one line, and is a ValueError too."""
    with pytest.raises(TableError, match=message) as caught:
        water_record(*change(*tables()))
    assert isinstance(caught.value, ValueError)
    assert all("\n" not in str(problem) for problem in caught.value.problems)


def test_an_account_that_does_not_close_names_store_and_date():
    """The worst place, its gap, and how many more there are."""
    volumes, flows = tables()
    volumes.iloc[2, 0] = 11.5
    with pytest.raises(RecordError, match=r"ash/pond, 2031-01-02: .* does not close") as caught:
        water_record(volumes, flows)
    assert (caught.value.store, caught.value.date) == ("ash/pond", "2031-01-02")
    assert caught.value.gap == pytest.approx(0.5 / 12.5, rel=1e-12)
    assert "the gap is 0.5 m3, 0.04 of the throughput" in str(caught.value)
    assert "more place" not in str(caught.value)


@pytest.mark.parametrize(("days", "said"), [(1, "nothing"), (2, "1 more place."), (3, "2 more pl")])
def test_only_what_is_there_is_counted(days, said):
    """The rest of the wrong places: in the words of their number, or not at all."""
    pond = Network(["pond"], ["rain"], ["pond"], ["rain"])
    edges, rates = edges_of("2031-01-01", days), [[1.0]] * days
    volumes = np.arange(days + 1.0)[:, None]
    for wrong in ((volumes, -np.array(rates)), (volumes * 0.0, rates)):
        with pytest.raises(RecordError) as caught:
            build_record(pond, edges, *wrong)
        told = str(caught.value)
        assert (said in told) is (days > 1)
        assert ("more place" in told) is (days > 1)


@pytest.mark.parametrize(
    ("unit", "factor"), [("L/s", 86.4), ("Mgal/d", 3785.411784), ("m3/h", 24.0), ("L/d", 1e-3)]
)
def test_rates_in_another_unit_are_recognised(unit, factor):
    """An account that closes in another unit says so; one that closes in none does not."""
    volumes, flows = tables()
    with pytest.raises(RecordError, match=f"closes if the rates are in {unit}: give m3/d"):
        water_record(volumes, flows.assign(rate=flows["rate"] / factor))
    with pytest.raises(RecordError, match="Check what flows into"):
        water_record(volumes, flows.assign(rate=flows["rate"] * 3))


def test_a_gap_below_what_is_allowed_is_let_through():
    """Rounding is no error; ten times what is allowed is."""
    record = build_record(LAKE, DAY, [[1], [2 * (1 + 0.5 * ALLOWED_GAP)]], [[3, 2]])
    assert 0 < float(np.abs(closure_gap(record)).max()) < ALLOWED_GAP
    with pytest.raises(RecordError, match="does not close"):
        build_record(LAKE, DAY, [[1], [2 * (1 + 10 * ALLOWED_GAP)]], [[3, 2]])


@pytest.mark.parametrize(
    ("volume", "rate", "message"),
    [
        ([[1], [-1]], [[0, 2]], "the volume is -1"),
        ([[1], [2]], [[0, -1]], "the rate is -1"),
        ([[1], [np.nan]], [[3, 2]], "the volume is nan"),
        ([[1], [2]], [[np.inf, 2]], "the rate is inf"),
        ([[1], [2], [3]], [[3, 2]], '"volume" has shape'),
        ([[1], [2]], [[3, 2, 1]], '"rate" has shape'),
    ],
)
def test_numbers_that_are_refused(volume, rate, message):
    """Negative, not finite, or of the wrong number."""
    with pytest.raises(RecordError, match=message):
        build_record(LAKE, DAY, volume, rate)


def test_a_gap_names_its_member():
    """With members the message says in which one."""
    volume = np.ones((2, 1, 3))
    rate = np.ones((1, 2, 3))
    rate[0, 0, 2] = 2
    with pytest.raises(RecordError, match=r"hill/lake_1, 2031-01-01, member dry:"):
        build_record(LAKE, DAY, volume, rate, members=["mean", "wet", "dry"])


def test_shares_used_before_are_kept_and_checked():
    """For boundary inflows only, known ones, and at most one together."""
    kept = build_record(LAKE, DAY, [[1], [2]], [[3, 2]], used_before={"rain > hill/lake_1": [0.2]})
    assert kept["used_before"].sel(earlier_use=1).values.tolist() == [0.2, 0.0]
    for given, message in (
        ({"rain": [0.2]}, "no flow"),
        ({"hill/lake_1 > sky": [0.2]}, "does not enter"),
        ({"rain > hill/lake_1": [0.7, 0.7]}, "at most 1"),
    ):
        with pytest.raises(RecordError, match=message):
            build_record(LAKE, DAY, [[1], [2]], [[3, 2]], used_before=given)


@pytest.mark.parametrize("name", ["volume", "kind", "place"])
def test_a_record_that_lacks_something(name):
    """A dataset that is no record is told so."""
    record = random_record(3)
    with pytest.raises(RecordError, match=f'no "{name}"'):
        check_record(record.drop_vars(name))


def test_boundaries_are_no_kinds_of_store():
    """The fixed words are there, and no word is there twice."""
    assert len(set(BOUNDARIES)) == 6
    assert len(set(KINDS)) == len(KINDS)
    assert {"home_use", "outfall", "melt"} <= set(KINDS)
