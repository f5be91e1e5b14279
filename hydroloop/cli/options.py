"""Arguments and options that several commands share."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import click

from hydroloop.gates import USES

if TYPE_CHECKING:
    from hydroloop.scenario import Scenario
    from hydroloop.whatif import Change, Plan

_COUNT_AS = "what counts as a use"
_NO_PICTURES = "no pictures"
_THOUSANDS = re.compile(r"0\d\d")


class WholeNumber(click.ParamType):  # generic from click 8.4 on only
    """A whole number from a least one up, refused in the words of the other messages."""

    name = "whole number"

    def __init__(self, least: int, example: int):
        self.least, self.example = least, example

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number that was typed."""
        try:
            number = int(value)
        except ValueError:
            number = self.least - 1
        if number < self.least:
            self.fail(
                f'"{value}" is not a whole number from {self.least} up. Write for example '
                f"{self.example}.",
                param,
                ctx,
            )
        return number


Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def scenario_file(command: Callable[..., Any]) -> Callable[..., Any]:
    """The argument FILE: a scenario file, or the name of one that comes with hydroloop."""
    return click.argument("file", metavar="FILE")(command)


def _pairs(ctx: click.Context, option: click.Parameter, given: tuple[str, ...]) -> dict[str, str]:
    """KEY=VALUE words as a mapping; of two values of one key none is guessed to be meant."""
    example = "river.wren.inflow=0.5" if option.name == "scales" else "town.larkmill.people=30000"
    pairs = {}
    for word in given:
        key, sign, value = word.partition("=")
        if not sign or not key.strip() or not value.strip():
            raise click.BadParameter(
                f'"{word}" is not KEY=VALUE. Write for example {option.opts[0]} {example}.',
                ctx,
                option,
            )
        if key.strip() in pairs:
            raise click.BadParameter(f'"{key.strip()}" is given twice. Give it once.', ctx, option)
        pairs[key.strip()] = value.strip()
    return pairs


def changes(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options --set and --scale, as the parameters `sets` and `scales`."""
    scales = click.option(
        "--scale",
        "scales",
        multiple=True,
        metavar="KEY=FACTOR",
        callback=_pairs,
        help="Multiply a key: --scale river.wren.inflow=0.5. May be given several times.",
    )
    sets = click.option(
        "--set",
        "sets",
        multiple=True,
        metavar="KEY=VALUE",
        callback=_pairs,
        help="Change a key: --set town.larkmill.people=30000; * stands for all: "
        '--set "town.*.mains.real_losses=8 %"; default takes a key out of the file: '
        "--set river.wren.minimum_flow=default. May be given several times.",
    )
    return sets(scales(command))


def _counted_as(ctx: click.Context, option: click.Parameter, given: str | None) -> None:
    ctx.meta[_COUNT_AS] = given


def count_as(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --count-as, which every scenario that is opened then takes."""
    return click.option(
        "--count-as",
        type=click.Choice(list(USES)),
        expose_value=False,
        callback=_counted_as,
        help="What counts as a use; by default what the scenario says (season.count_as), else "
        "home.",
    )(command)


def counted_as() -> str | None:
    """What --count-as says, if it was given."""
    ctx = click.get_current_context(silent=True)
    return ctx.meta.get(_COUNT_AS) if ctx else None


def units(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --units."""
    return click.option(
        "--units",
        type=click.Choice(["us", "metric"]),
        default="us",
        show_default=True,
        help="Units in which results are shown.",
    )(command)


def plan(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --plan, as the parameter `plan_file`."""
    return click.option(
        "--plan",
        "plan_file",
        metavar="FILE",
        help="Plan of changes, a TOML file with steps, reasons and points; "
        "hydroloop explain plan tells what it may hold.",
    )(command)


def as_json(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --json, as the parameter `as_json`."""
    return click.option(
        "--json", "as_json", is_flag=True, help="Print one JSON object instead of words."
    )(command)


def out(meaning: str, *, page_only: bool = False) -> Decorator:
    """Option --out: a folder, or a file in the form of its ending; `meaning` says what goes in."""
    forms = (
        ""
        if page_only
        else (" A folder, or one file that ends in .html, .pdf, .txt, .png or .svg.")
    )
    return click.option("--out", metavar="FOLDER|FILE", help=f"{meaning}{forms}")


def paper(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --paper."""
    return click.option(
        "--paper",
        type=click.Choice(["a4", "letter"]),
        help="Paper of the PDF files; by default letter with --units us, else a4.",
    )(command)


def full(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --full."""
    return click.option(
        "--full", is_flag=True, help="Print all of it, not the short answer alone."
    )(command)


def force(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --force."""
    return click.option(
        "--force",
        is_flag=True,
        help="Replace what hydroloop wrote there before, where nobody changed it.",
    )(command)


def pictures(meaning: str) -> Decorator:
    """The option --pictures, with what few and all mean for a command."""
    return click.option(
        "--pictures",
        type=click.Choice(["none", "few", "all"]),
        default="few",
        show_default=True,
        help=meaning,
    )


def _without_pictures(ctx: click.Context, option: click.Parameter, given: bool) -> None:
    ctx.meta[_NO_PICTURES] = given


def no_pictures(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --no-pictures, which all that is written or drawn then takes."""
    return click.option(
        "--no-pictures",
        is_flag=True,
        expose_value=False,
        callback=_without_pictures,
        help="Words and tables only.",
    )(command)


def words_only() -> bool:
    """Whether --no-pictures was given."""
    ctx = click.get_current_context(silent=True)
    return bool(ctx and ctx.meta.get(_NO_PICTURES))


def verbose(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --verbose."""
    return click.option(
        "-v",
        "--verbose",
        is_flag=True,
        help="Say on stderr what is being done, and how long it took.",
    )(command)


def opened(
    file: str, sets: dict[str, str], scales: dict[str, str], plan_file: str | None = None
) -> Scenario:
    """The scenario of a file, checked as a whole, with what --set, --scale and --plan change."""
    if plan_file is None:
        return changed(_read(file), sets, scales)
    scenario, plan = all_at_once(lambda: opened(file, sets, scales), lambda: read_plan(plan_file))
    taken: Scenario = plan.taken(scenario)
    return taken


def _read(file: str) -> Scenario:
    from hydroloop.scenario import read_scenario

    scenario, use = read_scenario(file), counted_as()
    return scenario if use is None else scenario.changed({"season.count_as": use})


def changed(scenario: Scenario, sets: dict[str, str], scales: dict[str, str]) -> Scenario:
    """A scenario with what --set and --scale said, by key, checked as a whole."""
    from hydroloop.errors import ScenarioError
    from hydroloop.scenario import value_from_text
    from hydroloop.scenario.changing import scaled_values

    factors = {key: factor(text) for key, text in scales.items()}
    try:
        if sets:
            values = {key: value_from_text(text, key) for key, text in sets.items()}
            scenario = scenario.changed(values)
    except ScenarioError as error:
        findings = scaled_values(scenario, factors)[1]
        also = [finding.problem("change") for finding in findings]
        raise ScenarioError(list(dict.fromkeys([*error.problems, *also]))) from error
    return scenario.scaled(factors) if factors else scenario


def asked_changes(sets: dict[str, str], scales: dict[str, str]) -> list[Change]:
    """What --set and --scale change, each as it was typed."""
    from hydroloop.scenario import value_from_text
    from hydroloop.whatif.difference import changes_asked

    return changes_asked(
        {key: value_from_text(text, key) for key, text in sets.items()},
        {key: factor(text) for key, text in scales.items()},
    )


def factor(text: str) -> Any:
    """A factor given on the command line, a number or a percentage; anything else is handed on, to
    be refused with its key."""
    number, percent = text.removesuffix("%").strip(), text.endswith("%")
    try:
        return float(number) / (100.0 if percent else 1.0)
    except ValueError:
        return text


def all_at_once(*readings: Callable[[], Any]) -> list[Any]:
    """What several readings give, in order; if any of them fails, the problems of all, each
    once."""
    from hydroloop.errors import InputError

    given, problems, more = [], [], 0
    for reading in readings:
        try:
            given.append(reading())
        except InputError as error:
            problems += error.problems
            more += error.more
    if problems:
        raise InputError(list(dict.fromkeys(problems)), more)
    return given


def read_plan(path: str) -> Plan:
    """The plan of a file."""
    from hydroloop.whatif import read_plan

    return read_plan(path)


def warn(scenario: Scenario) -> None:
    """Say on stderr what is allowed but unusual in a scenario."""
    for problem in scenario.warnings:
        click.echo(f"unusual: {problem}", err=True)


def note_middles(ranges: Iterable[str]) -> None:
    """Say on stderr which keys are ranges, in a command that does not draw from them."""
    named = ", ".join(dict.fromkeys(ranges))
    if named:
        its = "their ranges" if "," in named else "its range"
        click.echo(
            f"note: taken at the middle of {its}: {named}. Only spread draws from ranges.", err=True
        )


def lists(given: tuple[str, ...], option: str) -> dict[str, list[str]]:
    """KEY=V1,V2 words as lists by key; `option` is the one they follow, for the message."""
    found: dict[str, list[str]] = {}
    for word in given:
        key, sign, values = word.partition("=")
        parts = [part.strip() for part in values.split(",") if part.strip()]
        if not sign or not key.strip() or not parts:
            raise click.BadParameter(
                f'"{word}" is not KEY=V1,V2,... Write for example {option} '
                "town.larkmill.people=20000,30000."
            )
        if any(_THOUSANDS.fullmatch(part) for part in parts[1:]):
            raise click.BadParameter(
                f'"{word}": a comma stands between two values. Write '
                "thousands without one: 20000,30000."
            )
        if key.strip() in found:
            raise click.BadParameter(
                f'"{key.strip()}" is given twice. Give all its values at once: {option} KEY=V1,V2.'
            )
        found[key.strip()] = parts
    return found


def counted(members: int | None) -> Callable[[int, int, float], None] | None:
    """Tells on a terminal how many runs are done and how long the rest will take."""
    if sys.stderr is None or not sys.stderr.isatty():
        return None

    def tell(done: int, total: int, seconds: float) -> None:
        click.echo(
            f"\r{done} of {members or total} runs, {seconds:.0f} s left  ",
            err=True,
            nl=done >= total,
        )

    return tell
