"""The loop: read from the record, to scale, and readable for every kind of town."""

from __future__ import annotations

import re

import numpy as np
import pytest
import xarray as xr
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.charts import loop
from hydroloop.charts.loop import ways_out
from hydroloop.charts.ribbons import head_width, ribbon
from hydroloop.charts.town_flows import GROUPS, town_flows
from hydroloop.errors import AskError
from hydroloop.measures import turnover_time
from hydroloop.scenario.bundled import bundled_scenarios
from hydroloop.tracing import operator

INTAKE = "town__larkmill__intake"
COMBINED = """
[town.larkmill.sewers]
kind = "combined"
storm_share = "90 %"
[town.larkmill.land]
area = "12 mi2"
paved = "60 %"
"""
REUSE = """
[town.larkmill.reuse]
plant = "0.5 Mgal/day"
yards = "0.4 Mgal/day"
groundwater = "0.3 Mgal/day"
"""
ABOVE = {"town__larkmill__outfall": {"river": "wren", "at": "8 km"}}
TOWNS = {
    "plain": ("", {}),
    "tiny town, huge river": (
        "",
        {"town__larkmill__people": 150, "river__wren__inflow": "900 m3/s"},
    ),
    "huge town": ("", {"town__larkmill__people": 4_000_000, "river__wren__inflow": "150 m3/s"}),
    "hardly any river": (
        "",
        {
            "river__wren__inflow": "0.2 m3/s",
            "town__larkmill__imported": "1 Mgal/day",
            "town__larkmill__wells": {"capacity": "1 Mgal/day"},
        },
    ),
    "wells": ("", {INTAKE: None, "town__larkmill__wells": {"capacity": "5 Mgal/day"}}),
    "bought water": ("", {INTAKE: None, "town__larkmill__imported": "5 Mgal/day"}),
    "reuse": (REUSE, {}),
    "combined sewers": (COMBINED, {"town__larkmill__people": 80_000}),
    "on-site systems": ("", {"town__larkmill__homes__septic": "40 %"}),
    "leaky": ("", {"town__larkmill__mains__real_losses": "50 %"}),
    "outfall above intake": ("", ABOVE),
    "outfall above intake, combined": (COMBINED, ABOVE),
}


def run(case):
    """Record of a town, and the measures that the loop reads."""
    extra, changes = TOWNS[case]
    record = hl.simulate(one_town(extra, **changes))
    return record, held_times(record).assign_coords(town=["larkmill"])


def held_times(record):
    """The one measure that the loop's flows are read with."""
    return xr.Dataset(
        {"turnover_time": ("store", turnover_time(operator(record))[:, 0])},
        {"store": record["store"].values},
    )


def words(picture):
    return [text.get_text() for text in picture.sheet.texts]


@pytest.mark.parametrize("case", TOWNS)
def test_labels_fit_and_can_be_read(case):
    """No label touches another, leaves the page or lies on a line, in either kind of units."""
    record, table = run(case)
    for units in ("us", "metric"):
        picture = loop(record, table, "larkmill", units)
        assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


@pytest.mark.parametrize("case", ["plain", "reuse", "combined sewers", "on-site systems", "wells"])
def test_groups_balance(case):
    """What flows into each part of the picture less what leaves it is its change in store."""
    record, table = run(case)
    flows = town_flows(record, table, "larkmill")
    days = len(record.time) * 1.0
    change = (record.volume[-1] - record.volume[0]) / days
    roles = record.role.values.astype(str)
    for group in set(GROUPS) - {"homes"}:
        stores = np.isin(roles, GROUPS[group]) & (record.place.values == "larkmill")
        gap = flows.between(target=group) - flows.between(source=group)
        assert gap == pytest.approx(float(change.values[stores].sum()), abs=1e-6)


@pytest.mark.parametrize("case", ["plain", "reuse", "combined sewers", "on-site systems", "leaky"])
def test_the_caption_leaves_no_way_out(case):
    """What is taken in and joins the sewers is what the caption lets out, and change in store."""
    record, table = run(case)
    flows = town_flows(record, table, "larkmill")
    parts = [group for group in GROUPS if group != "yards"]
    inside = (record.place.values == "larkmill") & np.isin(
        record.role.values.astype(str),
        [role for group in parts for role in GROUPS[group]]
        + ["toilets", "baths", "taps", "laundry", "homes"],
    )
    assert inside.any()
    enters = flows.between(("river", "ground", "import", "land", "rain"), parts)
    out = sum(ways_out(flows).values()) + flows.between("wastewater", "river")
    change = float(
        (record.volume[-1] - record.volume[0]).sel(store=record.store.values[inside]).sum()
    ) / len(record.time)
    assert enters - out == pytest.approx(change, abs=1e-3 * enters)


@pytest.mark.parametrize(
    ("scenario", "town"),
    [
        ("first_town", "larkmill"),
        ("five_towns", "osselby"),
        ("five_towns", "brackenhythe"),
        ("old_town", "marlbeck"),
        ("long_river", "velderby"),
    ],
)
def test_what_is_drawn_and_told_of_the_river_adds_up(scenario, town):
    """What the river brings, what joins and what leaves it make what flows on past the outfall."""
    record = hl.simulate(hl.read_scenario(scenario))
    flows = town_flows(record, held_times(record), town)
    own = flows.between(("wastewater", "sewers"), "river") + flows.between(
        "land", "river", "stormwater"
    )
    taken = flows.between("river", tuple(GROUPS), "intake")
    ends = flows.water_source.coming - taken + own - flows.outfall.leaving
    joins, leaves = sum(flows.joining.values()), sum(flows.leaving.values())
    assert ends + joins - leaves == pytest.approx(0.0, abs=1e-6 * flows.outfall.leaving)


DRAWN = {
    "a drought": ("first_town", "penhollow", {"river.wren.inflow": 0.2}),
    "below a reservoir": ("long_river", "velderby", {"river.tessle.inflow": 0.2}),
    "many towns": ("five_towns", "osselby", {}),
    "a lake behind a dam": ("long_river", "ottermarsh", {}),
    "combined sewers": ("old_town", "marlbeck", {}),
}


@pytest.mark.parametrize("case", DRAWN)
def test_a_reader_can_add_up_the_river(case):
    """The amounts printed beside the river are a balance to their last figure: what comes to the
    intake is what is taken and what passes; with what joins and returns it is what flows on."""
    name, town, factors = DRAWN[case]
    record = hl.simulate(hl.read_scenario(name).scaled(factors))
    table = held_times(record).assign_coords(town=[town])
    flows = town_flows(record, table, town)
    texts = " | ".join(words(loop(record, table, town, "metric"))).replace("\n", " ")
    amount = r"([\d,.]+) (?:ML|m³)/day"

    def printed(around):
        found = re.search(around.replace("N", amount), texts)
        return float(found[1].replace(",", "")) if found else 0.0

    came = printed(r"At the intake(?:, [^|]* (?:brings|gives)|:) N")
    passing, on = (printed(one) for one in ("N pass by", "on with N"))
    joins, leaves = printed("N join"), printed("N leave")
    returned = printed("storm water N") + printed("overflow N")
    taken, effluent = (
        1e-3 * flows.between(*ends)
        for ends in (("river", tuple(GROUPS), "intake"), ("wastewater", "river"))
    )
    size = 0.06 * max(came, on)  # each of six numbers is printed to two figures or more
    assert came > 0.0
    assert came - taken - passing == pytest.approx(0.0, abs=size)
    assert passing + joins - leaves + returned + effluent - on == pytest.approx(0.0, abs=size)


@pytest.mark.parametrize("scenario", bundled_scenarios())
def test_what_comes_down_the_river_is_told_of_its_place(scenario):
    """The amount at the head of the drawn river is that of the intake, or of the outfall of a town
    without one, and the label says so."""
    record = hl.simulate(hl.read_scenario(scenario))
    table = held_times(record)
    for town in hl.read_scenario(scenario).town:
        flows = town_flows(record, table, town)
        at = flows.water_source or flows.outfall
        place = "intake" if flows.water_source else "outfall"
        (label,) = (one for one in words(loop(record, table, town)) if one.startswith("At the "))
        assert label.startswith(f"At the {place}")
        (told,) = re.findall(r" ([\d,.]+) Mgal/day$", label)
        assert float(told.replace(",", "")) * 3785.411784 == pytest.approx(at.coming, rel=0.006)


def test_what_comes_to_the_intake_is_the_flow_of_the_days_table():
    """In a drought most of the river at an intake is what the town above gives back; the loop's
    number is the season's mean of the flow there, not what comes from further up."""
    scenario = hl.read_scenario("first_town").scaled({"river.wren.inflow": 0.2})
    record = hl.simulate(scenario)
    flows = town_flows(record, held_times(record), "penhollow")
    at_intake = hl.measures(record, scenario)["river_flow_at_intake"].sel(town="penhollow")
    assert flows.water_source.coming == pytest.approx(float(at_intake.mean()), rel=1e-6)
    assert flows.water_source.fed["from other towns"] > 0.5 * flows.water_source.coming


def test_the_caption_tells_what_joins_the_river_undrawn():
    """Groundwater between intake and outfall is told: what joins there is made of it."""
    record, table = run("leaky")
    flows = town_flows(record, table, "larkmill")
    ground = flows.joining["of groundwater"]
    assert ground > 0.01 * flows.outfall.leaving
    caption = loop(record, table, "larkmill", "metric").caption
    assert (
        f"oining between intake and outfall: {ground / 1000:.3g} ML/day of groundwater" in caption
    )


def test_a_town_that_takes_in_nothing_has_no_loop():
    """Without any water taken in the loop is refused in words, not by a division."""
    record = hl.simulate(one_town(river__wren__minimum_flow="900 m3/s"))
    table = held_times(record).assign_coords(town=["larkmill"])
    with pytest.raises(AskError, match="Larkmill takes in no water"):
        loop(record, table, "larkmill")


def test_single_stores_stay_as_measured():
    """The time in a box of one store is that store's turnover time."""
    record, table = run("plain")
    flows = town_flows(record, table, "larkmill")
    for group in ("tanks", "mains", "sewers", "workplaces"):
        measured = float(table.turnover_time.sel(store=f"larkmill/{group}"))
        assert flows.stay[group] == pytest.approx(measured)


def test_stores_in_a_row_add_their_times():
    """A plant's stay is its volume over what leaves it, not a mean of its basins' times."""
    record, table = run("plain")
    flows = town_flows(record, table, "larkmill")
    held, rate = record.volume.mean("edge"), record.rate.mean("time")
    roles, place = record.role.values.astype(str), record.place.values.astype(str)
    inside = set(record.store.values[np.isin(roles, GROUPS["wastewater"]) & (place == "larkmill")])
    out = [
        a in inside and b not in inside
        for a, b in zip(record.source.values, record.target.values, strict=True)
    ]
    volume = float(held.sel(store=sorted(inside)).sum())
    # Mean volume over edges or over steps: half a step of a season of 123 days.
    assert flows.stay["wastewater"] == pytest.approx(volume / float(rate[out].sum()), rel=0.01)


@pytest.mark.parametrize("case", ["plain", "reuse", "wells"])
def test_numbers_on_the_page_are_the_records(case):
    """Leak, homes and effluent stand on the page as the record's means, in ML/day."""
    record, table = run(case)
    rate = record.rate.mean("time")
    for kind in ("leak", "outfall"):
        value = float(rate[record.kind.values == kind].sum()) / 1000
        shown = f"{value:.3g}" if value >= 10 else f"{value:.2g}".removesuffix(".0")
        page = words(loop(record, table, "larkmill", "metric"))
        assert any(f"{shown} ML/day" in word for word in page), (kind, shown, page)


def test_bands_are_to_scale():
    """The band of the tanks and the piece of the scale have widths in the ratio of their flows."""
    record, table = run("plain")
    picture = loop(record, table, "larkmill", "metric")
    flows = town_flows(record, table, "larkmill")
    (scale,) = (patch for patch in picture.sheet.patches if patch.get_gid() == "scale")
    shown = next(float(word[2:].split()[0]) for word in words(picture) if word.startswith("= "))
    inches = scale.get_height() / (1000 * shown)
    bands = [patch.get_xy() for patch in picture.sheet.patches if patch.get_gid() == "band"]
    widths = [np.linalg.norm(outline[0] - outline[-2]) for outline in bands]
    for pair in (("treatment", "tanks"), ("sewers", "wastewater"), ("homes", "sewers")):
        assert np.isclose(widths, inches * flows.between(*pair), rtol=1e-9).any(), pair


def test_river_direction_follows_the_record():
    """Water that passes the outfall before the intake closes the ring; else it does not."""
    for case, is_closed in (("plain", False), ("outfall above intake", True)):
        record, table = run(case)
        source = town_flows(record, table, "larkmill").water_source
        assert source is not None
        assert source.is_below_outfall == is_closed
    assert any("arrive" in word for word in words(loop(record, table, "larkmill")))


def test_cut_widths_are_said():
    """A river far too wide for the page is named in the caption; one that fits is not."""
    wide, narrow = run("tiny town, huge river"), run("hardly any river")
    assert "the river cut" in loop(*wide, "larkmill").caption
    assert "the river cut" not in loop(*narrow, "larkmill").caption


def test_caption_adds_up():
    """Where nothing joins or leaves but what is named, the hundred litres add up to a hundred."""
    record, table = run("plain")
    flows = town_flows(record, table, "larkmill")
    caption = loop(record, table, "larkmill", "metric").caption
    taken = flows.between("river", "treatment")
    leak = 100 * flows.between("mains", "ground") / taken
    assert "For every 100 litres of it, " in caption
    assert f", {leak:.0f} leak away" in caption
    assert "gallons" in loop(record, table, "larkmill", "us").caption


@pytest.mark.parametrize("scenario", bundled_scenarios())
def test_the_parts_of_a_hundred_add_up(scenario):
    """What goes out of a hundred gallons and of what joins them is the whole that the caption
    names, in whole numbers, each within one of the flow; a hundred where nothing joins."""
    record = hl.simulate(hl.read_scenario(scenario))
    table = held_times(record)
    for town in hl.read_scenario(scenario).town:
        caption = loop(record, table, town).caption
        told = re.search(r"For every 100 gallons of it, (.*?outfall)", caption)[1]
        first, _, parts = told.rpartition(". Of these ")
        total, _, parts = parts.partition(", ") if first else ("100", "", parts)
        counts = [int(count) for count in re.findall(r"\b(\d+) (?!more)", parts)]
        assert sum(counts) == int(total)
        assert int(total) == 100 + sum(int(count) for count in re.findall(r"\b\d+\b", first))
        flows = town_flows(record, table, town)
        taken = flows.between(("river", "ground", "import"), tuple(GROUPS), ("intake", "import"))
        back = int(re.search(r"(\d+) comes? back", caption)[1])
        assert back == pytest.approx(100 * flows.between("wastewater", "river") / taken, abs=1)


def test_members_are_averaged():
    """Of an ensemble the mean flows are drawn, whose account still closes."""
    record, table = run("plain")
    both = {
        name: xr.concat([record[name], 3 * record[name]], "member") for name in ("rate", "volume")
    }
    twice = record.assign(both)
    once, mean = (town_flows(each, table, "larkmill") for each in (record, twice))
    assert mean.rate == pytest.approx(2 * once.rate)


def test_wrong_towns_are_refused():
    """A place that is not there gets the nearest name, a river is no town."""
    record, table = run("plain")
    with pytest.raises(AskError, match='Did you mean "larkmill"'):
        town_flows(record, table, "larkmil")
    with pytest.raises(AskError, match="no water flows into homes"):
        town_flows(record, table, "wren")


def test_ribbon_has_the_area_of_its_line():
    """A band with round corners covers its width times its middle line, corners cut by arcs."""
    width, reach = 0.4, 3.0
    outline = ribbon([(0, 0), (reach, 0), (reach, reach)], width)
    x, y = outline.T
    area = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    radius = width / 2 + 0.1
    # Arc of a quarter turn in place of twice the radius; a chord polygon is a little smaller.
    assert area == pytest.approx(width * (2 * reach - 2 * radius + np.pi / 2 * radius), rel=2e-3)


def test_arrow_heads_are_seen_on_the_thinnest_band():
    """A head is wider than its band, ends where the line ends, and never vanishes."""
    outline = ribbon([(0, 0), (1, 0)], 0.001, head=0.15)
    assert outline[:, 0].max() == 1.0
    assert np.ptp(outline[:, 1]) == pytest.approx(head_width(0.001)) == pytest.approx(0.2)
    assert head_width(0.5) > 0.5
