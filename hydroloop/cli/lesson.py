"""``hydroloop lesson``: sheets to hand out, with numbers of a run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run
from hydroloop.cli.showing import show

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun
    from hydroloop.outputs.document.as_pdf import Paper


@click.command(name="lesson")
@options.scenario_file
@click.argument("town", required=False)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="The same seed draws the same drops.",
)
@options.paper
@model_run("The print pack and its sheets; by default NAME-lesson in the current folder.")
def command(run: ModelRun, town: str | None, seed: int, paper: Paper | None) -> None:
    """A print pack for a class: the town, thirty drops to tally, worksheets, answers.

    Every number on the sheets comes from the run. By default it is about the TOWN whose tap water
    was used most. The last pages are for the teacher: timing, standards, what students think,
    answers, cautions.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from dataclasses import replace

    from hydroloop.outputs.document import Paragraph
    from hydroloop.outputs.document.writing import check_target
    from hydroloop.outputs.lesson.facts import lesson_of
    from hydroloop.outputs.lesson.writing import short_words, write_pack
    from hydroloop.outputs.run.place import town_of

    name = town_of(list(run.scenario.town), town, run.scenario.names) if town else None
    target = run.out or f"{Path(run.file).stem}-lesson"
    there = check_target(target, force=run.force)
    run.begin()
    result = run.result()
    chosen = name or result.most_used_town
    with run.step("drawing drops and writing the sheets"):
        lesson = lesson_of(result, chosen, seed=seed)
        pack = write_pack(lesson, run.changed(chosen), target, paper, force=run.force, before=there)
    told = [*map(Paragraph, short_words(lesson)), *pack.blocks]
    show(replace(pack, blocks=told), as_json=run.as_json)
