"""Natural English: phrases that read as if translated stand nowhere, in code, docs or README."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# What is said instead: on average, at random, depends on, compared with, which does not exist.
PHRASES = {
    "on the mean": r"\bon the mean\b(?! use)",
    "in the mean of": r"\bin the mean of\b",
    "by lot": r"\bby lot\b",
    "hangs on": r"\bhangs? on\b",
    "held against": r"\bheld against\b",
    "hold against": r"\bhold(s|ing)? (it|them|one|\w+ \w+) against\b",
    "that there is not": r"\bthat there (is|are) not\b",
    "that is none": r"\bthat (is|are) none\b",
    "of unknown past": r"\bof unknown past\b",
    "not not": r"\bnot not\b",
}


def pages():
    """Pages and code, with the lines of a sentence in one."""
    for path in (
        ROOT / "README.md",
        *sorted(ROOT.glob("docs/**/*.md")),
        *sorted(ROOT.glob("docs/writing/*.py")),
        *sorted(ROOT.glob("hydroloop/**/*.py")),
    ):
        if "_build" not in path.parts:
            yield path, " ".join(path.read_text(encoding="utf-8").split())


def test_whose_something_is_is_told_by_one_function():
    """A name that ends in s takes no other, so no sentence puts one behind a name by itself."""
    found = [
        f"{path.relative_to(ROOT)}: {text[max(at.start() - 30, 0) : at.end() + 30]}"
        for path in sorted((ROOT / "hydroloop").rglob("*"))
        if path.suffix in (".py", ".js", ".j2") and path.name != "placenames.py"
        for text in [path.read_text(encoding="utf-8")]
        for at in re.finditer(r"\}['’]s\b", text)
    ]
    assert not found, "\n".join(found)


@pytest.fixture(scope="module")
def texts():
    return list(pages())


@pytest.mark.parametrize("phrase", PHRASES)
def test_no_stock_phrase_stands_anywhere(phrase, texts):
    """Each was found by somebody who reads English, and has a plainer neighbour."""
    found = [
        f"{path.relative_to(ROOT)}: {text[at.start() - 30 : at.end() + 30]}"
        for path, text in texts
        for at in re.finditer(PHRASES[phrase], text, re.IGNORECASE)
    ]
    assert not found, "\n".join(found)
