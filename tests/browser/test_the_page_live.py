"""The page from a server in a headless browser: every control is used, by keys too, and each number
that is shown is that of Python for the same run."""

from __future__ import annotations

import csv
import re
from functools import cache

import pytest
from browser_pages import SIZES, all_words, breaches, browser, settle, watched, words_at
from killing import Begun

import hydroloop as hl
from hydroloop.charts.words import percent, two_figures
from hydroloop.gates import USES
from hydroloop.outputs.page.dials import dials_of, setting_of, taken
from hydroloop.scenario.bundled import bundled_folder
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.whatif import read_plan

SCENARIO = hl.read_scenario("first_town")
DIALS = dials_of(SCENARIO)
TOWN = "penhollow"
TITLE = "Larkmill and Penhollow"
MGAL = 1 / (1e6 * 231 * 0.0254**3)  # in a cubic metre: a gallon is 231 cubic inches


@cache
def ran(setting=(), gate="home"):
    """Scenario, record and measures of a setting: pairs of a dial's name and its position."""
    changed = taken(SCENARIO, DIALS, setting_of(DIALS, dict(setting)))
    changed = changed.changed({"season.count_as": gate})
    record = hl.simulate(changed)
    return changed, record, hl.measures(record, changed)


def season(setting=(), gate="home", town=TOWN):
    """Used share of a season's tap water, by the measures."""
    return float(ran(setting, gate)[2]["season_used_share"].sel(town=town))


@pytest.fixture(scope="module")
def address():
    with Begun(
        "-m", "hydroloop", "serve", str(bundled_folder()), "--port", "0", "--processes", "1"
    ) as begun:
        line = begun.process.stdout.readline()
        yield re.search(r"http://\S+/", line)[0]


@pytest.fixture(scope="module")
def chromium():
    with browser() as made:
        yield made


@pytest.fixture
def page(chromium, address):
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    opened = context.new_page()
    seen = watched(opened)
    opened.goto(address)
    opened.locator("a", has_text=TITLE).click()
    settle(opened)
    yield opened
    context.close()
    assert not seen


def shows(page, setting=(), gate="home", town=TOWN):
    """The page shows the season's used share and mean uses of a run."""
    table = ran(setting, gate)[2]
    told = words_at(page.locator("#meaning"))
    assert f"season it was {percent(season(setting, gate, town))};" in told
    uses = float(table["season_mean_uses"].sel(town=town))
    assert float(re.search(r"([\d.]+) times", told)[1]) == pytest.approx(uses, abs=0.0051)


def test_every_scenario_of_the_folder_is_opened(chromium, address):
    """The list has every title of the folder; a page opens by keys, and leads back to the list."""
    page = chromium.new_page()
    seen = watched(page)
    page.goto(address)
    titles = {hl.read_scenario(path.stem).title for path in bundled_folder().glob("*.toml")}
    assert set(all_words(page.locator("main a"))) == titles
    for title in (TITLE, "Five towns"):
        page.locator("main a", has_text=title).focus()
        page.keyboard.press("Enter")
        settle(page)
        assert words_at(page.locator("h1")).startswith(title)
        assert page.locator("#glass-picture svg").count() == 1
        page.locator("header a").focus()
        page.keyboard.press("Enter")
        page.locator("main a").first.wait_for()
    page.close()
    assert not seen


def test_every_dial_is_run_live_by_keys(page):
    """Each position of each dial, reached by keys alone, shows what the model gives for it; back at
    the scenario the page shows that."""
    shows(page)
    for dial in DIALS:
        page.locator(f"input[name={dial.name}]").first.focus()
        for at, position in enumerate(dial.positions):
            if not at:
                continue
            page.keyboard.press("ArrowRight")
            settle(page)
            assert f"{dial.label}: {position.label}" in words_at(page.locator("#ran"))
            shows(page, ((dial.name, at),))
        page.locator("#reset").press("Enter")
        settle(page)
        assert page.locator(f"input[name={dial.name}]").first.is_checked()
    shows(page)


def test_every_choice_is_shown(page):
    """By each gate, in each town and in both systems of units, the page has the numbers of the
    measures; the slider goes to the ends by keys and the button to the day of most use."""
    for gate in USES:
        page.locator("#gate").select_option(gate)
        settle(page)
        for town in SCENARIO.town:
            page.locator("#town").select_option(town)
            shows(page, gate=gate, town=town)
    page.locator("#gate").select_option("home")
    settle(page)
    _, record, table = ran()
    used = table["used_share"].sel(town=TOWN).values
    for key, day in (("Home", 0), ("End", len(used) - (1 + (len(used) - 1) % 2))):
        page.locator("#day").press(key)
        assert percent(float(used[day])) in words_at(page.locator("#glass-words"))
    page.locator("#most").press("Enter")
    assert percent(float(used[::2].max())) in words_at(page.locator("#glass-words"))
    day = 2 * int(page.locator("#day").input_value())
    mask = hl.record.flow_mask(record, kind="outfall", from_place=TOWN)
    rate = float(record["rate"].values[day, mask].sum())
    for system, unit, size in (("metric", "ML/day", 1e-3), ("us", "Mgal/day", MGAL)):
        page.locator("#units").select_option(system)
        told = re.search(
            rf"([\d.]+) {unit} from wastewater plant to the river",
            words_at(page.locator("#loop-words")),
        )
        assert float(told[1]) == pytest.approx(rate * size, rel=5e-3)
    for scheme in ("dark", "light", ""):
        page.locator("#theme").select_option(scheme)
        assert page.evaluate("document.documentElement.dataset.theme") == scheme


def test_every_table_has_the_numbers_of_the_run(page):
    """Behind the pictures stand the flows, shares and limits of the record, in a file as on the
    page."""
    page.locator("input[name=leaks][value='1']").check()
    settle(page)
    changed, record, table = ran((("leaks", 1),))
    day = 2 * int(page.locator("#day").input_value())
    found = {}
    for name in ("glass", "season", "loop", "map", "years"):
        page.locator(f"#{name} summary").press("Enter")
        page.locator(f"#{name} details button").wait_for()
        shown = [row.split("\t") for row in all_words(page.locator(f"#{name} tbody tr"))]
        with page.expect_download() as saved:
            page.locator(f"#{name} details button").press("Enter")
        assert saved.value.suggested_filename == f"{name}.csv"
        with open(saved.value.path(), newline="", encoding="utf-8") as text:
            found[name] = list(csv.reader(text))[1:]
        assert [[one.strip() for one in row] for row in shown] == found[name]
    share = float(table["used_share"].sel(town=TOWN).values[day])
    (layers,) = found["glass"]
    assert sum(map(float, layers[2:7])) == pytest.approx(share, abs=3e-4)
    assert len(found["season"]) == -(-record.sizes["time"] // 2)
    rate = record["rate"].values
    mask = hl.record.flow_mask(record, kind="leak", from_place=TOWN)
    (leak,) = [row for row in found["loop"] if row[:2] == ["mains", "the ground"]]
    assert float(leak[2]) == pytest.approx(rate[day, mask].sum(), rel=5e-3)
    assert float(leak[3]) == pytest.approx(rate[:, mask].sum(axis=1).mean(), rel=5e-3)
    stretch = str(
        record["store"].values[[str(one).startswith("wren/") for one in record["store"].values]][-1]
    )
    out = ((record["source"] == stretch) & (record["kind"] != "evaporation")).values
    assert float(found["map"][-1][1]) == pytest.approx(rate[day, out].sum(), rel=5e-3)
    study = capacity_study(changed, record, TOWN)
    assert float(found["years"][0][1]) == pytest.approx(float(study.demand[0]), rel=5e-3)
    assert float(found["years"][-1][1]) == pytest.approx(float(study.demand[-1]), rel=5e-3)
    whole = words_at(page.locator("#account tbody tr").last).split("\t")
    inside = record["source"].isin(record["store"]).values
    came = float(rate[:, ~inside].sum()) * MGAL  # steps of a day
    assert float(whole[1].replace(",", "")) == pytest.approx(came, rel=5e-3)
    assert abs(float(whole[-1])) < 1e-3


def test_two_settings_live(page):
    """Held and changed stand beside each other with the measures of both, and the parts of the
    difference add up to it."""
    page.locator("#hold").press("Enter")
    for name, at in (("dryness", 2), ("reuse", 1)):
        page.locator(f"input[name={name}][value='{at}']").check()
        settle(page)
    page.locator("#pair-why").filter(has_text="Reuse adds").wait_for(timeout=60_000)
    now = (("dryness", 2), ("reuse", 1))
    rows = {
        row.split("\t")[0]: row.split("\t")[1:]
        for row in all_words(page.locator("#pair-body tbody tr"))
    }
    before, after = season(), season(now)
    assert rows["Used before, whole season"][:2] == [percent(before), percent(after)]
    for at, setting in enumerate(((), now)):
        table = ran(setting)[2]
        assert rows["Mean earlier uses"][at] == two_figures(
            float(table["season_mean_uses"].sel(town=TOWN))
        )
        assert rows["Days on which all was delivered"][at] == percent(
            float(table["reliability"].sel(town=TOWN))
        )
    whole, *parts = (
        float(number) * (-1 if sign == "−" else 1)
        for sign, number in re.findall(
            r"([+−])([\d.]+) points", words_at(page.locator("#pair-why"))
        )
    )
    assert whole == pytest.approx(100 * (after - before), abs=0.02)
    assert sum(parts) == pytest.approx(whole, abs=0.011)
    assert len(parts) == 2


def test_a_setting_is_saved_live_and_opened_on_another_machine(page, chromium, address, tmp_path):
    """A saved plan is what the dials say, and sets them in another browser."""
    page.locator("input[name=people][value='2']").check()
    page.locator("#gate").select_option("home-or-workplace")
    settle(page)
    with page.expect_download() as saved:
        page.locator("#save-plan").press("Enter")
    path = tmp_path / "plan.toml"
    saved.value.save_as(path)
    changed = read_plan(path).taken(SCENARIO)
    same = ran((("people", 2),), "home-or-workplace")[0]
    assert changed.town == same.town
    assert changed.season == same.season
    context = chromium.new_context()
    other = context.new_page()
    other.goto(f"{address}scenarios/first_town")
    settle(other)
    other.locator("#open-plan").set_input_files(path)
    other.locator("#ran", has_text="50 % more").wait_for(timeout=60_000)
    settle(other)
    assert other.locator("input[name=people][value='2']").is_checked()
    shows(other, (("people", 2),), "home-or-workplace")
    context.close()


def test_any_plan_is_run_live(page, tmp_path):
    """A plan that no dial can make is run by the server; a wrong one says what is wrong, where it
    is seen, as the command line does."""
    plan = '[plan]\ntitle = "t"\n[[step]]\nwhat = "w"\nscale = { "town.larkmill.people" = 1.7 }\n'
    path = tmp_path / "plan.toml"
    path.write_text(plan)
    page.locator("#open-plan").set_input_files(path)
    page.locator("#ran", has_text="opened").wait_for(timeout=60_000)
    scenario = SCENARIO.scaled({"town.larkmill.people": 1.7})
    table = hl.measures(hl.simulate(scenario), scenario)
    share = percent(float(table["season_used_share"].sel(town=TOWN)))
    assert f"season it was {share}" in words_at(page.locator("#meaning"))


def test_a_wrong_plan_says_what_is_wrong(chromium, address, tmp_path):
    """The problems of a plan stand on the page as the command line has them, in sight wherever one
    has scrolled to."""
    path = tmp_path / "plan.toml"
    path.write_text(
        '[plan]\ntitle = "t"\n[[step]]\nwhat = "w"\nset = { "town.larkmill.peple" = 1 }\n'
    )
    page = chromium.new_page()
    page.goto(f"{address}scenarios/first_town")
    settle(page)
    page.locator("#open-plan").set_input_files(path)
    page.wait_for_selector("#trouble:not([hidden])", timeout=60_000)
    assert "people" in words_at(page.locator("#trouble"))
    page.locator("#sources").scroll_into_view_if_needed()
    box = page.locator("#trouble").bounding_box()
    assert 0 <= box["y"] <= page.viewport_size["height"] - box["height"] + 1
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everybody_can_use_it_live(page, address, scheme):
    """No rule of accessible pages is broken in the list and on a page after a change of dials, in
    any size."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    page.locator("#hold").click()
    page.locator("input[name=reuse][value='1']").check()
    page.wait_for_selector("#pair-why h3", timeout=60_000)
    page.locator("[data-walk='0']").click()
    page.locator("#loop summary").click()
    for wide, high in SIZES.values():
        page.set_viewport_size({"width": wide, "height": high})
        assert breaches(axe, page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= wide
    page.goto(address)
    assert breaches(axe, page) == []
