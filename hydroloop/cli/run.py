"""``hydroloop run``: the answer, tables, pictures and the water record of a scenario."""

from __future__ import annotations

import json
import re
import shlex
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    from hydroloop.outputs.run.result import Result
    from hydroloop.units.printing import System

_WIDEST = 60  # letters of a command with what it is for beside it


@click.command(name="run")
@options.scenario_file
@options.plan
@options.changes
@options.count_as
@options.units
@click.option("--out", help="Folder to write; by default NAME-results in the current folder.")
@options.force
@options.pictures("few: those of the town whose water was used most; all: of every town.")
@click.option("--no-pictures", is_flag=True, help="The same as --pictures none.")
@options.as_json
@options.verbose
def command(file: str, plan_file: str | None, sets: dict[str, str], scales: dict[str, str],
            units: System, out: str | None, force: bool, pictures: str, no_pictures: bool,
            as_json: bool, verbose: bool) -> None:
    """Run a scenario: how much of each town's tap water was used before, and all that goes with it.

    FILE is a scenario file, or the name of one that comes with hydroloop. The answer and short
    tables are shown; the water record, all tables, pictures and the inputs used go into a folder.

    With --plan its steps are taken before the run, on top of --set and --scale; what was changed is
    told.
    """
    from hydroloop.files.folder import check_free, whole_folder
    from hydroloop.files.listing import files_in
    from hydroloop.outputs.run.pictures import being_drawn, drawing_pool, pictures_of

    progress = Progress(verbose)
    before = options.opened(file, {}, {})
    changed, plan = options.all_at_once(
        lambda: options.changed(before, sets, scales),
        lambda: None if plan_file is None else options.read_plan(plan_file))
    scenario = plan.taken(changed) if plan else changed
    target = Path(out) if out else Path(f"{Path(file).stem}-results")
    there = check_free(target, force=force)
    options.warn(scenario)
    how_many = "none" if no_pictures else pictures
    with drawing_pool(0 if how_many == "none" else 4) as pool:
        # Loaded only now: the pool gets ready in the meantime.
        from hydroloop.outputs.document.as_text import block_lines
        from hydroloop.outputs.document.wording import number_of
        from hydroloop.outputs.run.report import full_report, report_values
        from hydroloop.outputs.run.result import result_of
        from hydroloop.outputs.run.results import write_results
        from hydroloop.outputs.whatif.changed import changed_inputs, plan_facts, plan_section
        from hydroloop.waterworks import simulate

        announce_compiling()
        with progress.step("running the season"):
            record = simulate(scenario)
        with progress.step("following the water"):
            result = result_of(scenario, record, units)
        if sets or scales or plan:
            result = replace(result, changed=changed_inputs(before, scenario, units))
        wanted, report = pictures_of(result, how_many), full_report(result)
        if plan:
            report = [*block_lines([plan_section(plan)], units), "", *report]
        with whole_folder(target, force=force, before=there) as folder, progress.step(
                f"writing the record, the tables and {number_of(len(wanted), 'picture')}"):
            with being_drawn(result, wanted, folder, pool):
                write_results(result, report, folder)
            files = files_in(folder)
    if as_json:
        told = {"plan": plan_facts(plan)} if plan else {}
        values = {**told, **report_values(result), "folder": str(target), "files": files}
        click.echo(json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False))
        return
    click.echo("\n".join(report))
    asked = " ".join(map(_quoted, _asked(sets, scales, plan_file)))
    click.echo("\n" + "\n".join([*_where(target, len(wanted)), "",
                                 *_next(file, result, target, asked)]))


def _asked(sets: dict[str, str], scales: dict[str, str], plan_file: str | None) -> list[str]:
    """The options with which a scenario was changed, as they would be given again."""
    words = [word for option, pairs in (("--set", sets), ("--scale", scales))
             for key, value in pairs.items() for word in (option, f"{key}={value}")]
    use = options.counted_as()
    words += [] if use is None else ["--count-as", use]
    return words if plan_file is None else ["--plan", plan_file, *words]


def _quoted(word: str) -> str:
    """A word as every terminal takes it for one; where it has quotes or signs, most of them."""
    if re.fullmatch(r"[\w./=:+-]+", word):
        return word
    return shlex.quote(word) if re.search(r'["$`!]', word) else f'"{word}"'


def _next(file: str, result: Result, target: Path, asked: str) -> list[str]:
    """What a reader may ask next, with names of this run; of a changed one as it was run."""
    town, here = result.most_used_town, _quoted(file)
    run = _quoted((target / "inputs" / "scenario.toml").as_posix()) if asked else here
    compare = (f"compare {here} {asked}", "what the changes did, and why") if asked else (
        f"compare {here} --scale town.{town}.people=1.3", "what if, and why")
    rows = [(f"glass {run} {town}", "one glass of tap water"),
            (f"drops {run} {town} --backward", "where single drops came from"),
            compare,
            (f"capacity {run} {town}", "is the plant big enough")]
    wide = max(len(words) for words, _ in rows)
    if wide > _WIDEST:
        return ["Ask next:", *(f"  hydroloop {words}\n      {what}" for words, what in rows)]
    return ["Ask next:", *(f"  hydroloop {words:{wide}}  {what}" for words, what in rows)]


def _where(target: Path, pictures: int) -> list[str]:
    """Where the files are, and what is in them."""
    lines = [f"Written to {target}/",
             "  answer.txt     what stands above",
             "  tables/        all tables as CSV, day by day too"]
    if pictures:
        lines.append("  pictures/      for the projector (png) and for print (svg), with captions")
    return [*lines,
            "  inputs/        the scenario as it was run, and the files it reads",
            "  record.nc      the water record: every store and flow, every step (NetCDF)",
            "  cautions.txt   what the results are not for"]
