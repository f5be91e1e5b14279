"""The page's numbers and dials: those of the measures, real runs, and plans that can be run."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
from functools import cache
from itertools import accumulate

import jsonschema
import numpy as np
import pytest

import hydroloop as hl
from hydroloop.errors import AskError
from hydroloop.outputs.page.dials import dials_of, plan_text, setting_of, settings_of, taken
from hydroloop.outputs.page.every_setting import MOST_BYTES, opened_frame, written_page
from hydroloop.outputs.page.html import page_html, script
from hydroloop.outputs.page.json_schema import RUN
from hydroloop.outputs.page.numbers import SHARES, in_steps
from hydroloop.outputs.page.payload import run_values
from hydroloop.outputs.run.result import Result
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.whatif.plan import read_plan_text


@cache
def first():
    scenario = hl.read_scenario("first_town")
    record = hl.simulate(scenario)
    return scenario, record, run_values(scenario, record=record)


def test_the_page_says_what_the_measures_say():
    """Layers, season, mean uses, shortage and gap are those of the table of measures."""
    scenario, record, found = first()
    table = hl.measures(record, scenario)
    glass = found["glass"]["home"]["penhollow"]
    own = table.sel(town="penhollow")
    layers = np.array(glass["layers"], dtype=float) / SHARES
    assert np.abs(layers[:, :-1] - own["use_share"].values).max() <= 0.5 / SHARES
    assert (
        np.abs(np.array(glass["season"][:-1]) / SHARES - own["season_use_share"].values).max()
        <= 0.5 / SHARES
    )
    assert glass["mean_uses"] == pytest.approx(float(own["season_mean_uses"]), rel=5e-4)
    town = found["towns"]["penhollow"]
    assert town["reliability"] == pytest.approx(float(own["reliability"]), rel=5e-4)
    assert town["unmet"]["homes"] == float(own["unmet_total"].sel(purpose="homes"))
    assert found["account"]["gap"] == float(table["gap_relative"])
    for gate in found["glass"]:
        used = sum(found["glass"][gate]["penhollow"]["layers"][100][1:-1]) / SHARES
        share = float(own["share_as"].sel(count_as=gate)[100])
        assert used == pytest.approx(share, abs=3 / SHARES)


def test_rivers_and_stays_are_those_of_the_record():
    """A store of the river leaves what its flows carry, is as used and holds it as long."""
    scenario, record, found = first()
    around = opened_frame(scenario, record, [])
    store = around["river"][-1]["store"]
    leaves = (record["source"] == store) & (record["kind"] != "evaporation")
    rate = record["rate"].values[:, leaves.values].sum(axis=1)
    assert found["river"]["rate"][-1] == pytest.approx(rate.tolist(), rel=5e-4)
    used = hl.count_uses(record, "home", 5)["share"].sel(store=store)[1:, 1:].sum("use").values
    assert np.abs(np.array(found["river"]["used"]["home"][-1]) / SHARES - used).max() < 1 / SHARES
    stay = hl.measures.turnover_time(record)[record["store"].values.tolist().index(store), 0]
    assert found["river"]["stay"][-1] == pytest.approx(stay, rel=5e-4)


def test_times_under_way_are_those_of_the_measures():
    """From intake to outfall and on to the next taps: a tenth, half, nine tenths of the water."""
    scenario, record, found = first()
    table = hl.measures(record, scenario)
    own = table["intake_to_outfall_time"].sel(town="larkmill").transpose("part").values
    far = table["outfall_to_tap_time"].sel(town="larkmill", town_to="penhollow").values
    told = found["towns"]["larkmill"]["transit"]
    assert told["own"] == pytest.approx(own.tolist(), rel=0.05)
    assert told["taps"]["penhollow"] == pytest.approx(far.tolist(), rel=0.05)


def test_places_are_named_in_miles_and_in_kilometres():
    """Each stretch of river has its name in both systems, so that the switch changes it too."""
    river = opened_frame(first()[0], first()[1], [])["river"]
    reach = next(one for one in river if one["role"] == "reach")
    assert "mile" in reach["label"]["us"]
    assert "km" not in reach["label"]["us"]
    assert "km" in reach["label"]["metric"]


def test_flows_of_the_loop_add_up():
    """All that comes into the mains leaves them or is stored there."""
    _, _, found = first()
    flows = found["towns"]["larkmill"]["loop"]["flows"]
    into, out = (sum(one["mean"] for one in flows if one[end] == "mains") for end in ("to", "from"))
    assert into == pytest.approx(out, rel=0.01)


def test_the_page_tells_what_buys_years_for_both_plants():
    """Remedies of the supply and of the wastewater plant are those of the study, in its order, but
    for those that buy nothing; a limit that is not reached at all has no number of years."""
    scenario, record, found = first()
    study = capacity_study(scenario, record, "penhollow")
    supply, sewage = found["towns"]["penhollow"]["capacity"]["plants"]
    assert (supply["whose"], sewage["whose"]) == ("the water supply", "the wastewater plant")
    for plant, gains in ((supply, study.bought), (sewage, study.sewage_bought)):
        assert plant["bought"] == [
            [words, None if years == np.inf else pytest.approx(years, abs=0.05)]
            for words, years in gains
            if years >= 0.05
        ]
    assert sewage["bought"]


def test_a_run_keeps_its_form():
    """A run fits the schema that is published, for every bundled scenario."""
    for name in ("first_town", "old_town"):
        scenario = hl.read_scenario(name)
        values = json.loads(json.dumps(run_values(scenario, every=30), allow_nan=False))
        assert not list(jsonschema.Draft202012Validator(RUN).iter_errors(values))


def test_every_position_is_a_plan():
    """Every setting of the dials is a plan's text, and the plan leads to the same scenario."""
    scenario = first()[0]
    dials = dials_of(scenario)
    assert [dial.name for dial in dials] == [
        "dryness",
        "heat",
        "people",
        "leaks",
        "fixtures",
        "reuse",
    ]
    for setting in settings_of(dials)[1::29]:
        plan = read_plan_text(plan_text('A "title"\n', dials, setting))
        changed = taken(scenario, dials, setting)
        assert plan.taken(scenario).to_toml() == changed.to_toml()
        assert changed.to_toml() != scenario.to_toml()


def test_dials_do_what_they_say():
    """Half the leaks, a quarter more people and two degrees more are in the scenario."""
    scenario = first()[0]
    dials = dials_of(scenario)
    changed = taken(scenario, dials, setting_of(dials, {"leaks": 1, "people": 1, "heat": 1}))
    was, town = scenario.town["larkmill"], changed.town["larkmill"]
    assert town.mains.real_losses == pytest.approx(0.5 * was.mains.real_losses)
    assert town.people == pytest.approx(1.25 * was.people)
    assert changed.weather.warmer_by == scenario.weather.warmer_by + 2.0


def test_wrong_dials_are_named_together():
    """A dial that is not there and a position that is not there are told at once."""
    with pytest.raises(AskError) as caught:
        setting_of(dials_of(first()[0]), {"wind": 1, "heat": 9})
    assert [problem.where for problem in caught.value.problems] == ["dials", "dials.heat"]


def _runs_of(text: str) -> list[dict]:
    packed = json.loads(re.search(r'id="runs">(.*?)</script>', text)[1])
    return [_added_up(json.loads(gzip.decompress(base64.b64decode(one)))) for one in packed]


def _added_up(value):
    """Tables of differences as the tables that they were."""
    if isinstance(value, list):
        return [_added_up(one) for one in value]
    if not isinstance(value, dict):
        return value
    if set(value) != {"+"}:
        return {name: _added_up(one) for name, one in value.items()}
    steps = value["+"]
    if not isinstance(steps[0], list):
        return _sums(steps)
    return [list(row) for row in zip(*map(_sums, steps), strict=True)]


def _sums(steps):
    known = iter(accumulate(one for one in steps if one is not None))
    return [None if one is None else next(known) for one in steps]


@pytest.mark.parametrize(
    "table",
    [
        [1, 5, 5, 2, -7],
        [None, 3, None, 4],
        [[1, None], [2, 7], [None, 9]],
        [[], []],
        [1.5, 2, 3, 4],
        [[1, 2], [3]],
        [],
        {"a": [[3, 4]], "b": "x", "c": [True, True, False, True]},
    ],
)
def test_tables_are_packed_without_loss(table):
    """A table of any form, with gaps too, is the same after it was written as differences."""
    again = _added_up(json.loads(json.dumps(in_steps(table))))
    assert again == table
    assert json.dumps(again) == json.dumps(table)


def test_the_because_follows_what_counts_as_a_use():
    """By every gate the parts add up to the used share of that gate, in each list, on each day."""
    _, _, found = first()
    assert set(found["because"]) == set(found["glass"])
    for gate, because in found["because"].items():
        layers = np.array(found["glass"][gate]["penhollow"]["layers"], dtype=float)
        used = layers[:, 1:-1].sum(axis=1)
        for parts in because["towns"]["penhollow"].values():
            assert np.abs(np.array(parts, dtype=float).sum(axis=1) - used).max() <= 12


def test_every_setting_stands_in_the_file_as_it_was_run():
    """The file has one run a setting, each what the model gives for that setting."""
    scenario = first()[0]
    dials = [dial for dial in dials_of(scenario) if dial.name in ("heat", "reuse")]
    text = written_page(scenario, dials=dials)
    runs = _runs_of(text)
    assert len(runs) == 4
    for setting, found in zip(settings_of(dials), runs, strict=True):
        again = run_values(taken(scenario, dials, setting))
        assert found == json.loads(json.dumps(again))
    assert len(text) < MOST_BYTES + 400_000


def test_words_of_a_scenario_are_shown_as_words():
    """A title that holds a script ends no element of the page, and runs nothing."""
    bad = '</script><script>alert(1)</script><img src=x onerror=alert(2)>"'
    scenario = first()[0].changed({"title": bad})
    around = opened_frame(scenario, first()[1], dials_of(scenario))
    text = page_html({**around, "runs": {"count": 0, "every": 1}})
    assert "<img" not in text
    assert text.count("<script") == 3  # the frame, the runs, and the script of the page
    assert json.loads(re.search(r'id="frame">(.*?)</script>', text)[1])["title"] == bad


def test_the_file_may_load_nothing_but_itself():
    """The policy allows the page's own script by its mark, and no address at all."""
    around = opened_frame(first()[0], first()[1], [])
    text = page_html({**around, "runs": {"count": 0, "every": 1}})
    policy = re.search(r'Policy" content="([^"]*)"', text)[1].replace("&#39;", "'")
    mark = base64.b64encode(hashlib.sha256(script().encode()).digest()).decode()
    assert f"script-src 'sha256-{mark}'" in policy
    assert policy.startswith("default-src 'none'")
    assert "http" not in policy
    assert f"<script>{script()}</script>" in text


@pytest.mark.parametrize("name", ["first_town", "long_river"])
def test_the_page_opens_with_the_day_of_the_answer(name, monkeypatch):
    """Where not every day is shown, each town's most-used day is, and is the one that `run` tells;
    a setting shows the same days."""
    scenario = hl.read_scenario(name)
    record = hl.simulate(scenario)
    result = Result(scenario, record, hl.measures(record, scenario))
    monkeypatch.setattr("hydroloop.outputs.page.every_setting._EVERY", (4,))
    (shown,) = _runs_of(written_page(scenario, dials=[]))
    dates, glasses = shown["dates"], shown["glass"]["home"]
    assert len(dates) < record.sizes["time"] / 3
    assert dates == sorted(set(dates))
    for town, glass in glasses.items():
        assert dates[glass["most_used"]] == str(result.most_used_day(town))[:10], town
