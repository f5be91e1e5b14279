"""The folder of results of a run: record, tables, pictures, inputs, answer and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from hydroloop.outputs.document import cautions
from hydroloop.outputs.document.kept_inputs import write_scenario
from hydroloop.outputs.document.writing import INPUTS, TABLES
from hydroloop.outputs.run import tables
from hydroloop.outputs.run.result import Result
from hydroloop.record import write_record


def write_results(result: Result, report: Sequence[str], folder: Path) -> None:
    """Write all of a run but its pictures into an empty folder; `report` is the `full_report`."""
    (folder / "answer.txt").write_text("\n".join(report) + "\n", encoding="utf-8")
    (folder / "cautions.txt").write_text(cautions.wrapped(cautions.LONG) + "\n", encoding="utf-8")
    write_record(result.record, folder / "record.nc")
    where = folder / TABLES
    where.mkdir()
    for table in tables.all_tables(result):
        table.write(where, result.system)
    write_scenario(result.scenario, folder / INPUTS)
