"""Places with names of their own: every command and every picture says the name, not the key."""

from __future__ import annotations

import html
import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import xarray as xr
from cli.commands import call, give_pages_two_dials

import hydroloop as hl
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run.document import run_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.whatif.bands import spread_document
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.outputs.whatif.compare_pictures import glass_of_both
from hydroloop.outputs.whatif.comparison import Against, comparison
from hydroloop.outputs.whatif.season_measures import USED
from hydroloop.outputs.whatif.spread_pictures import bands_picture
from hydroloop.outputs.whatif.sweep import sweep_document
from hydroloop.outputs.whatif.sweep_pictures import grid_picture
from hydroloop.placenames import names_of, place_words, reservoir_words, river_words

MARY, BOLD, OTHER = "St. Mary's", "<b>Bold</b> & $on$", "Saint Elsewhere"
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
    ("glass", "odd.toml", "odd_long"),
    ("drops", "odd.toml"),
    ("drops", "odd.toml", "--forward"),
    (
        "compare",
        "odd.toml",
        "--set",
        "town.odd_mary.people=40000",
        "--scale",
        "river.odd_eae.inflow=0.4",
        "--full",
    ),
    ("spread", "odd.toml", "--members", "4", "--full"),
    ("sweep", "odd.toml", "--over", "town.odd_mary.people=20000,40000", "--full"),
    ("capacity", "odd.toml", "odd_bold", "--full"),
    ("report", "odd.toml"),
    ("lesson", "odd.toml"),
    ("week", "odd.toml", "odd_mary"),
    ("round", "odd.toml", "odd_mary"),
]
# Keys have their place where something is typed or read by a program: dotted keys, commands, file
# names, names of pictures and of stores.
_KEY = re.compile(r"[\w.*:/-]*\bodd_(?:mary|bold|long|eae|lake|stage)\b[^\s,;<]*")
_TYPED = re.compile(r"(town|river|reservoir|stage)\.|.*[-/]|.*_(glass|loop|season|parcel)\b")


@pytest.fixture(autouse=True)
def _odd(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("odd.toml").write_text(FILE, encoding="utf-8")
    Path("other.toml").write_text(FILE.replace(MARY, OTHER), encoding="utf-8")


def _texts(folder: Path):
    for path in sorted(folder.rglob("*")):
        if path.name in ("answer.html", "captions.txt", "answer.txt") or path.suffix in (
            ".html",
            ".svg",
        ):
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
    assert not re.search(r"s['’]s\b", text), where  # St. Mary's's loop


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: "-".join(words[:1] + words[2:3]))
def test_names_stand_in_every_output(words):
    """On the screen, in pages, captions and pictures; markup in a name stays words."""
    done = call(*words, "--out", "made")
    assert done.exit_code == 0, done.output
    printed = "\n".join(
        line for line in done.stdout.splitlines() if "_" not in line[:14] or "." not in line
    )
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
    hl.read_scenario("other.toml")
    done = call("glass", "odd.nc", "odd_mary", "--out", "glass.svg")
    assert done.exit_code == 0, done.output
    assert f"A glass of tap water in {MARY}" in done.stdout
    assert MARY in Path("glass.svg").read_text(encoding="utf-8")


def _all_told(of: str) -> str:
    """What Python says of a scenario, by every way that names its towns."""
    scenario = hl.read_scenario(of)
    record, town = hl.simulate(scenario), "odd_mary"
    result = Result(scenario, record, hl.measures(record, scenario))
    changed = scenario.changed({f"town.{town}.people": 40_000})
    ranged = scenario.changed({f"town.{town}.people": "20000 to 30000"})
    grid = hl.sweep(scenario, {f"town.{town}.people": [20_000, 30_000]})
    drawn = [
        hl.draw.glass(record, town),
        hl.draw.loop(result, town),
        hl.draw.season(record, town),
        hl.draw.river(record),
        hl.draw.because(record),
        hl.draw.parcel(record, town),
        grid_picture(grid, list(grid.season_used_share.dims[:1]), USED, "us"),
        bands_picture(hl.spread(ranged, 3), town, "us"),
    ]
    documents = [
        run_document(result, as_it_is(scenario)),
        comparison([Against("more", hl.compare(scenario, changed), None)], "us"),
        spread_document(ranged, hl.spread(ranged, 3), "us", "none"),
        sweep_document(scenario, grid, [f"town.{town}.people"], "us", "none"),
    ]
    said = [as_text(one, full=True) for one in documents]
    return "\n".join(
        [line for lines in said for line in lines] + [f"{one.title} {one.caption}" for one in drawn]
    )


def test_two_scenarios_that_share_a_key_keep_their_own_names():
    """In turns and in threads at once each is told by its own names, whichever was opened last."""
    files = {"odd.toml": (MARY, OTHER), "other.toml": (OTHER, MARY)}
    with ThreadPoolExecutor(2) as pool:
        told = dict(zip(files, pool.map(_all_told, files), strict=True))
    for file, (own, others) in files.items():
        assert told[file].count(own) > 40
        assert others not in told[file]
        assert "Odd Mary" not in told[file]


def test_a_run_keeps_its_names_when_another_scenario_is_opened():
    """A result that was made before another scenario was opened is told by its own names."""
    scenario = hl.read_scenario("odd.toml")
    record = hl.simulate(scenario)
    other = hl.read_scenario("other.toml")
    assert MARY in hl.draw.glass(record, "odd_mary").title
    assert OTHER in hl.draw.glass(hl.simulate(other), "odd_mary").title
    found = hl.compare(scenario, other)
    assert OTHER in glass_of_both(found, "us").title


def test_the_drought_picture_shows_the_river_that_is_watched():
    """Its lowest flow is that of the record where the stage watches it, and not nothing."""
    record = hl.simulate(hl.read_scenario("odd.toml"))
    call("run", "odd.toml", "--pictures", "all", "--out", "made")
    caption = Path("made/pictures/captions.txt").read_text(encoding="utf-8")
    lowest = float(re.search(r"The Eä was lowest on .*?, at ([\d.]+) ft", caption)[1])
    flows = record["flow"].values[
        (record["source"].values == "odd_eae/reach_7") & (record["kind"].values == "river")
    ]
    labels = dict(
        zip(record["store"].values.tolist(), record["label"].values.tolist(), strict=True)
    )
    (ends,) = [store for store, label in labels.items() if label == "the Eä, km 29 to 30"]
    flows = record["flow"].values[record["source"].values == ends]
    rate = (
        record["rate"]
        .sel(flow=flows)
        .where(record["kind"].sel(flow=flows) != "evaporation", 0.0)
        .sum("flow")
    )
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
    assert scenario.town["st_marys"].name == MARY
    assert scenario.title == f"{MARY} on the Eä"
    assert MARY in call("glass", "new.toml", "--no-pictures").stdout


def test_words_for_places():
    """Keys in words, names as given, an article where there is none."""
    told = xr.Dataset(attrs={"place_names": '{"eae": "The Eä", "x": 3, "y": ""}'})
    names = names_of(told)
    assert [river_words(key, names) for key in ("eae", "green_river")] == [
        "the Eä",
        "the Green River",
    ]
    assert reservoir_words("heronwater", names) == "the Heronwater reservoir"
    assert [place_words(key, names) for key in ("x", "y", "mill_valley")] == [
        "X",
        "Y",
        "Mill Valley",
    ]
    for no_table in ("no table", "[1]", 7):
        assert not names_of(told.assign_attrs(place_names=no_table))
