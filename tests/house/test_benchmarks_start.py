"""Benchmarks keep up with what they measure."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

HERE = Path(__file__).parent.parent.parent / "benchmarks"


@pytest.mark.parametrize("path", sorted(HERE.glob("*.py")), ids=lambda path: path.stem)
def test_a_benchmark_finds_all_it_uses(path, monkeypatch):
    """Each can be loaded, with whatever it takes from the package and the tests."""
    monkeypatch.syspath_prepend(str(HERE))
    assert callable(runpy.run_path(str(path), run_name="loaded")["main"])
