"""Short answers of comparisons, bands and grids: few lines, plain words, figures of the tables."""

from __future__ import annotations

import re

import pytest
import textstat
from cli.commands import call, told

GRADE = 8
TWO, FIVE = 20, 30
"""Lines that an answer on two towns and on five may have."""
RANGES = ("--members", "24", "--set", "town.*.mains.real_losses=8 % to 20 %")
ASKED = {
    "one change": ("compare", "five_towns", "--scale", "river.wren.inflow=0.5"),
    "many changes": (
        "compare",
        "first_town",
        "--set",
        "town.larkmill.people=30000",
        "--scale",
        "river.wren.inflow=0.6",
        "--set",
        "town.*.mains.real_losses=5 %",
    ),
    "a drought": (
        "compare",
        "long_river",
        "--set",
        "dry_season.method=driest_year",
        "--set",
        "stage.*.storage_below=0 %",
    ),
    "half the rain": ("compare", "old_town", "--set", "dry_season.rain_scale=50 %"),
    "other towns": ("compare", "first_town", "five_towns"),
    "bands": ("spread", "five_towns", *RANGES, "--set", "river.wren.inflow.scale=0.2 to 0.8"),
    "bands of a drought": (
        "spread",
        "long_river",
        *RANGES,
        "--set",
        "dry_season.method=driest_year",
    ),
    "a line": ("sweep", "first_town", "--over", "town.larkmill.people=20000,40000,60000"),
    "a map": (
        "sweep",
        "five_towns",
        "--over",
        "town.quillford.people=60000,90000",
        "--factors",
        "river.wren.inflow=1,0.6,0.3,0.1",
    ),
}
LARGE = {"one change", "other towns", "bands", "a map"}
SYMBOLS = re.compile(
    r"\b[fmS]\b(?!')|[Rr]esilience|[Vv]ulnerability|[Rr]eliability|turnover|"
    r"rank correlation"
)
KEYS = re.compile(r"\b(town|river|stage|dry_season|season|plant)\.\w+")


@pytest.fixture(scope="module")
def printed():
    """What each prints, short and with --full."""
    found = {}
    for name, words in ASKED.items():
        short, full = call(*words), call(*words, "--full")
        assert short.exit_code == full.exit_code == 0, short.output + full.output
        found[name] = short.stdout, full.stdout
    return found


def answer(text: str) -> str:
    """The sentences alone, without the head, a table and what stands below."""
    inner = text.split("\n- A teaching model")[0].split("\n\n", 1)[1]
    return " ".join(inner.split("\n\n")[0].split())


@pytest.mark.parametrize("name", ASKED)
def test_few_lines(printed, name):
    """At most 20 lines for two towns and 30 for five, and none of prose is wider than a screen."""
    lines = printed[name][0].splitlines()
    assert len(lines) <= (FIVE if name in LARGE else TWO), printed[name][0]
    assert max(len(line) for line in lines if "hydroloop" not in line) <= 96
    assert len(printed[name][1].splitlines()) > 1.5 * len(lines)


@pytest.mark.parametrize("name", ASKED)
def test_plain_words(printed, name):
    """Eight years of school are enough, and no symbol and no key stands among the sentences."""
    text = answer(printed[name][0])
    assert textstat.flesch_kincaid_grade(text) <= GRADE, text
    assert not SYMBOLS.search(text), text
    assert not KEYS.search(text), text
    heads = [line for line in printed[name][1].splitlines() if line.endswith("]")]
    assert not [line for line in heads if re.search(r" [fmS]\b|Resilience|Vulnerability", line)]


@pytest.mark.parametrize("name", sorted(set(ASKED) - {"other towns"}))
def test_figures_are_those_of_the_tables(printed, name):
    """Each number with a unit in the sentences is a number of the full tables, rounded."""
    short, full = (text.split("\n- A teaching model")[0] for text in printed[name])
    said = answer(short)
    said = said[re.search(r"(Changed|runs)[:,].*?\. ", said).end() :]
    said = re.sub(r"at [\d.,]+ people( and [\d.]+ times)?", "", said)  # where in a grid
    table = full.split("\n\n", 2)[2]
    there = [
        float(word.replace(",", ""))
        for word in re.findall(r"(?<![\w.])[+-]?[\d,]*\d(?:\.\d+)?(?![\w.])", table)
    ]
    figures = re.findall(r"([+-]?[\d,]*\d(?:\.\d+)?)(?= (?:%|Mgal|days)|\))", said)
    assert figures
    for figure in figures:
        number, digits = float(figure.replace(",", "")), len(figure.partition(".")[2])
        # Half of its last digit, and half of the last of a table's three.
        off = 0.5 * 10.0**-digits + max(0.005 * abs(number), 1e-9)
        assert any(abs(value - number) <= off for value in there), (figure, said)


@pytest.mark.parametrize("name", ["one change", "many changes", "a line", "bands"])
def test_what_is_suggested_changes_something(printed, name):
    """The last suggestion runs as it is printed, and moves some town's used share."""
    import shlex

    last = [line.strip() for line in printed[name][0].splitlines() if " hydroloop" in line][-1]
    words = shlex.split(last.split("  ")[0])[1:]
    assert call(*words).exit_code == 0
    found = told(*words)["tables"]
    rows = found.get("contributions") or found["grid"]
    used = [row["season_used_share"] for row in rows if row["season_used_share"] is not None]
    assert max(used) - min(used) > 0.001 or max(map(abs, used)) > 0.001


def test_a_small_change_is_not_told():
    """A leak mended by a tenth of a percent changes no town's water enough for a sentence."""
    words = ("compare", "first_town", "--set", "town.larkmill.mains.real_losses=11.9 %")
    said = answer(call(*words).stdout)
    assert "No town's tap water changes much." in said
    assert "not 7" not in said


def test_one_change_is_one_however_it_is_spelt(tmp_path):
    """A star, keys one by one in a step of a plan, and a factor put the same blame."""
    (tmp_path / "plan.toml").write_text(
        '[plan]\ntitle = "All"\n[[step]]\nwhat = "Leaks"\nset = { "town.larkmill.mains.real_losses"'
        ' = "6 %", "town.penhollow.mains.real_losses" = "6 %" }\n'
        '[[step]]\nwhat = "People"\nset = { "town.larkmill.people" = 36000 }\n'
    )
    ways = [
        ("--set", "town.*.mains.real_losses=6 %", "--set", "town.larkmill.people=36000"),
        ("--scale", "town.*.mains.real_losses=0.5", "--scale", "town.larkmill.people=1.5"),
        ("--plan", str(tmp_path / "plan.toml")),
    ]
    parts = [
        [
            one["season_used_share"]
            for one in told("compare", "first_town", *way)["tables"]["contributions"]
            if one["town"] == "penhollow"
        ]
        for way in ways
    ]
    assert len(parts[0]) == 2
    for other in parts[1:]:
        assert other == pytest.approx(parts[0], abs=1e-12)
