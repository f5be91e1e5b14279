"""The bundled weather and river flow are what their script makes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from house.source_tree import ROOT

SCENARIOS = ROOT / "scenarios"
LARGEST_BYTES = 500_000


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the series made anew."""
    folder = tmp_path_factory.mktemp("series")
    script = ROOT / "docs" / "make_series.py"
    subprocess.run([sys.executable, str(script), str(folder)], check=True, timeout=120)
    return folder


def test_every_series_is_made(made: Path):
    """The script makes each bundled table, and none that is not bundled."""
    bundled = {path.name for path in SCENARIOS.glob("*.csv")}
    assert {path.name for path in made.iterdir()} == bundled
    assert len(bundled) >= 6


@pytest.mark.parametrize("name", sorted(path.name for path in SCENARIOS.glob("*.csv")))
def test_bundled_series_agrees_with_its_script(name: str, made: Path):
    """A bundled table is, byte for byte, what the script makes; and it is small."""
    bundled = (SCENARIOS / name).read_bytes()
    assert (made / name).read_bytes() == bundled
    assert len(bundled) < LARGEST_BYTES
