"""Questions to a record: gates, stores, dates, and what cannot be asked."""

from __future__ import annotations

import datetime

import numpy as np
import pandas as pd
import pytest
from conserves import assert_closes, assert_conserves, assert_whole
from random_records import random_record

from hydroloop.errors import AskError, RecordError
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import (
    age_distribution,
    ages,
    because,
    count_uses,
    drops,
    find_gate,
    find_step,
    follow,
    last_use,
    long_run,
    operator,
    trace,
)


@pytest.fixture(scope="module")
def town():
    """Three days of a river, a town and its outfall, with used water in the river above."""
    flows = [
        ("upstream", "wren/reach", "upstream", 8.0),
        ("wren/reach", "ash/mains", "intake", 3.0),
        ("wren/reach", "downstream", "river", 7.0),
        ("ash/mains", "ash/homes", "home_use", 3.0),
        ("ash/homes", "wren/reach", "outfall", 2.0),
        ("ash/homes", "sky", "evaporation", 1.0),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(["wren/reach", "ash/mains", "ash/homes"], source, target, kind)
    record = build_record(
        network,
        edges_of("2031-05-01", 3),
        [[4.0, 2.0, 0.0]] * 4,
        [rate] * 3,
        used_before={"upstream > wren/reach": [0.25, 0.05]},
    )
    assert_closes(record)
    return record


def test_a_gate_is_a_kind_names_or_a_mask(town):
    """All ways to say the same flows find the same."""
    op = operator(town)
    mask = town["kind"].values == "home_use"
    for gate in (
        "home_use",
        ["home_use"],
        "ash/mains > ash/homes",
        ["ash/mains > ash/homes"],
        np.array(["home_use"]),
        mask,
        mask.tolist(),
    ):
        assert find_gate(op, gate).tolist() == mask.tolist()
    both = find_gate(op, ["home_use", "outfall"])
    assert both.sum() == 2


@pytest.mark.parametrize(
    ("gate", "message"),
    [
        ("home_uses", 'Did you mean "home_use"'),
        ("sludge", 'no flow of kind "sludge"'),
        (["ash/main > ash/homes"], 'Did you mean "ash/mains > ash/homes"'),
        ([], "names no flow"),
        ([True, False], "a mask of shape"),
    ],
)
def test_gates_that_are_not_there(town, gate, message):
    """The message offers the nearest name or says what there is."""
    with pytest.raises(AskError, match=message):
        count_uses(town, gate)


def test_all_unknown_gates_come_at_once(town):
    """Two wrong names are two problems."""
    with pytest.raises(AskError) as caught:
        count_uses(town, ["riverr", "intakes", "outfall"])
    assert len(caught.value.problems) == 2


def test_a_date_may_be_written_in_any_way(town):
    """Text, date, datetime, Timestamp, datetime64; the step that contains it is meant."""
    op = operator(town)
    for on in (
        "2031-05-02",
        datetime.date(2031, 5, 2),
        datetime.datetime(2031, 5, 2, 23, 59),
        pd.Timestamp("2031-05-02 12:00"),
        np.datetime64("2031-05-02T00"),
        "2031-05-02 06:30",
    ):
        assert find_step(op, on) == 1


@pytest.mark.parametrize("ask", [follow, last_use, age_distribution, drops])
def test_what_cannot_be_asked(town, ask):
    """Unknown stores, dates that are none or lie outside: one clear line each."""
    with pytest.raises(AskError, match=r'no store "ash/main"\. Did you mean "ash/mains"'):
        ask(town, at="ash/main", on="2031-05-02")
    with pytest.raises(AskError, match="Choose a date from 2031-05-01 to 2031-05-03"):
        ask(town, at="ash/mains", on="2031-05-04")
    for day in ("today-ish", "2031-13-01", None, np.datetime64("NaT")):
        with pytest.raises(AskError, match=r"is no date|lies outside"):
            ask(town, at="ash/mains", on=day)


@pytest.mark.parametrize("ask", [follow, last_use, age_distribution, drops])
def test_there_is_no_glass_from_an_empty_store(ask):
    """A store that neither holds nor receives water is named, with the date."""
    dry = Network(["a/pond", "a/pipe"], ["a/pond"], ["a/pipe"], ["home_use"])
    record = build_record(dry, edges_of("2031-01-01", 1), [[1, 0], [1, 0]], [[0]])
    with pytest.raises(AskError, match="a/pipe is empty on 2031-01-01"):
        ask(record, at="a/pipe", on="2031-01-01")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda r: count_uses(r, most=0),
            "0 is not a number of uses. Choose a whole number from 1",
        ),
        (lambda r: count_uses(r, most=2.5), "2.5 is not a number of uses"),
        (lambda r: count_uses(r, most=10**9), "from 1 to 1,000"),
        (lambda r: count_uses(r, warm_up="stedy"), 'Did you mean "steady"'),
        (lambda r: ages(r, warm_up=None), "no way to warm up"),
        (lambda r: trace(r, warm_up="steady"), "Choose repeat or none"),
        (lambda r: trace(r, -1.0), "inflow: an amount is negative"),
        (lambda r: trace(r, carries={"evaporation": 1.5}), "1.5 is more than all"),
        (lambda r: trace(r, injection={"outfal": 1.0}), 'Did you mean "outfall"'),
        (lambda r: trace(r, np.ones(2)), "do not fit"),
        (lambda r: follow(r, at="ash/mains", on="2031-05-01", most=0), "not a number of uses"),
        (lambda r: drops(r, n=0, at="ash/mains", on="2031-05-01"), "n: 0 cannot be used"),
        (lambda r: drops(r, seed=-1, at="ash/mains", on="2031-05-01"), "seed: -1 cannot be used"),
        (lambda r: drops(r, used=1, at="ash/mains", on="2031-05-01"), "used: is asked of drops"),
        (
            lambda r: drops(r, used=-1, at="ash/mains", on="2031-05-01", backward=True),
            "used: -1 is not a number of uses",
        ),
        (
            lambda r: drops(r, used=900, at="ash/mains", on="2031-05-01", backward=True),
            "had been used 900 times or more. The most is",
        ),
        (lambda r: last_use(r, at="ash/mains", on=[]), "there is no date"),
        *(
            (lambda r, by=by: because(r, at="ash/mains", on="2031-05-01", by=by), words)
            for by, words in (
                ("wayy", 'Did you mean "way"'),
                ([], "nothing cannot be had"),
                (["use", "way"], "use, way cannot be had"),
                (["town"] * 2, "cannot be had"),
                (["town", "use", "way"], "cannot be had"),
            )
        ),
    ],
)
def test_settings_that_are_refused(town, call, message):
    """Each with a message that says what to choose."""
    with pytest.raises(AskError, match=message):
        call(town)


def test_a_record_that_does_not_close_is_not_traced(town):
    """Shares would not sum to one; so nothing is computed."""
    with pytest.raises(RecordError, match="does not close"):
        count_uses(town.assign(rate=town["rate"] * [1, 1, 1, 1, 1, 1.001]))


def test_an_operator_answers_like_its_record(town):
    """Results are the same, and an operator made ready is not made again."""
    op = operator(town)
    assert operator(op) is op
    assert count_uses(op).identical(count_uses(town))
    assert long_run(op).identical(long_run(town))


def test_results_have_units_and_names(town):
    """Every variable and every axis of every answer but instants."""
    ask = {"at": "ash/mains", "on": "2031-05-02"}
    for answer in (
        count_uses(town),
        ages(town),
        trace(town),
        last_use(town, **ask),
        follow(town, **ask, steps=True),
        age_distribution(town, **ask),
        long_run(town),
    ):
        for name, variable in answer.variables.items():
            assert variable.attrs["long_name"], name
            assert variable.dtype.kind == "M" or variable.attrs["units"], name


def test_used_before_comes_in_with_the_river(town):
    """Classes of the inflow are there, the gate adds to them, and last use sets them apart."""
    uses = count_uses(town, warm_up="none")
    assert_conserves(town, uses, "home_use")
    first = uses["share"].sel(store="wren/reach").isel(edge=1)
    assert float(first[2]) > 0
    outfalls = count_uses(town, gate="upstream", warm_up="none")
    assert_conserves(town, outfalls, "upstream")
    assert float(outfalls["share"].isel(use=0).max()) == 0
    ago = last_use(town, at="ash/mains", on="2031-05-03")
    assert_whole(ago["share"], ago["never"], ago["before_record"], ago["unknown"])
    assert float(ago["before_record"] / ago["never"]) == pytest.approx(0.3 / 0.7, rel=1e-12)


def test_many_dates_are_answered_in_one_go(town):
    """Each as it would be alone."""
    days = ["2031-05-01", "2031-05-03"]
    together = last_use(town, at="ash/mains", on=days)
    assert together["share"].dims == ("on", "days_ago")
    for k, day in enumerate(days):
        alone = last_use(town, at="ash/mains", on=day)
        steps = alone.sizes["days_ago"]
        assert together["share"][k, :steps].values.tolist() == alone["share"].values.tolist()
        assert float(together["share"][k, steps:].sum()) == 0
        assert float(together["never"][k]) == float(alone["never"])


def test_days_ago_follow_the_length_of_the_steps():
    """Steps of two days, and months of unequal length."""
    record = random_record(6, steps=4, days=2.0)
    at = str(record["store"].values[int(record["volume"][-2].values.argmax())])
    days = last_use(record, at=at, on=record["time"].values[-1])["days_ago"].values
    assert days.tolist() == [0, 2, 4, 6]
    tank = Network(["tank"], ["import", "tank"], ["tank", "sky"], ["home_use", "evaporation"])
    months = ["2031-01-01", "2031-02-01", "2031-03-01"]
    record = build_record(tank, months, [[9.0]] * 3, [[1.0, 1.0]] * 2)
    assert_closes(record)
    ago = last_use(record, at="tank", on="2031-02-11")
    assert ago["days_ago"].values.tolist() == [0, 31]
    assert ago["share"].values.tolist() == pytest.approx([28 / 37, 9 / 37 * 31 / 40], rel=1e-14)


def test_the_long_run_needs_a_way_out():
    """Water that goes round without end is named."""
    ring = Network(["a/one", "a/two"], ["a/one", "a/two"], ["a/two", "a/one"], ["home_use"] * 2)
    record = build_record(ring, edges_of("2031-01-01", 1), [[1, 1]] * 2, [[1, 1]])
    with pytest.raises(AskError, match="round without end in a/one, a/two"):
        long_run(record)
    assert_conserves(record, count_uses(record), "home_use")


def test_drops_are_seeded(town):
    """The same seed gives the same drops, of which fewer are the first; another seed differs."""
    ask = {"at": "wren/reach", "on": "2031-05-01"}
    many, again = (drops(town, n=50, seed=3, **ask) for _ in range(2))
    few = drops(town, n=5, seed=3, **ask)
    assert many.equals(again)
    assert many.head(len(few)).equals(few)
    assert not many.equals(drops(town, n=50, seed=4, **ask))


def test_a_diary_can_be_read_line_by_line(town):
    """Each move leaves the store before by a flow that joins the two; uses count the gate."""
    ends_of = zip(*(town[k].values for k in ("source", "target", "kind")), strict=True)
    flows = dict(zip(town["flow"].values, ends_of, strict=True))
    for backward in (False, True):
        walk = drops(town, n=40, at="ash/mains", on="2031-05-02", backward=backward)
        for _, diary in walk.groupby("drop"):
            assert diary["flow"].iloc[0] == ""
            for before, after in zip(diary[:-1].itertuples(), diary[1:].itertuples(), strict=True):
                ends = flows[after.flow][:2]
                assert (before.store, after.store) == (ends[::-1] if backward else ends)
                assert after.uses - before.uses == (flows[after.flow][2] == "home_use")
                turn = before.step - after.step if backward else after.step - before.step
                assert turn >= 0
                assert after.date == town["time"].values[after.step]


def test_a_gate_at_the_boundary_counts_as_a_pass(town):
    """What a parcel leaves over has been passed: by follow, and by the drops."""
    ask = {"at": "ash/homes", "on": "2031-05-01", "gate": "evaporation"}
    fate = follow(town, **ask)
    assert_whole(fate["share"])
    left = fate["share"].sel(place="sky")
    assert float(left.sel(use=0)) == 0
    # One third of what comes to the homes evaporates; all of the parcel is there to begin with.
    assert float(left.sel(use=1)) >= 1 / 3
    assert float(fate["share"].sel(use=slice(1, None)).sum()) == pytest.approx(float(left.sum()))
    walk = drops(town, n=40, **ask).groupby("drop").last()
    assert (walk["uses"] == (walk["store"] == "sky")).all()
