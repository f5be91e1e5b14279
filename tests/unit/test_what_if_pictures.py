"""What-ifs as folders: captions, tables and pictures say what the numbers say."""

from __future__ import annotations

import csv

import numpy as np
import pytest
import xarray as xr
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.charts.words import key_words
from hydroloop.measures import SEASON
from hydroloop.outputs.document import Document
from hydroloop.outputs.document.as_json import rows_of
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.writing import Beside, write_document
from hydroloop.outputs.whatif.bands import spread_document
from hydroloop.outputs.whatif.changed import changed_inputs, plan_section
from hydroloop.outputs.whatif.compare_pictures import line_of
from hydroloop.outputs.whatif.comparison import Against, comparison
from hydroloop.outputs.whatif.season_measures import DILUTION, EVERY, SHORT, USED
from hydroloop.outputs.whatif.spread_pictures import bands_picture
from hydroloop.outputs.whatif.sweep import sweep_document
from hydroloop.outputs.whatif.sweep_pictures import grid_picture
from hydroloop.outputs.whatif.sweep_words import varied
from hydroloop.whatif import Plan, Step, compare, read_plan_text, spread, sweep

INFLOW, PEOPLE = "river.wren.inflow", "town.larkmill.people"
SYSTEMS = ("us", "metric")


def names(document):
    """Names of the pictures of a document."""
    return [picture.name for picture in document.pictures()]


def pictures(found, system):
    """Pictures of one comparison, drawn."""
    document = comparison([Against("after", found, None)], system)
    return {picture.name: picture.draw() for picture in document.pictures()}


def lines_of(found, system):
    """One comparison as lines of text."""
    return as_text(comparison([Against("after", found, None)], system), full=True)


@pytest.fixture(scope="module")
def first():
    """The two towns on the Wren."""
    return hl.read_scenario("first_town")


@pytest.fixture(scope="module")
def drawn(first):
    """Forty runs that draw the river's inflow and the use of Larkmill's homes."""
    ranged = first.changed(
        {
            INFLOW: "8 cfs to 25 cfs",
            "town.larkmill.homes.use_per_person": "45 gal/person/day to 75 gal/person/day",
        }
    )
    return ranged, spread(ranged, 40)


@pytest.fixture(scope="module")
def grid(first):
    """Three factors of the inflow by two numbers of people."""
    return sweep(first, {PEOPLE: [20000, 40000]}, factors={INFLOW: [1.0, 0.6, 0.3]})


@pytest.mark.parametrize(
    ("system", "inflow"),
    [
        ("us", "20 ft³/s, not 25 ft³/s"),
        ("metric", "0.566 m³/s, not 0.708 m³/s"),  # of 0.02832 m3 a cubic foot
    ],
)
def test_changes_under_a_title_have_units_and_few_digits(first, system, inflow):
    """A scaled inflow (25 cfs times 0.8) is told in the units asked for, not as it is held."""
    plan = read_plan_text(
        '[plan]\ntitle = "A dry summer"\n'
        '[[step]]\nwhat = "Less rain"\nscale = { "river.wren.inflow" = 0.8 }\n'
        '[[step]]\nwhat = "Grow"\nset = { "town.larkmill.people" = 30000 }\n'
    )
    for picture in pictures(compare(first, plan), system).values():
        assert picture.under == (
            f"Changed: inflow of the Wren {inflow}; people of Larkmill 30,000, not 24,000"
        )


@pytest.mark.parametrize("system", SYSTEMS)
def test_caption_of_bands_has_their_numbers(drawn, system):
    """The caption's median and ends are the quantiles of the members, taken anew with numpy."""
    _, table = drawn
    picture = bands_picture(table, "penhollow", system)
    share = 100.0 * table["season_used_share"].sel(town="penhollow").values
    median, low, high = (np.quantile(share, level) for level in (0.5, 0.05, 0.95))
    assert f"{median:.3g} % of its tap water" in picture.caption
    assert f"between {low:.3g} and {high:.3g} %" in picture.caption
    assert "inflow of the Wren: where that is higher, less was used before" in picture.caption
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_what_never_moves_is_said_not_drawn(drawn):
    """Larkmill, first on the river, drinks no used water in any run: told as the same in all."""
    picture = bands_picture(drawn[1], "larkmill", "us")
    assert "Larkmill: 0 % of its tap water was used before, whatever was drawn." in picture.caption
    assert "time with enough water (100 %)" in picture.caption
    assert not [text for text in picture.sheet.texts if text.get_text().startswith("used share")]


def test_weather_alone_is_told(first):
    """Where no input is a range the bands are the weather's, and the picture says so."""
    texts = [
        text.get_text() for text in bands_picture(spread(first, 4), "penhollow", "us").sheet.texts
    ]
    assert "no input was drawn, the weather alone" in texts


def test_two_runs_tell_no_correlation(first):
    """Two runs have a band, but nothing can be said of what it hangs on."""
    table = spread(first.changed({INFLOW: "8 cfs to 25 cfs"}), 2)
    texts = [text.get_text() for text in bands_picture(table, "penhollow", "us").sheet.texts]
    assert "too few runs to tell" in texts


def test_few_pictures_are_of_the_widest_band(drawn):
    """Few: of the town whose used share is least sure; all: of every town; none: none."""
    scenario, table = drawn
    counts = {
        how: names(spread_document(scenario, table, "us", how)) for how in ("none", "few", "all")
    }
    assert counts == {
        "none": [],
        "few": ["penhollow_bands"],
        "all": ["penhollow_bands", "larkmill_bands"],
    }


def test_tables_of_a_spread_are_its_numbers(drawn, tmp_path):
    """The written members give the band back: 5, 25, 50, 75 and 95 % by numpy."""
    out = tmp_path / "out"
    write_document(
        spread_document(*drawn, "us", "none"), str(out), Beside(arrays={"members.nc": drawn[1]})
    )
    with (out / "tables/members.csv").open() as file:
        rows = [row for row in csv.DictReader(file) if row["town"] == "penhollow"]
    with (out / "tables/bands.csv").open() as file:
        levels = [row for row in csv.DictReader(file) if row["town"] == "penhollow"]
    share = [float(row["used share [%]"]) for row in rows]
    assert len(share) == 40
    assert [float(row["used share [%]"]) for row in levels] == pytest.approx(
        np.quantile(share, [0.05, 0.25, 0.5, 0.75, 0.95]), rel=1e-5
    )
    # Drawn between 8 and 25 ft3/s, and shown in that unit.
    inflow = [float(row[f"{INFLOW} [ft3/s]"]) for row in rows]
    assert 8.0 <= min(inflow) < max(inflow) <= 25.0
    kept = xr.load_dataset(out / "members.nc", engine="h5netcdf")
    assert kept["season_used_share"].equals(drawn[1]["season_used_share"])


@pytest.mark.parametrize("system", SYSTEMS)
def test_caption_of_a_grid_has_its_ends(grid, system):
    """Lowest and highest of the caption are those of the grid, with the keys' values there."""
    picture = grid_picture(grid, [PEOPLE, INFLOW], USED, system)
    share = 100.0 * grid["season_used_share"].sel(town="penhollow")
    assert (
        f"Penhollow: lowest {float(share.min()):.3g} % with 20,000 people of "
        "Larkmill and the inflow of the Wren as now" in picture.caption
    )
    assert (
        f"highest {float(share.max()):.3g} % with 40,000 people of "
        "Larkmill and 0.3 times the inflow of the Wren" in picture.caption
    )
    assert "The same in every run: Larkmill (0 %)." in picture.caption
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_lines_of_a_grid_are_its_values(grid):
    """Over one key each town is a line through its runs; the other key is told as fixed."""
    one = grid.isel({PEOPLE: [1]})
    picture = grid_picture(one, [PEOPLE, INFLOW], USED, "us")
    (line,) = [
        line for axes in picture.axes for line in axes.lines if line.get_gid() == "Penhollow"
    ]
    share = 100.0 * one["season_used_share"].sel(town="penhollow").squeeze()
    assert list(line.get_xdata()) == [0.3, 0.6, 1.0]
    assert list(line.get_ydata()) == share.sortby(INFLOW).values.tolist()
    assert "All with 40,000 people of Larkmill." in picture.caption
    assert_labels_are_apart(picture)


def test_ends_that_read_alike_are_told_once(grid):
    """A town whose lowest and highest print the same is about that in every run."""
    flat = grid.isel({PEOPLE: [0]}).copy(deep=True)
    flat["season_used_share"].loc[{"town": "penhollow"}] = [[0.06991, 0.06992, 0.06993]]
    caption = grid_picture(flat, [PEOPLE, INFLOW], USED, "us").caption
    assert "Penhollow: about 6.99 % in every run." in caption
    assert "lowest" not in caption


def test_ties_are_counted(grid):
    """Where several runs share the lowest value their number is told, not one of them."""
    flat = grid.copy(deep=True)
    values = flat["unmet_total"]
    values[:] = 0.0
    values.loc[{PEOPLE: 40000, INFLOW: 0.3, "town": "penhollow", "purpose": "yards"}] = 3785.0
    caption = grid_picture(flat, [PEOPLE, INFLOW], SHORT, "metric").caption
    assert "Penhollow: lowest 0 ML in 5 of them; highest 3.79 ML with 40,000 people" in caption


@pytest.mark.parametrize(
    ("system", "unit", "shown"), [("us", "ft3/s", 25.0), ("metric", "m3/s", 25.0 * 0.3048**3)]
)
def test_values_of_a_key_are_in_the_units_asked_for(first, system, unit, shown):
    """A flow given in cubic feet stands along its axis in those, or in cubic metres (0.3048 m)."""
    found = sweep(first, {INFLOW: ["25 cfs", "12.5 cfs"]})
    along = varied(found, INFLOW, system)
    assert along.unit == unit
    assert along.values == pytest.approx((shown, shown / 2))


def test_three_keys_have_no_picture(first):
    """Three keys are told to be too many for a picture; their table has all points."""
    found = sweep(
        first,
        {PEOPLE: [20000, 30000], "town.penhollow.people": [8000, 9000]},
        factors={INFLOW: [1.0, 0.5]},
    )
    keys = [PEOPLE, "town.penhollow.people", INFLOW]
    document = sweep_document(first, found, keys, "us", "all")
    assert names(document) == []
    assert document.blocks[-1].words.startswith("No picture: 3 keys were varied")
    assert len(document.tables()[0].columns[0].values) == 2 * 2 * 2 * 2  # points by towns


def test_measures_that_move_are_drawn(first, grid):
    """Few: used share and water short; all: the dilution too; nothing moves: none, and why."""
    few, every = (
        names(sweep_document(first, grid, [PEOPLE, INFLOW], "us", how)) for how in ("few", "all")
    )
    assert few == [USED.name, SHORT.name]
    assert set(every) > {USED.name, SHORT.name, DILUTION.name}
    still = grid.map(lambda one: one * 0.0)
    told = sweep_document(first, still, [PEOPLE, INFLOW], "us", "all")
    assert names(told) == []
    assert told.blocks[-1].words == "No picture: nothing changes over the grid."


@pytest.mark.parametrize("system", SYSTEMS)
def test_steps_are_the_contributions(first, system):
    """The steps of the picture are the parts of the comparison; the caption has both ends."""
    found = compare(first, first.changed({PEOPLE: 30000, INFLOW: "15 cfs"}))
    picture = pictures(found, system)[USED.name]
    own = {
        name: 100.0 * table["season_used_share"].sel(town="penhollow")
        for name, table in (("table", found.table), ("parts", found.contributions))
    }
    before, after = (float(own["table"].sel(run=run)) for run in ("before", "after"))
    assert f"Penhollow: {after:.3g} % with the change, {before:.3g} % without" in picture.caption
    texts = [text.get_text() for text in picture.sheet.texts]
    for part in own["parts"].values:
        # No finer than the whole, which is above 10 %.
        assert f"{part:+.1f}".removesuffix(".0") + " points" in texts
    bars = [patch.get_width() for patch in picture.sheet.patches if patch.get_gid() == "step"]
    assert bars[0] / bars[1] == pytest.approx(float(own["parts"][0] / own["parts"][1]))
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)


def test_the_line_below_a_title_names_what_both_runs_have(first):
    """With a plan in a drought the picture says the drought, and the plan by its title."""
    plan = Plan("Fix", (Step("Mend", sets={PEOPLE: 20000}),))
    dry = first.scaled({INFLOW: 0.2})
    found = compare(dry, plan)
    line = line_of(found, plan, changed_inputs(first, dry, "us"), "us")
    assert line == 'In both runs: inflow of the Wren 5 ft³/s, not 25 ft³/s. Changed: the plan "Fix"'
    assert line_of(found, None, [], "us") == "Changed: people of Larkmill 20,000, not 24,000"


def test_one_change_has_no_orders(first):
    """Where there is one change, it did all of it, and there are no orders to average over."""
    found = compare(first, first.changed({PEOPLE: 30000}))
    caption = pictures(found, "us")["season_used_share"].caption
    assert "; by people of Larkmill (+" in caption
    assert "averaged" not in caption


def test_stages_that_watch_other_waters_are_drawn_apart():
    """Where the stages of one run watch a reservoir and those of the other a river, each run has a
    picture with the level and the marks of its own water, which says so; else one has both."""
    before = hl.read_scenario("long_river").changed({"dry_season.method": "driest_year"})
    marks = {"watch": "90 cfs", "warning": "70 cfs", "emergency": "50 cfs"}
    keys = {"reservoir": None, "storage_below": None, "storage_above": None}
    river = {"river": "tessle", "at": "40 km"}
    after = before.changed(
        {
            f"stage.{name}.{key}": value
            for name, mark in marks.items()
            for key, value in {**keys, **river, "flow_below": mark}.items()
        }
    )
    drawn = pictures(compare(before, after), "us")
    assert "drought" not in drawn
    waters = {"without": "the Kelmere reservoir", "with": "the Tessle"}
    for name, water in waters.items():
        picture = drawn[f"drought_{name}"]
        assert picture.title.lower().startswith(f"drought: {water} and its stages".lower())
        assert "watch different waters" in picture.caption
        assert_labels_are_apart(picture)
        assert_text_can_be_read(picture)
    texts = " ".join(text.get_text() for text in drawn["drought_with"].sheet.texts)
    assert all(mark.split()[0] in texts for mark in marks.values())
    same = pictures(compare(before, before.changed({"stage.watch.yards": "50 %"})), "us")
    assert {name for name in same if name.startswith("drought")} == {"drought"}


def test_changes_that_did_as_much_are_named_together():
    """Nobody is short but in the drought and without its strict stages: none of them did more."""
    record = hl.read_scenario("long_river")
    unheeded = {"dry_season.method": "driest_year", "stage.*.storage_below": "0 %"}
    found = compare(record, record.changed(unheeded))
    parts = found.contributions["unmet_total"].sel(town="velderby").sum("purpose")
    most = parts.values >= parts.values.max() * (1.0 - 1e-9)
    assert most.sum() >= 2
    caption = pictures(found, "us")["unmet"].caption
    told = caption.split("Velderby")[1].split("Ottermarsh")[0]
    assert "each)" in told
    for change, is_most in zip(parts["change"].values, most, strict=True):
        assert (key_words(str(change), {}) in told) is bool(is_most)


def test_shortages_are_described_where_there_are_some(first):
    """How soon and how bad is told of a shortage, as measured; nothing is told where none is."""
    calm = lines_of(compare(first, first.changed({PEOPLE: 30000})), "metric")
    assert "Longest time with too little water [days]" not in calm
    before = hl.read_scenario("long_river")
    after = before.changed({"dry_season.method": "driest_year", "stage.*.storage_below": "0 %"})
    lines = lines_of(compare(before, after), "metric")
    place = lines.index("Longest time with too little water [days]")
    days = hl.measures(hl.simulate(after), after)["longest_failure"]
    told = [float(word) for word in lines[place + 3].split()[1:]]
    assert told == [float(days.sel(town=town)) for town in ("velderby", "ottermarsh")]


def test_tables_and_scripts_get_every_measure(first, grid):
    """Every measure of the season that is one number a town stands in the table of a grid."""
    (table,) = sweep_document(first, grid, [PEOPLE, INFLOW], "us").tables()
    columns = {column.known_as for column in table.columns}
    one_number = {
        name for name in SEASON if name in grid and not {"use", "purpose"} & set(grid[name].dims)
    } | {"unmet"}
    assert {told.name for told in EVERY} & columns == one_number
    assert one_number <= set(rows_of(table)[0])


def test_more_changes_than_rows_are_gathered(first):
    """Of eight changes five are drawn, and the three smallest together: the steps still add up."""
    other = first.changed(
        {
            PEOPLE: 30000,
            INFLOW: "15 cfs",
            "town.penhollow.people": 10000,
            **{
                f"town.{town}.{key}": value
                for town in ("larkmill", "penhollow")
                for key, value in (
                    ("mains.real_losses", "5 %"),
                    ("homes.use_per_person", "50 gal/person/day"),
                )
            },
            "town.larkmill.homes.toilets": "20 %",
        }
    )
    found = compare(first, other)
    picture = pictures(found, "us")[USED.name]
    assert found.contributions.sizes["change"] == 8
    assert "3 others together" in [text.get_text() for text in picture.sheet.texts]
    assert len([patch for patch in picture.sheet.patches if patch.get_gid() == "step"]) == 6


def test_a_comparison_without_a_difference_has_no_picture(first):
    """Two runs that differ in their title alone: nothing to draw."""
    assert pictures(compare(first, first.changed({PEOPLE: 24000})), "us") == {}


def test_changed_inputs_are_in_the_units_asked_for():
    """Quantities in either unit system, defaults with their value, words as they are."""
    before = one_town()
    after = before.changed({"town.larkmill.mains.real_losses": "8 %", INFLOW: "25 cfs"})
    rows = {
        system: {row[0]: row[1:] for row in changed_inputs(before, after, system)}
        for system in SYSTEMS
    }
    assert rows["us"][INFLOW][1] == "25 ft3/s"
    assert rows["metric"][INFLOW][1] == "0.708 m3/s"  # 25 x 0.3048^3
    losses = before.town["larkmill"].mains.real_losses
    assert rows["us"]["town.larkmill.mains.real_losses"] == [f"{100 * losses:g} % (default)", "8 %"]
    dry = changed_inputs(before, before.changed({"dry_season.rain_scale": "50 %"}), "us")
    assert dry == [["dry_season.rain_scale", "not set", "50 %"]]


def test_a_plan_is_told_with_its_points():
    """Title, whose, steps with reasons, who, points, and the sum of the points."""
    plan = read_plan_text(
        '[plan]\ntitle = "Less lost"\nby = "the Herons"\npoints = 50\n'
        '[[step]]\nwhat = "Mend the mains."\nwhy = "They leak"\npoints = 1\n'
        'who = "the water works"\nset = { a = 1 }\n'
        '[[step]]\nwhat = "Ask"\npoints = 2.5\nset = { a = 2 }\n'
    )
    assert as_text(Document("run", "Plan", [plan_section(plan)]), full=True)[2:] == [
        "Plan: Less lost, by the Herons",
        "  1. Mend the mains. Why: They leak. Who: the water works. 1 point.",
        "  2. Ask. 2.5 points.",
        "  It costs 3.5 of the 50 points that there are.",
    ]
