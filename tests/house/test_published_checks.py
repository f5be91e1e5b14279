"""Every printed number says where it comes from, and there are never fewer of them."""

from __future__ import annotations

import ast
import importlib.util
import re
from pathlib import Path

import pytest
from house.published_floor import FLOOR
from house.source_tree import ROOT
from published_checks import Check, half

MODULES = sorted((ROOT / "tests" / "published").glob("test_*.py"))


def checks_of(path: Path) -> list[Check]:
    """The list CHECKS of a module in tests/published."""
    spec = importlib.util.spec_from_file_location(f"printed_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return list(module.CHECKS)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_module_has_checks_with_sources(path: Path):
    """A module of printed numbers has CHECKS, and each names an author or number and a place."""
    checks = checks_of(path)
    assert checks
    for check in checks:
        assert len(check.source.split()) >= 2, check
        assert re.search(r"\d", check.source), f"{check.source}: no year, table, page or number"
        assert check.quantity.strip(), check.source
        assert check.tolerance >= 0.0, check


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_module_says_where_its_numbers_are_from(path: Path):
    """Its docstring names the source, and its name follows author and year or the subject."""
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    assert text.strip()
    assert path.stem.startswith("test_against_"), path.name


def test_number_of_checks_does_not_fall():
    """There are at least as many checks as when the floor was last raised."""
    assert sum(len(checks_of(path)) for path in MODULES) >= FLOOR


def test_half_of_the_last_digit():
    """The tolerance of a printed number is half of its last digit."""
    assert half("0.054") == pytest.approx(0.0005)
    assert half("116") == pytest.approx(0.5)


def test_a_wrong_number_is_caught():
    """A check whose number is off by more than its tolerance fails."""
    wrong = Check("Nobody 1900, Table 1", "one", 1.0, 0.05, lambda: 1.06)
    with pytest.raises(AssertionError, match=r"printed 1\.0"):
        wrong.holds()
