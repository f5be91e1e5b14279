"""A figure that stands in two outputs is the same one, however the season was warmed up."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from hydroloop.cli.main import main

SHORT = ["--set", "season.end=2031-06-20"]


def told(*words):
    """What a command tells a script of the five towns in three weeks."""
    done = CliRunner().invoke(main, [*words, *SHORT, "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


@pytest.mark.parametrize("way", ["repeat", "steady", "none"])
def test_the_used_share_at_the_tap(way, tmp_path):
    """A run and the plants' separation table tell one used share of each town's season."""
    warmed = ["--set", f"season.warm_up={way}"]
    run = told("run", "five_towns", *warmed, "--no-pictures", "--out", str(tmp_path / "run"))
    plants = told("capacity", "five_towns", *warmed, "--no-pictures")
    shares = {row["town"]: row["season_used_share"] for row in run["tables"]["towns"]}
    taps = plants["tables"]["at_taps"]
    assert list(shares) == [tap["town"] for tap in taps]
    for tap in taps:
        assert tap["used_share"] == pytest.approx(shares[tap["town"]], rel=1e-9, abs=1e-9)
