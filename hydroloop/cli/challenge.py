"""``hydroloop challenge``: the plans of a class, graded against a brief."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show

if TYPE_CHECKING:
    from hydroloop.outputs.document.as_pdf import Paper
    from hydroloop.units.printing import System


@click.command(name="challenge")
@click.argument("folder", metavar="FOLDER")
@click.option(
    "--begin",
    metavar="NEW",
    help="Write the task, the brief and its plans into a new "
    "folder, to begin a challenge of one's own; nothing is run.",
)
@click.option(
    "--task",
    metavar="FILE",
    help="Write the task for the teams, as the brief has it "
    "now, into a file (.pdf, .html or .txt); nothing is run.",
)
@options.units
@click.option(
    "--out",
    metavar="NEW",
    help="Folder for the board and the sheets; by default "
    "FOLDER/board, or the next that is free: board-2, board-3.",
)
@options.paper
@click.option(
    "--workers",
    type=options.WholeNumber(1, 2),
    default=2,
    show_default=True,
    help="Processes that run the plans.",
)
@options.full
@options.force
@options.as_json
@options.verbose
def command(
    folder: str,
    begin: str | None,
    task: str | None,
    units: System,
    out: str | None,
    paper: Paper | None,
    workers: int,
    full: bool,
    force: bool,
    as_json: bool,
    verbose: bool,
) -> None:
    """Plans of teams against a brief: targets met, points spent, what was changed and why.

    FOLDER holds the brief, brief.toml, and one plan a file: heron-1.toml is the first attempt of
    team heron. It may be the name of a challenge that comes with hydroloop. Each plan is checked,
    priced and run; a bad one is told of and never stops the others. The board and a sheet for
    judging each team are written as pages and for print; the newest board has the highest number.
    """
    from hydroloop.files.folder import check_free
    from hydroloop.judging import grade, handed_in, read_brief
    from hydroloop.judging.brief import NAME
    from hydroloop.outputs.challenge.board import board_document
    from hydroloop.outputs.challenge.writing import (
        begun,
        challenge_folder,
        free_board,
        write_board,
        write_task,
    )

    progress = Progress(verbose)
    place = challenge_folder(folder)
    brief = read_brief(place / NAME)
    if begin or task:
        show(
            begun(brief, place, begin, units, paper)
            if begin
            else write_task(brief, str(task), units, paper, force=force),
            as_json=as_json,
        )
        return
    attempts, refused = handed_in(brief, place)
    above, name = (place, "board") if Path(folder).is_dir() else (Path(), f"{place.name}-board")
    place_of_board, older = free_board(above, name)
    target = out or str(place_of_board)
    there = check_free(target, force=force)
    options.warn(brief.season)
    announce_compiling()
    with progress.step("running the plans"):
        board = grade(brief, attempts, refused, workers=workers, told=_tell(progress))
    with progress.step("writing the board and the sheets"):
        document = write_board(
            board,
            board_document(board, units),
            target,
            paper,
            force=force,
            before=there,
            older="" if out else older,
        )
    show(document, as_json=as_json, full=full)


def _tell(progress: Progress) -> Callable[[int, int], None] | None:
    return (
        (lambda done, all_of: progress.say(f"{done} of {all_of} pieces of work done"))
        if progress.verbose
        else None
    )
