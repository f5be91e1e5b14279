"""The page of numbers that were wrong once says what runs give."""

from __future__ import annotations

import importlib
import re

import pytest
from house.source_tree import ROOT

_NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")


def test_the_page_is_what_runs_give(monkeypatch):
    """Its words are those of the program, and its numbers those of runs, to a digit or so."""
    monkeypatch.syspath_prepend(ROOT / "docs")
    fresh = importlib.import_module("writing.corrected").page()
    kept = (ROOT / "docs" / "explanation" / "corrected.md").read_text(encoding="utf-8")
    assert _NUMBER.sub("#", fresh) == _NUMBER.sub("#", kept)
    numbers = [
        [float(one.replace(",", "")) for one in _NUMBER.findall(page)] for page in (fresh, kept)
    ]
    assert len(numbers[0]) > 100
    assert numbers[0] == pytest.approx(numbers[1], rel=0.02, abs=0.011)
