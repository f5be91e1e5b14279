"""Bundled scenarios: found from anywhere, and in what is built."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from hydroloop.scenario import bundled, bundled_scenarios, read_scenario

ROOT = Path(__file__).resolve().parents[2]


def test_the_bundled_scenarios_are_those_of_the_checkout():
    """Every scenario file at the top of the checkout can be had by name."""
    assert bundled_scenarios() == sorted(file.stem for file in (ROOT / "scenarios").glob("*.toml"))
    assert "first_town" in bundled_scenarios()


@pytest.mark.parametrize("name", ["first_town", "first_town.toml", "scenarios/first_town.toml"])
def test_a_bundled_scenario_is_read_by_name_from_anywhere(name, tmp_path, monkeypatch):
    """The name is enough, in a folder that holds no scenario."""
    monkeypatch.chdir(tmp_path)
    assert read_scenario(name).path.stem == "first_town"


def test_a_folder_of_results_does_not_hide_a_bundled_scenario(tmp_path, monkeypatch):
    """A folder that is called like a scenario is not taken for it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "first_town").mkdir()
    assert read_scenario("first_town").path.suffix == ".toml"


def test_ones_own_file_comes_before_a_bundled_one(tmp_path, monkeypatch):
    """A file in the folder is read in place of the bundled one of that name."""
    monkeypatch.chdir(tmp_path)
    text = (ROOT / "scenarios" / "first_town.toml").read_text("utf-8")
    (tmp_path / "first_town.toml").write_text(text, "utf-8")
    assert read_scenario("first_town").path.resolve().parent == tmp_path.resolve()


@pytest.mark.parametrize("name", ["../first_town", "x/first_town", "", "FIRST_TOWN"])
def test_only_a_plain_name_is_a_bundled_one(name):
    """No other path leads to a bundled scenario."""
    assert bundled.bundled_path(name) is None


def test_an_installed_copy_keeps_them_inside_the_package(tmp_path, monkeypatch):
    """Where the package holds the folder, that one is used."""
    (tmp_path / "_scenarios").mkdir()
    (tmp_path / "_scenarios" / "mill.toml").write_text("")
    monkeypatch.setattr(bundled, "_PACKAGE", tmp_path)
    assert bundled.bundled_scenarios() == ["mill"]


def test_the_build_puts_the_folder_where_it_is_looked_for():
    """The build maps the folder of scenarios, texts and tables, into the package."""
    build = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
    assert build["package-dir"]["hydroloop._scenarios"] == "scenarios"
    kinds = {
        f".{pattern.split('.')[-1]}" for pattern in build["package-data"]["hydroloop._scenarios"]
    }
    assert {file.suffix for file in (ROOT / "scenarios").glob("*.*")} - {".py"} <= kinds
