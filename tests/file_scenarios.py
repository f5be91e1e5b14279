"""Runs of scenarios that read their weather and flows from files."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path

import xarray as xr
from conserves import assert_closes

import hydroloop as hl

HEAD = """
title = "Printed weather"
[season]
start = {start}
end = {end}
step = "{step}"
run_up = "0 day"
warm_up = "none"
"""


def head(start: object, end: object, step: str = "1 day") -> str:
    """Beginning of a scenario whose season has no past."""
    return HEAD.format(start=start, end=end, step=step)


def thirsty_town(river: str, intake_km: float, outfall_km: float) -> str:
    """A town so small that a river hardly feels it; a scenario needs one."""
    return f"""
[town.larkmill]
people = 100
intake = {{ river = "{river}", at = "{intake_km} km" }}
outfall = {{ river = "{river}", at = "{outfall_km} km" }}
"""


def rows(heading: str, lines: Iterable[Sequence[object]]) -> str:
    """A table as text, with commas."""
    return "\n".join([heading, *(",".join(map(str, line)) for line in lines)])


def run(text: str, **files: str) -> xr.Dataset:
    """Record of a scenario with its tables, NAME for NAME.csv, beside it."""
    with tempfile.TemporaryDirectory() as folder:
        for name, table in files.items():
            (Path(folder) / f"{name}.csv").write_text(table, encoding="utf-8")
        (Path(folder) / "printed.toml").write_text(text, encoding="utf-8")
        record = hl.simulate(hl.read_scenario(Path(folder) / "printed.toml"))
    assert_closes(record)
    return record
