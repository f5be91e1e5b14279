"""Every printed number says where it comes from, runs what a user's run does, and none is lost."""

from __future__ import annotations

import ast
import importlib.util
import re
from pathlib import Path

import pytest
from house.live_checks import THROUGH, counted, layer, live, works
from house.published_floor import FLOORS, LEAST, LEAST_THROUGH, LEAST_WORKS
from house.source_tree import ROOT
from published_checks import Check, half

MODULES = sorted((ROOT / "tests" / "published").glob("test_*.py"))


def checks_of(path: Path, name: str = "CHECKS") -> list[Check]:
    """The list CHECKS, or CONSTANTS, of a module in tests/published."""
    spec = importlib.util.spec_from_file_location(f"printed_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return list(getattr(module, name, ()))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_module_has_checks_with_sources(path: Path):
    """A module has CHECKS or CONSTANTS, and each names an author or number and a place."""
    checks = [*checks_of(path), *checks_of(path, "CONSTANTS")]
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


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_every_check_runs_what_a_run_uses(path: Path):
    """A check works its number out by a function that a command, a measure or a public name uses;
    what is only kept as it was printed belongs into CONSTANTS."""
    assert not [str(check) for check in checks_of(path) if not layer(check)]


def test_checks_of_each_layer_do_not_fall():
    """Each layer has as many checks as when its floor was last raised, and so have all together."""
    found = counted((path.stem, check) for path in MODULES for check in checks_of(path))
    assert {part: found[part] for part in FLOORS if found[part] < FLOORS[part]} == {}
    assert sum(found.values()) >= LEAST
    assert sum(found[part] for part in THROUGH) >= LEAST_THROUGH


def test_checks_come_from_many_works():
    """The numbers are those of many authors."""
    assert len(works(check for path in MODULES for check in checks_of(path))) >= LEAST_WORKS


def test_a_check_that_touches_nothing_is_found():
    """A number typed twice, arithmetic of the test's own and a look into a table do not count; a
    rule, called straight or through a function of the test, does."""
    from hydroloop.plants import standard
    from hydroloop.weather import runoff_depth

    def through():
        return runoff_depth(50.0, 80.0)

    def layer_of(ours):
        return layer(Check("Nobody 1900", "one", 1.0, 0.5, ours))

    assert layer_of(lambda: 1.0) == ""
    assert layer_of(lambda: 2 * half("116")) == ""
    assert layer_of(lambda: standard("filters", "filter rate", "single").held_high) == ""
    assert layer_of(lambda: through()) == "weather"
    assert live(Check("Nobody 1900", "one", 1.0, 0.5, through)) == {
        ("hydroloop.weather.curve_number", "runoff_depth")
    }


def test_what_is_said_not_to_be_met_is_not_met(monkeypatch):
    """The list that the validation page leads with holds only numbers that ours do not meet."""
    monkeypatch.syspath_prepend(ROOT / "docs")
    unmet = importlib.import_module("writing.unmet").UNMET
    assert not [one.quantity for one in unmet if abs(one.ours() - one.printed) <= one.near]


def test_many_checks_of_one_formula_count_as_few():
    """Thirty checks of one formula count as twenty."""
    from hydroloop.weather import runoff_depth

    one = Check("Nobody 1900", "one", 1.0, 0.5, lambda: runoff_depth(50.0, 80.0))
    assert counted([("here", one)] * 30) == {"weather": 20}


def test_half_of_the_last_digit():
    """The tolerance of a printed number is half of its last digit."""
    assert half("0.054") == pytest.approx(0.0005)
    assert half("116") == pytest.approx(0.5)


def test_a_wrong_number_is_caught():
    """A check whose number is off by more than its tolerance fails."""
    wrong = Check("Nobody 1900, Table 1", "one", 1.0, 0.05, lambda: 1.06)
    with pytest.raises(AssertionError, match=r"printed 1\.0"):
        wrong.holds()
