"""The reference lists what is public: each name of a science is one import away, on its page."""

from __future__ import annotations

import ast
import importlib
import inspect
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from house.source_tree import ROOT, modules

SCIENCES = ("weather", "plants")


@pytest.fixture
def sciences(monkeypatch):
    """The writer of the pages, which stands beside the documentation."""
    monkeypatch.syspath_prepend(ROOT / "docs")
    return importlib.import_module("writing.sciences")


def test_every_public_name_is_on_a_page_that_is_listed(sciences):
    """Each part has a page with all of its names, and the index leads to it."""
    index = (ROOT / "docs" / "index.md").read_text(encoding="utf-8").splitlines()
    for part in sciences.PARTS:
        package = importlib.import_module(f"hydroloop.{part}")
        text = sciences.page(part)
        missing = [name for name in package.__all__ if f":: hydroloop.{part}.{name}\n" not in text]
        assert not missing, f"{part}: {missing}"
        assert f"reference/{part}" in index


@pytest.mark.parametrize("part", SCIENCES)
def test_what_states_its_bounds_is_one_import_away(part):
    """A function that checks what a user hands to it can be imported from its part."""
    public = set(importlib.import_module(f"hydroloop.{part}").__all__)
    checked = {
        node.name: module
        for module in modules()
        if module.part == part
        for node in module.tree.body
        if isinstance(node, ast.FunctionDef)
        and any(ast.unparse(mark).startswith("bounded(") for mark in node.decorator_list)
    }
    assert len(checked) > 10
    wrong = [f"{module}: {name}" for name, module in checked.items() if name not in public]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("part", SCIENCES)
def test_every_public_function_says_all(part):
    """It has parameters, what comes back, and an example that runs."""
    package = importlib.import_module(f"hydroloop.{part}")
    wrong = [
        name
        for name in package.__all__
        if inspect.isfunction(thing := getattr(package, name))
        for text in [inspect.getdoc(thing) or ""]
        if not {"Returns", "Examples"} <= set(text.splitlines())
    ]
    assert not wrong, wrong


def imported(path: Path) -> set[str]:
    """Modules that a file imports or looks for, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("find_spec"):
            found |= {arg.value for arg in node.args if isinstance(arg, ast.Constant)}
    return found


def test_the_docs_extra_brings_what_the_pages_are_made_with():
    """``pip install '.[docs]'`` is enough: what the pages' writers import, themselves and by the
    tests whose numbers they show, belongs to hydroloop or to that extra."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    brought = {
        re.split(r"[<>=~! \[]", line)[0].lower().replace("_", "-")
        for line in [*project["dependencies"], *project["optional-dependencies"]["docs"]]
    }
    left = [*(ROOT / "docs").glob("writing/*.py"), *(ROOT / "tests" / "published").glob("*.py")]
    left, seen, foreign = [ROOT / "docs" / "conf.py", *left], set(), set()
    while left:
        seen.add(path := left.pop())
        for name in imported(path):
            files = [ROOT / top / f"{name.replace('.', '/')}.py" for top in ("docs", "tests")]
            left += [file for file in files if file.exists() and file not in seen]
            foreign.add(name.partition(".")[0])
    known = packages_distributions()
    needed = {name: known.get(name, []) for name in foreign - {"hydroloop"}}
    needed |= {name: [] for name in needed if name in sys.stdlib_module_names}
    missing = {
        name: homes
        for name, homes in needed.items()
        if homes and not {home.lower().replace("_", "-") for home in homes} & brought
    }
    assert {"xarray", "vega_datasets"} <= set(needed)
    assert not missing, missing
