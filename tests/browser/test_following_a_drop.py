"""A drop that is followed on the page: step by step, by the day, and when it has gone."""

from __future__ import annotations

import pytest
from browser_pages import all_words, browser, settle, watched, words_at

import hydroloop as hl
from hydroloop.charts.words import date_words, use_words
from hydroloop.outputs.page.every_setting import opened_frame, packed
from hydroloop.outputs.page.html import page_html
from hydroloop.outputs.page.numbers import in_steps
from hydroloop.outputs.page.payload import run_values
from hydroloop.outputs.run.diary import diaries


@pytest.fixture(scope="module")
def scenario():
    return hl.read_scenario("first_town").changed({"season.count_as": "toilet"})


@pytest.fixture
def page(scenario, tmp_path):
    path, record = tmp_path / "page.html", hl.simulate(scenario)
    path.write_text(
        page_html(
            {**opened_frame(scenario, record, []), "runs": {"count": 1, "every": 1}},
            runs=[packed(in_steps(run_values(scenario, record=record)))],
        ),
        encoding="utf-8",
    )
    with browser() as made:
        opened = made.new_page()
        seen = watched(opened)
        opened.goto(path.as_uri())
        settle(opened)
        yield opened
        assert not seen


def test_a_drop_goes_step_by_step_and_by_the_day(page, scenario):
    """The steps are those that the model draws, its button counts uses by what counts as one; keys
    step it along and the day goes with it; when it has gone, the page says where and when, and
    leads back."""
    record = hl.simulate(scenario)
    told = diaries(
        record, hl.drops(record, n=12, at="penhollow/rapid_mix", on="2031-04-01", seed=1)
    )
    page.locator("[data-walk='0']").press("Enter")
    lines = [line.split(": ", 1) for line in all_words(page.locator("#walk-lines li"))]
    same = [one for one in told if [line.text for line in one.lines] == [text for _, text in lines]]
    assert same
    assert [when for when, _ in lines] == [date_words(line.first) for line in same[0].lines]
    uses = words_at(page.locator("[data-walk='0']")).split("in a toilet")[-1].strip()
    assert uses == ("" if not same[0].uses else use_words(same[0].uses, 5))
    spots, step = [], page.locator("[data-step=next]")
    for at, (when, text) in enumerate(lines):
        assert f"Step {at + 1} of {len(lines)}, {when}: the drop {text}." in words_at(
            page.locator("#walk-words")
        )
        assert words_at(page.locator("#day-words")) == when
        assert page.locator("#walk-lines [aria-current=step]").count() == 1
        spots.append(
            page.locator("#map-picture circle.spot").evaluate(
                "one => one.getAttribute('cx') + ' ' + one.getAttribute('cy')"
            )
        )
        if at < len(lines) - 1:
            step.press("Enter")
    assert step.is_disabled()
    assert len(set(spots)) >= 3
    page.locator("#day").press("End")
    gone = words_at(page.locator("#walk-words"))
    assert f"this drop is gone: on {lines[-1][0]} it {lines[-1][1]}" in gone
    page.locator("[data-step=first]").press("Enter")
    assert words_at(page.locator("#day-words")) == lines[0][0]
    assert page.evaluate("document.getElementById('walk').contains(document.activeElement)")
    page.locator("[data-walk='-1']").press("Enter")
    assert page.locator("#map-picture circle.spot").count() == 0
    assert page.locator("#walk-lines li").count() == 0
