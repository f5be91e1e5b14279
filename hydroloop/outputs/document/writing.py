"""A document written into a folder, or into one file of the form that its ending asks for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from hydroloop.errors import AskError, Problem
from hydroloop.files.file import check_free_file, write_file
from hydroloop.files.folder import check_free, whole_folder
from hydroloop.files.listing import files_in
from hydroloop.outputs.document.as_csv import write_csv
from hydroloop.outputs.document.as_html import as_html
from hydroloop.outputs.document.as_pdf import Paper, as_pdf
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.blocks import Document, Written
from hydroloop.outputs.document.cautions import LONG, wrapped
from hydroloop.outputs.document.drawing import PICTURES, draw_pictures
from hydroloop.outputs.document.kept_inputs import write_scenario

if TYPE_CHECKING:
    import xarray as xr

    from hydroloop.scenario import Scenario

INPUTS, TABLES = "inputs", "tables"
"""Folders inside a folder of results; the pictures have theirs."""

_DRAWN = (".png", ".svg")
# Endings that no folder has either.
_OTHERS = (".csv", ".json", ".jpg", ".jpeg", ".xlsx", ".toml", ".docx", ".odt")


@dataclass(frozen=True)
class Beside:
    """What is written beside a document: scenarios and arrays, by the names of their files."""

    scenarios: Mapping[str, Scenario] = field(default_factory=dict)
    arrays: Mapping[str, xr.Dataset] = field(default_factory=dict)


_RECORD = "record.nc"


_PAGES: dict[str, Callable[[Document, Paper | None], bytes]] = {
    ".txt": lambda document, _: ("\n".join(as_text(document, full=True)) + "\n").encode(),
    ".html": lambda document, _: as_html(document).encode(),
    ".pdf": as_pdf,
}


def names_file(out: str | None) -> bool:
    """Whether --out names one file, and not a folder."""
    return out is not None and Path(out).suffix.lower() in (*_PAGES, *_DRAWN, *_OTHERS)


def check_target(out: str | None, *, force: bool, arrays: bool = False) -> bytes | None:
    """Make sure, before any work is done, that --out names what can be written and may be.

    What was in a folder is handed back, for `write_document` to find it the same.

    Raises
    ------
    AskError
        Its ending is that of a file that this command cannot write.
    OutputError
        Something is there that may not be replaced.
    """
    if out is None:
        return None
    ending = Path(out).suffix.lower()
    known = (*_PAGES, *_DRAWN, *((".nc",) if arrays else ()))
    if ending in known:
        check_free_file(out, force=force)
        return None
    if ending in (*_DRAWN, ".nc", *_OTHERS):
        *first, last = known
        raise AskError(
            Problem(
                "--out",
                f'"{out}" ends as a file does that is not written here.',
                f"Name a folder, or a file that ends in {', '.join(first)} or {last}.",
            )
        )
    return check_free(out, force=force)


def write_document(
    document: Document,
    out: str,
    beside: Beside | None = None,
    *,
    force: bool = False,
    before: bytes | None = None,
    paper: Paper | None = None,
) -> Document:
    """Write a document; the same document with what was written.

    Raises
    ------
    AskError
        There is no picture to write.
    OutputError
        Something cannot be written, or may not be replaced; nothing is left half-written.
    """
    beside, ending = beside or Beside(), Path(out).suffix.lower()
    if ending not in (*_PAGES, *_DRAWN, ".nc"):
        with whole_folder(out, force=force, before=before) as folder:
            parts = _fill(document, beside, folder)
            files = files_in(folder)
        return replace(document, written=Written(f"{out.rstrip('/')}/", files, parts))
    if ending in _PAGES:
        write_file(out, _PAGES[ending](document, paper), force=force)
    elif ending in _DRAWN:
        save_picture(document, Path(out), force=force)
    else:
        _save_array(next(iter(beside.arrays.values())), Path(out), force=force)
    return replace(document, written=Written(out, [out]))


def save_picture(document: Document, path: Path, *, force: bool = False) -> None:
    """Write the first picture of a document into a file."""
    from hydroloop import charts

    pictures = document.pictures()
    if not pictures:
        raise AskError(
            Problem(
                "--out",
                "there is no picture to draw here.",
                "Name a folder, or a file that ends in .txt, .html or .pdf.",
            )
        )
    charts.save(document.drawn(pictures[0]), path.with_suffix(""), (path.suffix[1:],), force=force)


def _fill(document: Document, beside: Beside, folder: Path) -> list[tuple[str, str]]:
    """Write all parts into a folder; their names, and what each of them is."""
    (folder / "answer.txt").write_bytes(_PAGES[".txt"](document, None))
    (folder / "cautions.txt").write_text(wrapped(LONG) + "\n", encoding="utf-8")
    if document.tables():
        (folder / TABLES).mkdir()
        write_csv(document, folder / TABLES)
    for name, array in beside.arrays.items():
        _save_array(array, folder / name)
    for name, scenario in beside.scenarios.items():
        write_scenario(scenario, folder / INPUTS, name)
    shown = draw_pictures(document, folder)
    (folder / "answer.html").write_text(
        as_html(document, folder / PICTURES, shown), encoding="utf-8"
    )
    parts = [
        ("answer.html", "the whole answer as a page, with pictures"),
        ("answer.txt", "the same as text"),
        ("tables/", "the tables as CSV") if document.tables() else None,
        ("pictures/", "for the projector (png) and for print (svg), with captions")
        if shown
        else None,
        ("inputs/", "what was run, and the files it reads") if beside.scenarios else None,
        *(
            (
                name,
                "the water record: every store and flow, every step (NetCDF)"
                if name == _RECORD
                else "every run's numbers (NetCDF)",
            )
            for name in beside.arrays
        ),
        ("cautions.txt", "what the results are not for"),
    ]
    return [part for part in parts if part]


def _save_array(array: xr.Dataset, path: Path, *, force: bool = False) -> None:
    """A water record is checked before it is written."""
    from hydroloop.record import write_record
    from hydroloop.record.netcdf import save_netcdf

    (write_record if "rate" in array and "volume" in array else save_netcdf)(
        array, path, force=force
    )
