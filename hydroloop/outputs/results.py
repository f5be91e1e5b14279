"""The folder of results of a run: record, tables, pictures, inputs, answer and cautions."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from pathlib import Path

from hydroloop.outputs import cautions, tables
from hydroloop.outputs.result import Result
from hydroloop.record import write_record
from hydroloop.scenario import Scenario

INPUTS, TABLES = "inputs", "tables"
"""Folders inside; the pictures have theirs."""


def write_results(result: Result, report: Sequence[str], folder: Path) -> None:
    """Write all of a run but its pictures.

    Parameters
    ----------
    result : Result
        A finished run.
    report : sequence of str
        The lines of `full_report`.
    folder : Path
        Where to; it must be there and empty.

    Raises
    ------
    OutputError
        A file cannot be written.
    """
    (folder / "answer.txt").write_text("\n".join(report) + "\n", encoding="utf-8")
    (folder / "cautions.txt").write_text(cautions.wrapped(cautions.LONG) + "\n", encoding="utf-8")
    write_record(result.record, folder / "record.nc")
    where = folder / TABLES
    where.mkdir()
    for table in tables.all_tables(result):
        table.write(where, result.system)
    write_scenario(result.scenario, folder / INPUTS)


def write_scenario(scenario: Scenario, folder: Path, name: str = "scenario.toml") -> None:
    """Write a scenario with its changes, and the files it reads, so that it can be run again.

    Parameters
    ----------
    scenario : Scenario
        As it was run.
    folder : Path
        Where to; it is made where it is not there.
    name : str
        Name of the scenario's file in it.
    """
    folder.mkdir(exist_ok=True)
    (folder / name).write_text(scenario.to_toml(), encoding="utf-8")
    for file in sorted(_files_of(scenario)):
        target = folder / file
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(scenario.folder / file, target)


def _files_of(scenario: Scenario) -> set[str]:
    named = {scenario.weather.file} if scenario.weather.file else set()
    return named | {river.inflow.file for river in scenario.river.values()
                    if river.inflow is not None and not isinstance(river.inflow, float)}
