"""``hydroloop run``: the answer, tables, pictures and the water record of a scenario."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.again import quoted, words_again
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.run.result import Result


@click.command(name="run")
@options.scenario_file
@options.full
@options.pictures("few: those of the town whose water was used most; all: of every town.")
@options.no_pictures
@model_run(
    "The answer, tables, pictures, inputs and the water record (.nc); by default the folder "
    "NAME-results, or the next such name that is free."
)
def command(run: ModelRun, pictures: str, full: bool) -> None:
    """Run a scenario: how much of each town's tap water was used before, and all that goes with it.

    FILE is a scenario file, or the name of one that comes with hydroloop. A short answer is shown,
    with --full all tables; all of it goes into a folder, with pictures, the water record and the
    inputs used.

    With --plan its steps are taken before the run, on top of --set and --scale; what was changed is
    told.
    """
    scenario = run.scenario
    run.out = run.out or _free_folder(f"{Path(run.file).stem}-results", force=run.force)
    run.begin(arrays=True)
    # Loaded only now: what is wrong with a scenario is told sooner.
    from hydroloop.outputs.document.writing import Beside
    from hydroloop.outputs.run.design_limits import over_design
    from hydroloop.outputs.run.document import run_document

    result = run.result()
    over = over_design(result)
    document = run_document(result, run.changed(), pictures, over)
    plants = _plants(run, over.told)
    asks = _next(run, result)
    asks = [*(asks[:-1] if plants and len(asks) > 2 else asks), *plants]
    document = replace(document, ask_next=asks)
    run.tell(document, Beside({"scenario.toml": scenario}, {"record.nc": result.record}), full=full)


def _free_folder(name: str, *, force: bool) -> str:
    """The first of NAME, NAME-2, NAME-3 that is not there; with force the first."""
    number = 1
    while not force and Path(name if number == 1 else f"{name}-{number}").exists():
        number += 1
    return name if number == 1 else f"{name}-{number}"


def _next(run: ModelRun, result: Result) -> list[Ask]:
    """What a reader may ask next, with names of this run; of a changed one as it was run."""
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.run.ask_next import changes_to_try
    from hydroloop.outputs.run.short import headline, in_trouble

    if not result.towns:
        return []
    asked, town = words_again(run.sets, run.scales, run.plans), headline(result)
    folder = Path(run.out or "")
    kept = not folder.suffix and (folder / "inputs" / "scenario.toml").as_posix()
    here = quoted(kept) if asked and kept else " ".join(filter(None, (quoted(run.file), asked)))
    glass = Ask(f"hydroloop glass {here} {town}", "one glass, with a picture")
    if asked:
        why = f"hydroloop compare {quoted(run.file)} {asked}"
        told = Ask(why, "what the changes did, and why")
        return [told] if in_trouble(result) else [glass, told]
    return [
        glass,
        *(
            Ask(f"hydroloop compare {here} {change}", what)
            for change, what in changes_to_try(result)
        ),
    ]


def _plants(run: ModelRun, over: list[str]) -> list[Ask]:
    """The question about the plants of the town that is furthest over its design limits."""
    from hydroloop.outputs.document import Ask

    asked = words_again(run.sets, run.scales, run.plans)
    return [
        Ask(
            " ".join(filter(None, ("hydroloop capacity", quoted(run.file), town, asked))),
            "are its plants big enough",
        )
        for town in over[:1]
    ]
