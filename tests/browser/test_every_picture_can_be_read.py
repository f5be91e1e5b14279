"""The pictures of the page at every width, for every bundled scenario: words that can be read."""

from __future__ import annotations

import gzip

import pytest
from browser_pages import browser, watched

import hydroloop as hl
from hydroloop.outputs.page.dials import dials_of
from hydroloop.outputs.page.every_setting import opened_frame, packed
from hydroloop.outputs.page.html import page_html
from hydroloop.outputs.page.numbers import in_steps
from hydroloop.outputs.page.payload import run_values
from hydroloop.scenario.bundled import bundled_folder

WIDTHS = {"desktop": 1280, "tablet": 768, "phone": 360, "paper": 718}
SCENARIOS = sorted(path.stem for path in bundled_folder().glob("*.toml"))

# Words of one picture that lie on each other, words that are cut off, and words under 12 pixels.
TROUBLE = """() => {
  const told = [];
  for (const svg of document.querySelectorAll('svg')) {
    const frame = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll('text')].map((e) => [e, e.getBoundingClientRect()]);
    texts.forEach(([one, a], k) => {
      const scale = frame.width / svg.viewBox.baseVal.width;
      const size = parseFloat(getComputedStyle(one).fontSize) * scale;
      if (size < 11.99) told.push(`small ${size}: ${one.textContent}`);
      if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1
          || a.bottom > frame.bottom + 1) told.push(`cut: ${one.textContent}`);
      for (const [other, b] of texts.slice(k + 1)) {
        const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (wide > 1 && high > 4) told.push(`${one.textContent} | ${other.textContent}`);
      }
    });
  }
  const body = document.documentElement;
  if (body.scrollWidth > body.clientWidth) told.push(`wider than the window: ${body.scrollWidth}`);
  return told;
}"""

# Arrow heads of the loop that are cut off, smaller than four pixels or hidden under a part, the
# ground or the river; and bands that have none.
HEADS = """() => {
  const told = [], svg = document.querySelector('#loop-picture svg');
  const frame = svg.getBoundingClientRect();
  const boxes = [...svg.querySelectorAll('rect')].map((e) => e.getBoundingClientRect());
  const heads = [...svg.querySelectorAll('.head')];
  const bands = svg.querySelectorAll('path').length - heads.length;
  if (!heads.length || bands !== 2 * heads.length) told.push(`${heads.length} of ${bands} bands`);
  for (const head of heads) {
    const h = head.getBoundingClientRect(), d = head.getAttribute('d');
    if (Math.min(h.width, h.height) < 4) told.push(`small: ${d}`);
    if (h.left < frame.left || h.right > frame.right || h.top < frame.top
        || h.bottom > frame.bottom) told.push(`cut: ${d}`);
    for (const b of boxes) {
      const wide = Math.min(h.right, b.right) - Math.max(h.left, b.left);
      const high = Math.min(h.bottom, b.bottom) - Math.max(h.top, b.top);
      if (wide > 1.5 && high > 1.5) told.push(`under a part: ${d}`);
    }
  }
  return told;
}"""


@pytest.fixture(scope="module")
def chromium():
    with browser() as made:
        yield made


@pytest.mark.parametrize("name", SCENARIOS)
def test_words_neither_overlap_nor_shrink_nor_run_out(chromium, tmp_path, name):
    """In every town, by every gate, at every width and on paper, words of pictures lie apart, have
    12 pixels or more and are whole; nothing is wider than the window. Every band of the loop ends
    in a whole arrow head in front of what it flows to."""
    scenario = hl.read_scenario(name)
    record = hl.simulate(scenario)
    dials = [dial for dial in dials_of(scenario) if dial.name == "reuse"]
    around = opened_frame(scenario, record, dials)
    run = packed(in_steps(run_values(scenario, every=14, record=record)))
    count = len(dials[0].positions) if dials else 1
    path = tmp_path / "page.html"
    path.write_text(
        page_html({**around, "runs": {"count": count, "every": 14}}, runs=[run] * count),
        encoding="utf-8",
    )
    assert len(gzip.decompress(run)) > 1000
    page = chromium.new_page(viewport={"width": 1366, "height": 800})
    seen = watched(page)
    page.goto(path.as_uri())
    page.wait_for_selector("#glass-picture svg")
    page.locator("#hold").click()
    page.wait_for_selector("#pair-body svg")
    found = []
    for size, wide in WIDTHS.items():
        page.set_viewport_size({"width": wide, "height": 800})
        page.emulate_media(media="print" if size == "paper" else "screen")
        for town in scenario.town:
            _choose(page, "town", town)
            for gate in ("home", "wastewater-plant"):
                _choose(page, "gate", gate)
                page.wait_for_timeout(30)
                told = page.evaluate(TROUBLE) + page.evaluate(HEADS)
                found += [(size, town, gate, one) for one in told]
    page.close()
    assert not seen
    assert not found, sorted(set(found), key=str)


def _choose(page, name, value):
    """Choose by what a choice does, also where paper hides it."""
    page.evaluate(
        """([name, value]) => { const e = document.getElementById(name); e.value = value;
        e.dispatchEvent(new Event('change')); }""",
        [name, value],
    )
