"""A challenge in folders: where it is found, begun, and where its board goes."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from pathlib import Path

from hydroloop.errors import InputError, Problem
from hydroloop.files.folder import check_free, whole_folder
from hydroloop.files.listing import files_in
from hydroloop.judging import Board, Brief
from hydroloop.judging.brief import NAME
from hydroloop.outputs.challenge.rubric import rubric_document
from hydroloop.outputs.challenge.task import task_document
from hydroloop.outputs.document import Ask, Document, Written
from hydroloop.outputs.document.as_csv import write_csv
from hydroloop.outputs.document.as_html import as_html
from hydroloop.outputs.document.as_pdf import Paper, as_pdf
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.drawing import draw_pictures
from hydroloop.outputs.document.writing import check_target, write_document
from hydroloop.scenario.bundled import bundled_folder
from hydroloop.scenario.nearest import offer
from hydroloop.units.printing import System


def bundled_challenges() -> list[str]:
    """Names of the challenges that come with hydroloop."""
    return sorted(path.parent.name for path in bundled_folder().glob(f"*/{NAME}"))


def challenge_folder(name: str) -> Path:
    """The folder of a challenge, or of one that comes with hydroloop."""
    path = Path(name)
    if path.is_dir():
        if not (path / NAME).exists():
            raise InputError(
                Problem(
                    name,
                    f"has no {NAME}.",
                    f"Begin one: hydroloop challenge {bundled_challenges()[0]} --begin NEW.",
                )
            )
        return path
    if name in bundled_challenges():
        return bundled_folder() / name
    if path.exists():
        raise InputError(
            Problem(name, "is a file.", f"Name the folder that holds {NAME} and the plans.")
        )
    raise InputError(Problem(name, "there is no such folder.", offer(name, bundled_challenges())))


def begun(
    brief: Brief, place: Path, target: str, system: System, paper: Paper | None = None
) -> Document:
    """Write the task, the brief and its plans into a new folder; the task, and what was written."""
    task = task_document(brief, system)
    before = check_free(target)
    with whole_folder(target, before=before) as folder:
        for path in sorted(each for each in place.iterdir() if each.suffix in (".toml", ".csv")):
            (folder / path.name).write_bytes(path.read_bytes())
        (folder / "task.pdf").write_bytes(as_pdf(task, paper))
        (folder / "task.html").write_text(as_html(task), encoding="utf-8")
        files = files_in(folder)
    return replace(
        task,
        written=Written(
            f"{target.rstrip('/')}/",
            files,
            [
                ("task.pdf", "for the teams; task.html is the same as a page"),
                (NAME, "what may be done, prices, targets: change it as you like"),
                ("*.toml", "plans to look at; take them out, and put in those of your teams"),
            ],
        ),
        ask_next=[Ask(f"hydroloop challenge {target}", "grade the plans")],
    )


def write_task(
    brief: Brief, target: str, system: System, paper: Paper | None = None, *, force: bool = False
) -> Document:
    """Write the task of a brief into a file; the task, and what was written."""
    check_target(target, force=force)
    return write_document(task_document(brief, system), target, force=force, paper=paper)


def write_board(
    board: Board,
    document: Document,
    target: str,
    paper: Paper | None = None,
    *,
    force: bool = False,
    before: bytes | None = None,
    older: str = "",
) -> Document:
    """Write the board and the sheets for judging; the board with what was written. `older` is the
    name of the board before."""
    judging = rubric_document(board, document.system)
    with whole_folder(target, force=force, before=before) as folder:
        for name, one in (("board", document), ("judging", judging)):
            (folder / f"{name}.html").write_text(as_html(one), encoding="utf-8")
            (folder / f"{name}.pdf").write_bytes(as_pdf(one, paper))
        (folder / "board.txt").write_text(
            "\n".join(as_text(document, full=True)) + "\n", encoding="utf-8"
        )
        (folder / "tables").mkdir()
        write_csv(document, folder / "tables")
        draw_pictures(document, folder)
        files = files_in(folder)
    return replace(
        document,
        written=Written(
            f"{target.rstrip('/')}/",
            files,
            [
                ("board.pdf", "the board; board.html is the same as a page, board.txt as text"),
                ("judging.pdf", "a sheet for judging each team, with its evidence"),
                ("tables/", "the tables as CSV"),
                ("pictures/", "the board for the projector (png) and for print (svg)"),
            ],
            f"It is the newest board; the one before is {older}." if older else "",
        ),
    )


def free_board(place: Path, name: str) -> tuple[Path, str]:
    """The first folder for a board that is not there yet, `name`, `name-2`, `name-3`, and the name
    of the one before; empty where there is none."""
    before = ""
    for number in count(1):
        path = place / (name if number == 1 else f"{name}-{number}")
        if not path.exists():
            break
        before = path.name
    return path, before
