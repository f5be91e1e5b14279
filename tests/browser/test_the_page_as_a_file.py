"""The page as a file in a headless browser: every control, the numbers, plans, access, sizes."""

from __future__ import annotations

import re
import tomllib

import numpy as np
import pytest
import textstat
from browser_pages import SIZES, all_words, breaches, browser, settle, watched, words_at

import hydroloop as hl
from hydroloop.charts.words import percent, time_words, two_figures
from hydroloop.outputs.page.dials import dials_of, taken
from hydroloop.outputs.page.every_setting import written_page
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.whatif import compare, read_plan


@pytest.fixture(scope="module")
def scenario():
    return hl.read_scenario("first_town").changed(
        {"title": "Two <b>towns</b> & a river: https://x.example"}
    )


@pytest.fixture(scope="module")
def file(scenario, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "page.html"
    dials = [one for one in dials_of(scenario) if one.name in ("dryness", "reuse")]
    path.write_text(written_page(scenario, dials=dials), encoding="utf-8")
    return path.as_uri()


@pytest.fixture(scope="module")
def chromium():
    with browser() as made:
        yield made


@pytest.fixture
def page(chromium, file):
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    made = context.new_page()
    seen = watched(made)
    made.goto(file)
    made.wait_for_selector("#glass-picture svg")
    yield made
    context.close()
    assert not seen


def test_the_glass_says_what_the_measures_say(page, scenario):
    """The first answer on the page is the used share of hl.measures for its town and day."""
    table = hl.measures(hl.simulate(scenario), scenario)
    used = table["used_share"].sel(town="penhollow")
    best = used.isel(time=int(used.values.argmax()))
    said = words_at(page.locator("#glass-words"))
    assert percent(float(best)) in said
    assert f"{best.time.dt.day.item()} {best.time.dt.strftime('%B').item()}" in said
    season = percent(float(table["season_used_share"].sel(town="penhollow")))
    assert f"season it was {season}" in words_at(page.locator("#meaning"))


def test_the_slider_moves_every_picture(page, scenario):
    """Another day is another glass, loop and map; the numbers are those of that day."""
    record = hl.simulate(scenario)
    table = hl.measures(record, scenario)
    page.locator("#day").focus()
    page.keyboard.press("Home")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    day = str(table["time"].values[3])[:10]
    share = table["used_share"].sel(town="penhollow").isel(time=3)
    assert percent(float(share)) in words_at(page.locator("#glass-words"))
    for name in ("loop", "map"):
        assert "4 April 2031" in words_at(page.locator(f"#{name}-words"))
    page.locator("#loop summary").click()
    page.locator("#loop table tbody tr").first.wait_for()
    rows = all_words(page.locator("#loop table tbody tr"))
    into = next(row.split("\t") for row in rows if row.startswith("tanks\tmains"))
    mask = hl.record.flow_mask(record, kind="supply", to_role="mains", to_place="penhollow")
    assert day == words_at(page.locator("#loop thead th").nth(2))
    assert float(into[2]) == pytest.approx(float(record["rate"].values[3, mask].sum()), rel=5e-3)


def test_the_because_follows_what_counts_as_a_use(page, scenario):
    """By every gate the file tells who used the water last, and its parts add up to the glass."""
    record = hl.simulate(scenario)
    for gate, words in (
        ("home", "used in"),
        ("toilet", "flushed in"),
        ("wastewater-plant", "treated in"),
    ):
        page.locator("#gate").select_option(gate)
        settle(page)
        first, way, _ = all_words(page.locator("#because li"))
        assert first.startswith(f"It was last {words}: Larkmill")
        day = page.locator("#day").input_value()
        found = hl.because(record, at="penhollow/mains", by="town", gate=gate)
        share = float(found["share"].isel(on=int(day)).sel(used_in="larkmill"))
        assert f"Larkmill {percent(share)}" in first
        assert way.startswith("It came: by the river ")


def test_times_are_drawn_on_the_loop_and_the_map(page, scenario):
    """How long water stays in parts, in stretches and in a town is written in the pictures."""
    table = hl.measures(hl.simulate(scenario), scenario)
    own = float(table["intake_to_outfall_time"].sel(town="penhollow").isel(part=1))
    far = float(table["outfall_to_tap_time"].sel(town="larkmill", town_to="penhollow").isel(part=1))
    page.locator("#town").select_option("larkmill")
    settle(page)
    stays = {
        name: float(table["turnover_time"].sel(store=f"larkmill/{name}"))
        for name in ("mains", "tanks")
    }
    drawn = all_words(page.locator("#loop-picture text"))
    assert any(one.startswith(f"Intake to outfall: about {time_words(own)} (") for one in drawn)
    for one in stays.values():
        assert time_words(one) in drawn
    drawn = all_words(page.locator("#map-picture text"))
    assert f"in town {time_words(own)}" in drawn
    assert f"reached in {time_words(far)}" in drawn
    assert any(one.endswith("from head to end") for one in drawn)
    assert len([one for one in drawn if re.fullmatch(r"[\d.]+ (h|d|min)", one)]) >= 4


def test_season_map_years_and_account_say_what_the_measures_say(page, scenario):
    """Shares of the season, flow and use of the river, limits of plants and the account's gap are
    those of Python for the same run."""
    record = hl.simulate(scenario)
    table = hl.measures(record, scenario)
    season = table["season_used_share"].sel(town="penhollow")
    assert f"over the season {percent(float(season))}" in words_at(page.locator("#season-words"))
    page.locator("#units").select_option("metric")
    settle(page)
    day = int(page.locator("#day").input_value())
    for name in ("map", "years"):
        page.locator(f"#{name} summary").click()
    rows = [row.split("\t") for row in all_words(page.locator("#map table tbody tr"))]
    stem = [str(one) for one in record["store"].values if str(one).startswith("wren/")]
    mask = (record["source"].isin(stem[-1:]) & (record["kind"] != "evaporation")).values
    assert float(rows[-1][1]) == pytest.approx(
        float(record["rate"].values[day, mask].sum()), rel=5e-3
    )
    study = capacity_study(scenario, record, "penhollow")
    told = words_at(page.locator("#years table tbody tr").first).split("\t")
    least = min(study.reached, key=lambda one: one.flow)
    assert float(told[1]) == pytest.approx(float(study.demand[0]), rel=5e-3)
    assert float(told[4]) == pytest.approx(least.flow, rel=5e-3)
    said = words_at(page.locator("#years-words"))
    last = study.first_year + len(study.demand) - 1
    for whose, gains in (
        ("the water supply", study.bought),
        ("the wastewater plant", study.sewage_bought),
    ):
        words, years = gains[0]
        far = f"(limit not reached by {last})"
        told_years = two_figures(round(years, 1)) if np.isfinite(years) else far
        line = f"Years that each remedy buys {whose}: {words} {told_years}"
        assert (line in said) == (f"buys {whose}" in said) == (years >= 0.05)
    whole = words_at(page.locator("#account tbody tr").last).split("\t")
    assert whole[0] == "Whole map"
    assert abs(float(whole[-1])) < 1e-3
    assert float(table["gap_relative"]) < 1e-9
    account = words_at(page.locator("#account-words"))
    assert "less than a billionth" in account
    # As printed: what came in less what went out is what the stores gained.
    told = re.search(r"season\D+([\d.,]+).* came in and\s([\d.,]+).* stored\D+([\d.,]+)", account)
    came, went, change = (float(one.replace(",", "")) for one in told.groups())
    assert abs(came - went) == pytest.approx(change, abs=1e-9)


def test_a_dial_shows_its_own_run(page, scenario):
    """Turned to reuse, the page shows the run of the model with reuse."""
    page.locator("input[name=reuse][value='1']").check()
    settle(page)
    dials = [one for one in dials_of(scenario) if one.name in ("dryness", "reuse")]
    changed = taken(scenario, dials, (0, 1))
    table = hl.measures(hl.simulate(changed), changed)
    season = percent(float(table["season_used_share"].sel(town="penhollow")))
    assert f"season it was {season}" in words_at(page.locator("#meaning"))
    assert "Reuse: to the plant" in words_at(page.locator("#ran"))


def test_two_settings_and_why(page, scenario):
    """The parts of the difference are those of hl.compare for the same changes."""
    page.locator("#hold").click()
    page.locator("input[name=reuse][value='1']").check()
    page.locator("input[name=dryness][value='2']").check()
    for name in ("Rain", "Reuse"):  # of both changes, not of the first alone
        page.locator("#pair-why").filter(has_text=f"{name} adds").wait_for()
    said = words_at(page.locator("#pair-why"))
    dials = [one for one in dials_of(scenario) if one.name in ("dryness", "reuse")]
    steps = "".join(dial.positions[at].steps for dial, at in zip(dials, (2, 1), strict=True))
    plan = hl.whatif.plan.read_plan_text(f'[plan]\ntitle = "t"\n{steps}')
    found = compare(scenario, plan).contributions["season_used_share"].sel(town="penhollow")
    reuse = float(found[[str(one).startswith("Reuse") for one in found.change.values]].sum())
    told = {
        name: float(number) * (-1 if sign == "−" else 1)
        for name, sign, number in re.findall(r"(Rain|Reuse) adds ([+−])([\d.]+)", said)
    }
    # The towns' reuse steps turn together on the page and one by one in the plan.
    assert told["Reuse"] == pytest.approx(100 * reuse, abs=0.2)
    assert told["Rain"] == pytest.approx(100 * float(found[0]), abs=0.2)


def test_a_setting_is_saved_and_opened_again(page, scenario, tmp_path):
    """The plan that is saved runs with run --plan, and sets the dials when it is opened."""
    page.locator("input[name=dryness][value='1']").check()
    page.locator("#gate").select_option("toilet")
    settle(page)
    with page.expect_download() as saved:
        page.locator("#save-plan").click()
    path = tmp_path / "plan.toml"
    saved.value.save_as(path)
    changed = read_plan(path).taken(scenario)
    assert changed.season.count_as == "toilet"
    assert changed.dry_season.rain_scale == 0.8
    page.locator("#reset").click()
    settle(page)
    assert page.locator("input[name=dryness][value='0']").is_checked()
    page.locator("#open-plan").set_input_files(path)
    settle(page)
    assert page.locator("input[name=dryness][value='1']").is_checked()
    assert page.locator("#gate").input_value() == "toilet"
    path.write_text('[plan]\ntitle = "other"\n[[step]]\nwhat = "x"\nset = { "season.step" = 1 }\n')
    assert tomllib.loads(path.read_text())
    page.locator("#open-plan").set_input_files(path)
    page.wait_for_selector("#trouble:not([hidden])")
    assert "--plan" in words_at(page.locator("#trouble"))


def test_every_control_can_be_used(page):
    """Every choice, button and fold is used, in both unit systems; nothing breaks."""
    for name in ("town", "gate", "units", "theme"):
        for value in page.locator(f"#{name} option").evaluate_all("all => all.map(o => o.value)"):
            page.locator(f"#{name}").select_option(value)
            settle(page)
            assert page.locator("#trouble").is_hidden()
    for radio in page.locator("#dials input").all():
        radio.check()
        settle(page)
    for summary in page.locator("details.data summary").all():
        summary.click()
    for number in range(page.locator("details.data[open] button").count()):
        with page.expect_download() as saved:
            page.locator("details.data[open] button").nth(number).click()
        assert saved.value.suggested_filename.endswith(".csv")
    page.locator("#most").click()
    page.locator("#hold").click()
    page.locator("#reset").click()
    settle(page)
    assert page.locator("#pair-body table").count() == 1
    assert "Mgal" not in words_at(page.locator("#loop-words"))


def test_names_are_shown_as_they_are_written(page):
    """Marks of a markup language in the title stand there as letters, and an address as words."""
    assert words_at(page.locator("h1")) == "Two <b>towns</b> & a river: https://x.example"
    assert page.locator("h1 b").count() == 0
    leads = page.locator("a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
    assert leads
    assert all(one.startswith("#") for one in leads)


@pytest.mark.parametrize(
    ("size", "scheme"),
    [("desktop", "light"), ("desktop", "dark"), ("tablet", "light"), ("phone", "dark")],
)
def test_everybody_can_use_it(chromium, file, size, scheme):
    """No rule of accessible pages is broken, and nothing runs over the side, in any size."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    wide, high = SIZES[size]
    context = chromium.new_context(
        viewport={"width": wide, "height": high}, color_scheme=scheme, reduced_motion="reduce"
    )
    page = context.new_page()
    page.goto(file)
    page.wait_for_selector("#glass-picture svg")
    page.locator("#hold").click()
    page.locator("input[name=reuse][value='1']").check()
    page.wait_for_selector("#pair-why h3")
    for summary in page.locator("details.data summary").all():
        summary.click()
    page.locator("[data-walk='0']").click()
    assert breaches(axe, page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= wide
    small = page.evaluate("""[...document.querySelectorAll('button,select,summary,fieldset label')]
        .filter(e => e.offsetParent && e.getBoundingClientRect().height < 24).length""")
    assert small == 0
    context.close()


def test_eight_years_of_school_are_enough(page):
    """Flesch-Kincaid grade of all that the page says in sentences: eight or less."""
    said = all_words(page.locator("main p:visible, main li:visible"))
    text = "\n".join(one for one in said if one.rstrip().endswith("."))
    assert len(text.split()) > 200
    assert textstat.flesch_kincaid_grade(text) <= 8.0, text


def test_units_change_everywhere(page):
    """With US units no kilometre is left on the page, with metric ones no mile or gallon."""
    for system, strange in (("us", r"\bkm\b|m³"), ("metric", r"\bmile|gal\b|ft³")):
        page.locator("#units").select_option(system)
        settle(page)
        page.locator("[data-walk='0']").click()
        said = all_words(page.locator("#loop, #map, #season, #years, #account"))
        drawn = all_words(page.locator("svg text, svg title"))
        assert not re.findall(strange, " ".join([*said, *drawn]))


def test_it_prints(chromium, file):
    """On paper the controls go, pictures and words stay, in a few sheets."""
    page = chromium.new_page()
    page.goto(file)
    page.wait_for_selector("#glass-picture svg")
    page.emulate_media(media="print")
    assert page.locator("#bar").is_hidden()
    assert page.locator("#dials").is_hidden()
    assert page.locator("#loop-picture svg").is_visible()
    assert page.pdf().count(b"/Type /Page\n") <= 5
    page.close()
