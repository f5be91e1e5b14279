"""Places with names of their own: every command and every picture says the name, not the key."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from cli.commands import call, give_pages_two_dials

import hydroloop as hl
from hydroloop.placenames import call_as_told, place_words, reservoir_words, river_words

MARY, BOLD = "St. Mary's on Sea", "<b>Bold</b> & $on$"
LONG = "Llanfair-upon-the-Long-River-beside-the-Old-Mill-by-the-Ford"
FILE = f'''
title = "A valley of odd names"
[season]
start = 2031-05-01
end = 2031-06-20
run_up = "0 day"
[weather]
seed = 7
[river.odd_eae]
name = "The Eä"
length = "60 km"
inflow = "14 cfs to 18 cfs"
used_before = "2 %"
[reservoir.odd_lake]
name = "Queen's Lake"
river = "odd_eae"
at = "5 km"
capacity = "1500 acre-ft"
area = "0.5 km2"
[stage.odd_stage]
river = "odd_eae"
at = "30 km"
flow_below = "25 cfs"
yards = "50 %"
[town.odd_mary]
name = "{MARY}"
people = 24_000
intake = {{ reservoir = "odd_lake" }}
outfall = {{ river = "odd_eae", at = "16 km" }}
[town.odd_bold]
name = "{BOLD}"
people = 12_000
intake = {{ river = "odd_eae", at = "25 km" }}
outfall = {{ river = "odd_eae", at = "29 km" }}
reuse.plant = "0.2 Mgal/day"
[town.odd_long]
name = "{LONG}"
people = 9_000
intake = {{ river = "odd_eae", at = "36 km" }}
outfall = {{ river = "odd_eae", at = "40 km" }}
'''
COMMANDS = [
    ("run", "odd.toml", "--full", "--pictures", "all"),
    ("glass", "odd.toml", "odd_long"), ("drops", "odd.toml"), ("drops", "odd.toml", "--forward"),
    ("compare", "odd.toml", "--set", "town.odd_mary.people=40000", "--scale",
     "river.odd_eae.inflow=0.4", "--full"),
    ("spread", "odd.toml", "--members", "4", "--full"),
    ("sweep", "odd.toml", "--over", "town.odd_mary.people=20000,40000", "--full"),
    ("capacity", "odd.toml", "odd_bold", "--full"), ("report", "odd.toml"), ("lesson", "odd.toml"),
    ("week", "odd.toml", "odd_mary"), ("round", "odd.toml", "odd_mary"),
]
# Keys have their place where something is typed or read by a program: dotted keys, commands, file
# names, names of pictures and of stores.
_KEY = re.compile(r"[\w.*:/-]*\bodd_(?:mary|bold|long|eae|lake|stage)\b[^\s,;<]*")
_TYPED = re.compile(r"(town|river|reservoir|stage)\.|.*[-/]|.*_(glass|loop|season|parcel)\b")


@pytest.fixture(autouse=True)
def _odd(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("odd.toml").write_text(FILE, encoding="utf-8")
    yield
    hl.read_scenario("first_town")


def _texts(folder: Path):
    for path in sorted(folder.rglob("*")):
        if path.name in ("answer.html", "captions.txt", "answer.txt") or path.suffix in (
                ".html", ".svg"):
            yield path, path.read_text(encoding="utf-8")


def _words(text: str) -> str:
    """Words of a page or a picture, without its marks and what only programs read."""
    if "<" not in text:
        return text
    # The list of inputs has what stands in the file.
    text = re.sub(r"<h2[^>]*>The inputs</h2>.*?(?=<h2|\Z)", " ", text, flags=re.DOTALL)
    text = re.sub(r"<(style|script|code|pre)\b.*?</\1>", " ", text, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


def assert_names(text: str, where: str):
    """No key of a place stands where a name belongs, nor words made of a key."""
    lines = [line for line in text.splitlines() if "hydroloop " not in line]
    keys = [word for line in lines for word in _KEY.findall(line) if not _TYPED.match(word)]
    assert not keys, (where, keys[:5])
    found = re.findall(r"Odd (?:Mary|Bold|Long|Eae|Lake)|[Tt]he The ", text)
    assert not found, (where, found[:5])


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: "-".join(words[:1] + words[2:3]))
def test_names_stand_in_every_output(words):
    """On the screen, in pages, captions and pictures; markup in a name stays words."""
    done = call(*words, "--out", "made")
    assert done.exit_code == 0, done.output
    printed = "\n".join(line for line in done.stdout.splitlines() if "_" not in line[:14]
                        or "." not in line)
    assert_names(printed, "screen")
    told = done.stdout
    for path, text in _texts(Path("made")):
        if path.parent.name == "inputs":
            continue
        assert "<b>Bold" not in text or path.suffix == ".txt", path
        assert_names(_words(text), str(path))
        told += _words(text)
    assert MARY in told or BOLD in told or LONG in told


def test_the_page_says_names(monkeypatch):
    """Labels of the page are names; markup cannot leave them."""
    give_pages_two_dials(monkeypatch)
    done = call("page", "odd.toml", "--out", "page.html")
    assert done.exit_code == 0, done.output
    text = Path("page.html").read_text(encoding="utf-8")
    assert MARY in html.unescape(text)
    assert "<b>Bold" not in text
    assert "Odd Mary" not in text
    assert "in odd_" not in text


def test_a_record_keeps_the_names():
    """A record file tells the names again, in words and in pictures."""
    hl.write_record(hl.simulate(hl.read_scenario("odd.toml")), "odd.nc")
    hl.read_scenario("first_town").changed({})
    call_as_told(json.dumps({"odd_mary": "Elsewhere"}))
    done = call("glass", "odd.nc", "odd_mary", "--out", "glass.svg")
    assert done.exit_code == 0, done.output
    assert f"A glass of tap water in {MARY}" in done.stdout
    assert MARY in Path("glass.svg").read_text(encoding="utf-8")


def test_the_drought_picture_shows_the_river_that_is_watched():
    """Its lowest flow is that of the record where the stage watches it, and not nothing."""
    record = hl.simulate(hl.read_scenario("odd.toml"))
    call("run", "odd.toml", "--pictures", "all", "--out", "made")
    caption = Path("made/pictures/captions.txt").read_text(encoding="utf-8")
    lowest = float(re.search(r"The Eä was lowest on .*?, at ([\d.]+) ft", caption)[1])
    flows = record["flow"].values[(record["source"].values == "odd_eae/reach_7")
                                  & (record["kind"].values == "river")]
    labels = dict(zip(record["store"].values.tolist(), record["label"].values.tolist(),
                      strict=True))
    (ends,) = [store for store, label in labels.items() if label == "the Eä, km 29 to 30"]
    flows = record["flow"].values[record["source"].values == ends]
    rate = record["rate"].sel(flow=flows).where(
        record["kind"].sel(flow=flows) != "evaporation", 0.0).sum("flow")
    assert lowest == pytest.approx(float(rate.min()) / 2446.5755, rel=0.01)  # m3/d in one ft3/s


def test_a_name_is_one_line():
    """What is no name is refused, with what may be written."""
    done = call("check", "odd.toml", "--set", "town.odd_mary.name=" + 61 * "x")
    assert done.exit_code == 2
    assert "Write one line of at most 60 letters" in done.stderr


def test_new_keeps_the_name_that_was_given(tmp_path):
    """A key is made of it, and the file says the name as it was written."""
    done = call("new", "--town", MARY, "--river", "The Eä", "new.toml")
    assert done.exit_code == 0, done.output
    scenario = hl.read_scenario("new.toml")
    assert scenario.town["st_marys_on_sea"].name == MARY
    assert scenario.title == f"{MARY} on the Eä"
    assert MARY in call("glass", "new.toml", "--no-pictures").stdout


def test_words_for_places():
    """Keys in words, names as given, an article where there is none."""
    call_as_told('{"eae": "The Eä", "mere": "Lake", "x": 3, "y": ""}')
    assert [river_words("eae"), river_words("green_river")] == ["the Eä", "the Green River"]
    assert reservoir_words("heronwater") == "the Heronwater reservoir"
    assert [place_words(key) for key in ("x", "y", "mill_valley")] == ["X", "Y", "Mill Valley"]
    call_as_told("no table")
    call_as_told("[1]")
    assert place_words("eae") == "The Eä"
