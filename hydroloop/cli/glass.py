"""``hydroloop glass``: one town, one date, in words and as a picture."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.one_picture import one_picture
from hydroloop.cli.progress import Progress
from hydroloop.cli.run import finished

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="glass")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@options.changes
@options.count_as
@options.units
@click.option("--out", help="Picture to write, .png or .svg; by default TOWN-DATE-glass.png.")
@options.force
@click.option("--no-pictures", is_flag=True, help="Words only.")
@options.as_json
@options.verbose
def command(file: str, town: str | None, date: str | None, sets: dict[str, str],
            scales: dict[str, str], units: System, out: str | None, force: bool, no_pictures: bool,
            as_json: bool, verbose: bool) -> None:
    """One glass of tap water: how often its water was used before, and when last.

    By default the TOWN whose tap water was used most, and the DATE on which most of it was, as far
    as it is known when. The answer is printed, and drawn into a picture.

    FILE is a scenario file, the name of one that comes with hydroloop, or a water record (.nc).
    """
    from hydroloop.files.file import check_free_file
    from hydroloop.outputs.cautions import SAME_WATER, SHORT, wrapped
    from hydroloop.outputs.glass_words import glass_facts, glass_lines
    from hydroloop.outputs.pictures import check_format, draw_glass
    from hydroloop.outputs.place import date_in, town_of
    from hydroloop.outputs.recorded import is_record, opened_record, result_of
    from hydroloop.outputs.whatif.changed import changed_inputs
    from hydroloop.outputs.wording import WIDTH

    progress = Progress(verbose)
    record = None
    if is_record(file):
        scenario, record = opened_record(file, sets, scales)
    else:
        before = options.opened(file, {}, {})
        scenario = options.changed(before, sets, scales)
    asked = None if town is None else town_of(list(scenario.town), town)
    day = None if date is None else date_in(scenario.season, date)
    if out:
        check_format(out)
        check_free_file(out, force=force)
    if record is None:
        options.warn(scenario)
        result = finished(scenario, units, progress, day=day)
    else:
        with progress.step("following the water"):
            result = result_of(scenario, record, units, day)
    if sets or scales:
        result = replace(result, changed=changed_inputs(before, scenario, units))
    name = asked or result.most_used_town
    on = str(result.glass_day(name))[:10]
    usual = None if no_pictures or on == "NaT" else f"{name}-{on}-glass.png"
    picture = None if out else one_picture(usual, force=force)
    target = picture.to_draw if picture else Path(out) if out and usual else None
    if target:
        with progress.step("drawing the glass"):
            draw_glass(result, name, target, force=force)
    if as_json:
        facts = {**glass_facts(result, name), "picture": str(target) if target else None}
        click.echo(json.dumps(facts, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        click.echo("\n".join(glass_lines(result, name)))
        click.echo("\n" + wrapped((SAME_WATER, *SHORT), WIDTH))
        if target:
            click.echo(f"\nPicture: {target}")
    if picture:
        picture.tell()
