"""``hydroloop new``: a scenario to start from."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.showing import show

if TYPE_CHECKING:
    from hydroloop.units.printing import System

_QUESTIONS = {
    "town": "Name of the town",
    "people": "People who live there",
    "river": "Name of its river",
    "upstream": "People in a town upstream on the same river (0 if there is none)",
    "flow": "What the river brings",
}


@click.command(name="new")
@click.argument("path", required=False)
@click.option("--out", help="The same as PATH.")
@click.option("--town", help="Name of the town.")
@click.option("--people", help="People who live there.")
@click.option("--river", help="Name of its river.")
@click.option("--upstream", help="People in a town upstream on the same river; 0 for none.")
@click.option("--flow", help='What the river brings: "25 cfs", "0.7 m3/s".')
@click.option("--start", help="First day, such as 2031-04-01.")
@click.option("--end", help="Last day.")
@click.option("--latitude", help='Such as "45 N".')
@click.option(
    "--units",
    "system",
    type=click.Choice(["us", "metric"]),
    default="us",
    show_default=True,
    help="Units in which the file is written.",
)
@options.force
@options.as_json
def command(
    path: str | None,
    out: str | None,
    system: System,
    force: bool,
    as_json: bool,
    **given: str | None,
) -> None:
    """Write a scenario file to start from.

    Asks a few questions; with any of the flags, or where nobody can answer, it takes defaults
    instead. PATH is the file to write, by default the town's name in the current folder.
    """
    from hydroloop.files.file import check_free_file, write_file
    from hydroloop.outputs.scenario.starter import (
        Beginning,
        defaults_taken,
        key_of,
        scenario_text,
        starter_document,
    )
    from hydroloop.scenario import read_toml

    if path and out and path != out:
        raise click.UsageError("PATH and --out name two files. Give one of them.")
    answers = {name: text for name, text in given.items() if text is not None}
    target = path or out
    if target:
        check_free_file(target, force=force)
    if not answers and not as_json and sys.stdin is not None and sys.stdin.isatty():
        answers = {
            "start": Beginning.start,
            "end": Beginning.end,
            "latitude": Beginning.latitude,
            **_asked(system),
        }
    asked = Beginning(system=system, **answers)
    text = scenario_text(asked)
    if taken := defaults_taken(asked, answers):
        click.echo(f"note: nobody was asked; taken by default: {taken}", err=True)
    warnings = read_toml(text).warnings
    file = Path(target or f"{key_of(asked.town)}.toml")
    write_file(file, text.encode(), force=force)
    for problem in warnings:
        click.echo(f"note: {problem}", err=True)
    if as_json:
        show(starter_document(asked, str(file)), as_json=True)
        return
    click.echo(
        f"Wrote {file}. Change it in any editor, then:\n\n"
        f"    hydroloop check {_shell(file)}\n    hydroloop run {_shell(file)}\n"
        f"    hydroloop glass {_shell(file)} {key_of(asked.town)}"
    )


def _shell(file: Path) -> str:
    return f'"{file}"' if " " in str(file) else str(file)


def _asked(system: System) -> dict[str, str]:
    """Ask the questions; an answer that cannot be used is asked again."""
    from hydroloop.outputs.scenario.starter import Beginning, answer_problem, suitable_flow
    from hydroloop.units import parse

    click.echo("Press Enter to take what stands in brackets.", err=True)
    answers: dict[str, str] = {}
    for name, question in _QUESTIONS.items():
        default = getattr(Beginning(), name)
        if name == "flow":
            people = sum(parse(answers[key], "count").value for key in ("people", "upstream"))
            default = suitable_flow(people, system)

        def usable(text: Any, name: str = name) -> str:
            if wrong := answer_problem(name, str(text)):
                raise click.UsageError(wrong)
            return str(text)

        answers[name] = click.prompt(question, default=default, value_proc=usable, err=True)
    return answers
