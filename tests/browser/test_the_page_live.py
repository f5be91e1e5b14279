"""The page from a server in a headless browser: the same page, run live."""

from __future__ import annotations

import re

import pytest
from browser_pages import browser, watched
from killing import Begun

import hydroloop as hl
from hydroloop.charts.words import percent
from hydroloop.outputs.page.dials import dials_of, setting_of, taken
from hydroloop.scenario.bundled import bundled_folder


@pytest.fixture(scope="module")
def address():
    with Begun("-m", "hydroloop", "serve", str(bundled_folder()), "--port", "0",
               "--processes", "1") as begun:
        line = begun.process.stdout.readline()
        yield re.search(r"http://\S+/", line)[0]


@pytest.fixture
def page(address):
    with browser() as made:
        opened = made.new_page()
        seen = watched(opened)
        opened.goto(address)
        opened.locator("a", has_text="Larkmill and Penhollow").click()
        opened.wait_for_selector("#glass-picture svg", timeout=60_000)
        yield opened
        assert not seen


def test_a_dial_is_run_live(page):
    """A scenario of the list opens; a dial and a gate show what the model gives for them."""
    page.locator("input[name=leaks][value='1']").check()
    page.locator("#gate").select_option("home-or-workplace")
    page.locator("#glass-words", has_text="workplace").wait_for(timeout=60_000)
    scenario = hl.read_scenario("first_town")
    dials = dials_of(scenario)
    changed = taken(scenario, dials, setting_of(dials, {"leaks": 1})).changed(
        {"season.count_as": "home-or-workplace"})
    table = hl.measures(hl.simulate(changed), changed)
    season = percent(float(table["season_used_share"].sel(town="penhollow")))
    assert f"season it was {season}" in page.locator("#meaning").inner_text()
    assert "Larkmill" in page.locator("#because").inner_text()


def test_any_plan_is_run_live(page, tmp_path):
    """A plan that no dial can make is run by the server, and a wrong one says what is wrong."""
    plan = ('[plan]\ntitle = "t"\n[[step]]\nwhat = "w"\n'
            'scale = { "town.larkmill.people" = 1.7 }\n')
    path = tmp_path / "plan.toml"
    path.write_text(plan)
    page.locator("#open-plan").set_input_files(path)
    page.locator("#ran", has_text="opened").wait_for(timeout=60_000)
    scenario = hl.read_scenario("first_town").scaled({"town.larkmill.people": 1.7})
    table = hl.measures(hl.simulate(scenario), scenario)
    season = percent(float(table["season_used_share"].sel(town="penhollow")))
    assert f"season it was {season}" in page.locator("#meaning").inner_text()


def test_a_wrong_plan_says_what_is_wrong(address, tmp_path):
    """The problems of a plan stand on the page as the command line has them."""
    path = tmp_path / "plan.toml"
    path.write_text('[plan]\ntitle = "t"\n[[step]]\nwhat = "w"\n'
                    'set = { "town.larkmill.peple" = 1 }\n')
    with browser() as made:
        page = made.new_page()
        page.goto(f"{address}scenarios/first_town")
        page.wait_for_selector("#glass-picture svg", timeout=60_000)
        page.locator("#open-plan").set_input_files(path)
        page.wait_for_selector("#trouble:not([hidden])", timeout=60_000)
        assert "people" in page.locator("#trouble").inner_text()
