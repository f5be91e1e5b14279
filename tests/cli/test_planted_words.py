"""Words that a stranger plants in a scenario, a plan or a file name: in all that is written they
are words, no link to click and no formula of a spreadsheet."""

from __future__ import annotations

import csv
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from challenge_folders import BRIEF, MAINS, YARDS, plan, write
from cli.commands import call, give_pages_two_dials
from pypdf import PdfReader
from small_scenarios import ONE_TOWN

LINK = '<a href="https://evil.example/x">see https://evil.example/x</a> [x](https://evil.example)'
FORMULA = '=HYPERLINK("https://evil.example/x")'
MINE = ONE_TOWN.replace('"One town"', f"'{FORMULA} {LINK}'\nabout = '{LINK}'").replace(
    "2031-08-31", "2031-05-04"
)
MENDED = "measure = 'repair_leaks'\ntown = 'larkmill'\nto = '7 %'"
PLAN = (
    f"[plan]\ntitle = '{FORMULA}'\nby = '{LINK}'\nabout = '{LINK}'\n"
    f"[[step]]\nwhat = '{FORMULA}'\nwhy = '{LINK}'\nwho = '@SUM(A1)'\n{MENDED}\n"
)
WITH_WHERE = ("href", "src", "action", "formaction", "data", "srcset", "poster", "background")
NUMBER = re.compile(r"[+-]?\d[\d.,]*(e[+-]?\d+)?( \S+)?|-")


class Links(HTMLParser):
    """All that a page would load, or lead to when it is clicked."""

    def __init__(self, text: str):
        super().__init__()
        self.found: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what leads out."""
        self.found += [
            f"{tag} {name}={value}"
            for name, value in attrs
            if name.split(":")[-1] in WITH_WHERE
            and not (value or "").startswith("#")
            and value != "data:,"
        ]
        self.found += [f"{tag} {name}" for name, _ in attrs if name.startswith("on")]
        if tag in ("iframe", "embed", "object", "base", "meta") and "http-equiv" in dict(attrs):
            assert dict(attrs)["http-equiv"] == "Content-Security-Policy"


def actions_of(file: Path) -> list[str]:
    """All that a PDF would do when it is opened or clicked."""
    read = PdfReader(file)
    root = read.trailer["/Root"]
    found = [name for name in ("/OpenAction", "/AA", "/AcroForm", "/JavaScript") if name in root]
    for page in read.pages:
        found += [
            str(one.get_object().get("/A"))
            for one in page.get("/Annots", [])
            if "/URI" in str(one.get_object())
        ]
    return found


def check(folder: Path) -> set[str]:
    """Nothing planted acts in any file of a folder; the endings of those that were looked at."""
    seen = set()
    for file in sorted(path for path in folder.rglob("*") if path.is_file()):
        seen.add(file.suffix)
        if file.suffix == ".pdf":
            assert actions_of(file) == [], file
        elif file.suffix in (".html", ".svg"):
            assert Links(file.read_text(encoding="utf-8")).found == [], file
        elif file.suffix == ".csv" and file.parent.name == "tables":
            with file.open(newline="", encoding="utf-8") as lines:
                cells = [cell for row in csv.reader(lines) for cell in row]
            assert [
                cell
                for cell in cells
                if cell.lstrip()[:1] in tuple("=+-@") and not NUMBER.fullmatch(cell)
            ] == [], file
    return seen


@pytest.fixture
def planted(tmp_path, monkeypatch):
    """A scenario, two plans and a challenge with planted words everywhere."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "=1+1.toml").write_text(MINE)
    (tmp_path / "@plan.toml").write_text(PLAN)
    made = write(
        tmp_path / "class",
        **{"=heron_1": plan(MAINS, by=LINK.replace('"', "'")), "otter_1": plan(YARDS, by="=1+1")},
    )
    (made / "brief.toml").write_text(
        BRIEF.replace("Two towns, less lost", "=1+1 https://x.example").replace(
            "Half the river.", LINK.replace('"', "'")
        )
    )
    return tmp_path


@pytest.mark.parametrize(
    ("words", "endings"),
    [
        (["run", "=1+1.toml"], {".html", ".svg", ".csv"}),
        (["compare", "=1+1.toml", "--plan", "@plan.toml"], {".html", ".svg", ".csv"}),
        (["report", "=1+1.toml", "--plan", "@plan.toml"], {".html", ".pdf"}),
        (["lesson", "=1+1.toml"], {".html", ".pdf"}),
        (["sweep", "=1+1.toml", "--over", "town.larkmill.people=20000,30000"], {".html", ".csv"}),
        (["challenge", "class", "--workers", "1"], {".html", ".pdf", ".csv"}),
    ],
    ids=lambda words: words[0] if isinstance(words, list) else "all",
)
def test_no_planted_word_acts(words, endings, planted):
    """Tables hold no formula; pages, pictures and print hold no link and no action."""
    done = call(*words, "--out", "out")
    assert done.exit_code == 0, done.output
    assert endings <= check(Path("out"))
    told = "".join(
        path.read_text(encoding="utf-8", errors="replace") for path in Path("out").rglob("*.html")
    )
    assert words[0] == "lesson" or "https://" in told  # they are there, as words


def test_the_page_holds_no_link(planted, monkeypatch):
    """The page of dials that works offline."""
    give_pages_two_dials(monkeypatch)
    done = call("page", "=1+1.toml", "--plan", "@plan.toml", "--out", "page.html")
    assert done.exit_code == 0, done.output
    assert Links(Path("page.html").read_text(encoding="utf-8")).found == []
