"""The folder of a what-if: answer, tables, pictures, the numbers of every run, the scenarios."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import xarray as xr

from hydroloop import charts
from hydroloop.errors import AskError, Problem
from hydroloop.outputs import cautions
from hydroloop.outputs.pictures import save_pictures
from hydroloop.outputs.results import INPUTS, TABLES, write_scenario
from hydroloop.outputs.table import Table
from hydroloop.record.netcdf import save_netcdf
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System

_FILES = (".nc", ".csv", ".json", ".txt", ".toml", ".png", ".svg", ".pdf", ".jpg", ".jpeg", ".xlsx")


@dataclass(frozen=True)
class WhatIf:
    """What a what-if came to.

    Attributes
    ----------
    lines : sequence of str
        The answer, as on screen.
    scenarios : mapping
        Scenarios that were run, by the names of their files.
    tables : sequence of Table
        What a spreadsheet reads.
    figures : mapping
        Pictures by the names of their files.
    grids : mapping
        The numbers of every run, by the names of their files.
    """

    lines: Sequence[str]
    scenarios: Mapping[str, Scenario]
    tables: Sequence[Table] = ()
    figures: Mapping[str, charts.Picture] = field(default_factory=dict)
    grids: Mapping[str, xr.Dataset] = field(default_factory=dict)


def write_what_if(found: WhatIf, folder: Path, system: System) -> None:
    """Write all of it.

    Parameters
    ----------
    found : WhatIf
        What there is to write.
    folder : Path
        Where to; it must be there and empty.
    system : str
        ``"us"`` or ``"metric"``, for the tables.

    Raises
    ------
    OutputError
        A picture cannot be written.
    """
    (folder / "answer.txt").write_text("\n".join(found.lines) + "\n", encoding="utf-8")
    (folder / "cautions.txt").write_text(cautions.wrapped(cautions.LONG) + "\n", encoding="utf-8")
    for name, grid in found.grids.items():
        save_netcdf(grid, folder / name)
    (folder / TABLES).mkdir()
    for table in found.tables:
        table.write(folder / TABLES, system)
    save_pictures(found.figures, folder)
    for name, scenario in found.scenarios.items():
        write_scenario(scenario, folder / INPUTS, name)


def where_lines(found: WhatIf, target: str) -> list[str]:
    """Where the files are, and what is in them.

    Parameters
    ----------
    found : WhatIf
        What was written.
    target : str
        The folder.

    Returns
    -------
    list of str
        Lines of text.
    """
    lines = [f"Written to {target}/", "  answer.txt     what stands above",
             "  tables/        the same as CSV"]
    if found.figures:
        lines.append("  pictures/      for the projector (png) and for print (svg), with captions")
    lines += [f"  {name:<14} every run's numbers (NetCDF)" for name in found.grids]
    return [*lines, "  inputs/        what was run, and the files it reads",
            "  cautions.txt   what the results are not for"]


def check_folder_name(target: str, other: str = "") -> None:
    """Make sure that what should be a folder does not look like a file.

    Parameters
    ----------
    target : str
        What --out said.
    other : str
        What else would be allowed, for the message.

    Raises
    ------
    AskError
        It ends as files do.
    """
    if Path(target).suffix.lower() in _FILES:
        what = f'"{target}" ends as a file does.'
        raise AskError(Problem("--out", what, f"Name a folder{other}."))
