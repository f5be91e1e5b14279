"""The commands of ``hydroloop``; each is loaded only when it is called."""

from __future__ import annotations

import atexit
import difflib
import gc
import importlib
import io
import os
import sys
from typing import Any

import click

from hydroloop import __version__
from hydroloop.cli.failing import plain_failures
from hydroloop.visible import VisibleStream, told

# Module of each command, and the line that `hydroloop --help` shows for it.
_COMMANDS = {
    "new": ("hydroloop.cli.new", "Write a scenario file, from a few questions or from flags."),
    "check": ("hydroloop.cli.check", "Check a scenario file: problems, warnings, what is given."),
    "run": ("hydroloop.cli.run", "Run a scenario: the answer, tables, pictures, the water record."),
    "glass": ("hydroloop.cli.glass", "One town on one date: how often its tap water was used."),
    "drops": ("hydroloop.cli.drops", "Diaries of single drops of water, with dates and places."),
    "compare": ("hydroloop.cli.compare", "Two runs side by side: what differs, and why."),
    "sweep": ("hydroloop.cli.sweep", "A grid of runs over one key or more."),
    "spread": ("hydroloop.cli.spread", "A band instead of a number, from ranges of inputs."),
    "capacity": ("hydroloop.cli.capacity", "Is the plant big enough, until when, what would help."),
    "report": ("hydroloop.cli.report", "A report of a run: a page to read, and the same to print."),
    "lesson": ("hydroloop.cli.lesson", "Sheets to hand out: drops to tally, worksheets, answers."),
    "challenge": ("hydroloop.cli.challenge", "Plans of teams against a brief: a board, and why."),
    "week": ("hydroloop.cli.week", "A week by the hour: demand, the plant, and the tanks between."),
    "round": ("hydroloop.cli.round", "The operator's round: a day of readings, hour by hour."),
    "page": ("hydroloop.cli.page", "One HTML page that works offline, with dials to turn."),
    "serve": ("hydroloop.cli.serve", "The page live: a small server for a class on one network."),
    "explain": ("hydroloop.cli.explain", "What a key of the scenario file means, with its source."),
}


class Commands(click.Group):
    """The group of all commands, in the order in which a newcomer needs them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands."""
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load a command; None if there is none of that name."""
        if cmd_name not in _COMMANDS:
            return None
        loaded: click.Command = importlib.import_module(_COMMANDS[cmd_name][0]).command
        return loaded

    def make_context(
        self,
        info_name: str | None,
        args: list[str],
        parent: click.Context | None = None,
        **extra: Any,
    ) -> click.Context:
        """Read the words of the command line, with streams that print what can be."""
        _print_what_can_be()
        return super().make_context(info_name, args, parent, **extra)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that was asked for, or offer the nearest."""
        if args and args[0] not in _COMMANDS and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0], _COMMANDS, n=1)
            cure = f'Did you mean "{near[0]}"?' if near else f"There are: {', '.join(_COMMANDS)}."
            ctx.fail(f'There is no command "{args[0]}". {cure}')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in _COMMANDS.items()])

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; what goes wrong is said in plain lines."""
        _tidy_rarely()
        # Notebooks set for their shell commands what only a notebook can draw with.
        os.environ["MPLBACKEND"] = "agg"
        with plain_failures(ctx):
            return super().invoke(ctx)


def _tidy_rarely() -> None:
    """Look for garbage rarely, and not at the end: a command is short and its libraries are many.

    Measured on the five towns: 0.5 s of 3.5 s.
    """
    gc.set_threshold(200_000, 20, 100)
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)


def _print_what_can_be() -> None:
    """Letters that the terminal does not know become question marks, and end no command; nothing
    steers the terminal, and no message fills it with what was given."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    if not (sys.stdout is None or isinstance(sys.stdout, VisibleStream)):
        sys.stdout = VisibleStream(sys.stdout)
    if not (sys.stderr is None or isinstance(sys.stderr, VisibleStream)):
        sys.stderr = VisibleStream(sys.stderr, told)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(
    __version__, "-V", "--version", prog_name="hydroloop", message="%(prog)s %(version)s"
)
def main() -> None:
    """How much of a town's tap water has been used before, with every litre accounted for.

    Begin with a scenario that comes with hydroloop:

    \b
        hydroloop run first_town
        hydroloop glass five_towns osselby

    or write your own:

    \b
        hydroloop new my_town.toml
        hydroloop check my_town.toml
        hydroloop run my_town.toml

    A teaching model: not for designing, operating or judging a real water system, nor for advice on
    health.
    """
