"""The page as a file or a folder, and what is told of it."""

from __future__ import annotations

from pathlib import Path

from hydroloop.files.file import write_file
from hydroloop.files.folder import whole_folder
from hydroloop.files.listing import files_in
from hydroloop.outputs.document import Document, Fact, Paragraph, Written
from hydroloop.outputs.document.kept_inputs import write_scenario
from hydroloop.outputs.document.writing import INPUTS
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System


def write_page(
    text: str, scenario: Scenario, target: Path, *, is_file: bool, force: bool, before: bytes | None
) -> Written:
    """Write the page alone, or into a folder with what was run."""
    if is_file:
        write_file(target, text.encode(), force=force)
        return Written(str(target), [str(target)])
    with whole_folder(str(target), force=force, before=before) as folder:
        (folder / "page.html").write_text(text, encoding="utf-8")
        write_scenario(scenario, folder / INPUTS, "scenario.toml")
        files = files_in(folder)
    return Written(
        f"{target}/",
        files,
        [("page.html", "the page"), ("inputs/", "what was run, and the files it reads")],
    )


def page_document(
    scenario: Scenario, changed: Changed, system: System, written: Written, size: tuple[int, int]
) -> Document:
    """What is told of a page of so many bytes that holds so many runs."""
    bytes_of, runs = size
    return Document(
        "page",
        scenario.title,
        [
            *changed.blocks,
            Paragraph(
                f"A page of {bytes_of / 1e6:.1f} MB with {runs} runs, one for "
                "every setting of its dials. Open it in a browser; it needs "
                "no network."
            ),
        ],
        system,
        changed.ran,
        {"runs": Fact(runs), "bytes": Fact(bytes_of)},
        written=written,
    )
