"""``hydroloop capacity``: a town's plants against its demand, now and over the years."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.one_picture import one_picture
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="capacity")
@options.scenario_file
@click.argument("town", required=False)
@options.plan
@options.changes
@options.units
@click.option("--all", "whole", is_flag=True,
              help="Every step of both plants too: contact by month, sewers, what is taken out.")
@click.option("--units-out", type=click.IntRange(min=0), default=1, show_default=True,
              help="Units of each step out of service, for the firm capacity.")
@click.option("--out", help="Picture to write, .png or .svg; by default TOWN-capacity.png.")
@options.force
@click.option("--no-pictures", is_flag=True, help="Words only.")
@options.as_json
@options.verbose
def command(file: str, town: str | None, plan_file: str | None, sets: dict[str, str],
            scales: dict[str, str], units: System, whole: bool, units_out: int, out: str | None,
            force: bool, no_pictures: bool, as_json: bool, verbose: bool) -> None:
    """Capacity against demand: is the plant big enough, until when, and what would help.

    By default the first TOWN of the scenario. Each step of the plants is held against published
    design standards, chlorine contact against the published tables, and growth is followed to the
    year in which each limit is reached.

    With --plan its steps are taken first, on top of --set and --scale. Works stay as the file sizes
    them unless a change is to the works themselves.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.charts.words import place_words
    from hydroloop.files.file import check_free_file
    from hydroloop.outputs.capacity_words import capacity_lines, draw_capacity, step_lines
    from hydroloop.outputs.document.as_text import block_lines
    from hydroloop.outputs.pictures import check_format
    from hydroloop.outputs.place import town_of
    from hydroloop.outputs.plants.capacity_facts import facts
    from hydroloop.outputs.plants.separation_words import (
        separation_facts,
        separation_lines,
        together_lines,
    )
    from hydroloop.outputs.whatif.changed import plan_facts, plan_section
    from hydroloop.outputs.whatif.held import held_sentence
    from hydroloop.studies.capacity_study import capacity_study
    from hydroloop.studies.separation import separations
    from hydroloop.waterworks import simulate

    progress = Progress(verbose)
    before = options.opened(file, {}, {})
    changed, plan = options.all_at_once(lambda: options.changed(before, sets, scales),
                                        lambda: options.read_plan(plan_file) if plan_file else None)
    scenario = plan.taken(changed) if plan else changed
    name = town_of(list(scenario.town), town)
    if out:
        check_format(out)
        check_free_file(out, force=force)
    options.warn(scenario)
    announce_compiling()
    with progress.step("running the season"):
        record = simulate(scenario)
    with progress.step("holding the plants against demand"):
        study = capacity_study(scenario, record, name, out=units_out)
        # Following the materials takes longer than all the rest: only where they are shown.
        towns = separations(scenario, record, list(scenario.town)) if whole or as_json else {}
    held = held_sentence(scenario, units, name)
    picture = one_picture(out, None if no_pictures else f"{name}-capacity.png", force=force)
    if picture.to_draw:
        with progress.step("drawing the bars"):
            draw_capacity(study, picture.to_draw, units, force=force)
    if as_json:
        told = {"plan": plan_facts(plan)} if plan else {}
        values = {**told, **facts(study), "held": held, "separation": separation_facts(towns[name]),
                  "at_taps": {town: {**one.at_tap, "used_share": one.used_share}
                              for town, one in towns.items()},
                  "picture": picture.fact}
        click.echo(json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        place = place_words(name)
        more = [*step_lines(study, units), "", *separation_lines(towns[name], place), "",
                *together_lines(towns)] if whole else []
        lines = capacity_lines(study, place, units, more, held)
        head = [*block_lines([plan_section(plan)], units), ""] if plan else []
        click.echo("\n".join([*head, *lines]))
        if not whole:
            click.echo("\nAsk next: --all shows every step of both plants against its rule, "
                       "chlorine contact\nby month, what the sewers carry, and what each step "
                       "takes out.")
    picture.tell(as_json=as_json)
