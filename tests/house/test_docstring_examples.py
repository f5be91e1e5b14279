"""Code shown in docstrings is code that runs, and prints what it says."""

from __future__ import annotations

import ast
import doctest
import importlib
from collections.abc import Iterator

import pytest
from house.source_tree import Module, modules


def examples(module: Module) -> Iterator[doctest.DocTest]:
    """Examples of every docstring in a module; compiled functions hide nothing from the source."""
    parser = doctest.DocTestParser()
    for node in ast.walk(module.tree):
        if not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            continue
        text = ast.get_docstring(node)
        if text and ">>>" in text:
            name = f"{module.name}.{getattr(node, 'name', '')}"
            yield parser.get_doctest(text, {}, name, str(module.path), getattr(node, "lineno", 0))


WITH_EXAMPLES = [module for module in modules() if any(examples(module))]


@pytest.mark.parametrize("module", WITH_EXAMPLES, ids=str)
def test_examples_run(module: Module, tmp_path, monkeypatch):
    """Every example in the module's docstrings gives what is printed under it."""
    monkeypatch.chdir(tmp_path)
    loaded = importlib.import_module(module.name)
    report: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    for example in examples(module):
        example.globs = dict(vars(loaded))
        runner.run(example, out=report.append)
    assert runner.tries > 0
    assert not runner.failures, "".join(report)
