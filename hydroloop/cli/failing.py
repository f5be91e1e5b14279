"""What is said when something goes wrong: plain lines on stderr, and an exit code."""

from __future__ import annotations

import errno
import logging
import re
import signal
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import NoReturn

import click

from hydroloop.errors import HydroloopError, HydroloopWarning, InputError, Problem
from hydroloop.processes import ended_by_signals

BAD_INPUT = 2


class Stopped(KeyboardInterrupt):
    """The program was told to end, by the number of a signal."""


def stop(number: int) -> NoReturn:
    """End the program because of a signal."""
    raise Stopped(number)


_FILE = re.compile(r".+?\.toml(?=:|$)")  # what follows it may be a user's words
_BY_SIGNAL = 128
"""What a shell adds to the number of the signal that ended a program: 130 for Ctrl-C."""

_LEFT_UNDONE = {
    "new": "nothing was written",
    "run": "nothing was run",
    "glass": "nothing was run",
    "drops": "nothing was run",
    "page": "nothing was written",
}


@contextmanager
def plain_failures(ctx: click.Context) -> Iterator[None]:
    """Turn errors into lines on stderr and an exit code, without a traceback.

    A fault of hydroloop itself still shows its traceback, as whoever mends it needs it.
    """
    _speak_warnings_plainly()
    try:
        with ended_by_signals(stop):
            yield
    except HydroloopError as error:
        _leave(ctx, lines_of(error, _LEFT_UNDONE.get(ctx.invoked_subcommand or "", "")), BAD_INPUT)
    except (KeyboardInterrupt, click.Abort) as stopped:
        number = stopped.args[0] if isinstance(stopped, Stopped) else signal.SIGINT
        with suppress(OSError):  # its terminal may have been closed
            click.echo("\nStopped; nothing was left half written.", err=True)
        ctx.exit(_BY_SIGNAL + number)
    except MemoryError:
        _leave(
            ctx,
            [
                "There is not enough memory for this. Run fewer days, a longer step or fewer "
                "towns; hydroloop check tells what a season needs."
            ],
            BAD_INPUT,
        )
    except OSError as error:
        if error.errno == errno.EPIPE:
            raise
        _leave(ctx, [_of_system(error)], BAD_INPUT)


def lines_of(error: HydroloopError, left_undone: str = "") -> list[str]:
    """One line a problem, for stderr, and for bad input a last line that counts them and says what
    was `left_undone`."""
    if not isinstance(error, InputError):
        return [str(error)]
    return [*error.lines(), count_line(error.problems, left_undone, error.more)]


def count_line(problems: Sequence[Problem], left_undone: str = "", more: int = 0) -> str:
    """How many problems there are, and in which file if they are all in one."""
    count = len(problems) + more
    files = {named[0] for problem in problems if (named := _FILE.match(problem.where))}
    head = f"{files.pop()}: " if len(files) == 1 else ""
    found = "1 problem found" if count == 1 else f"{count:,} problems found"
    return f"{head}{found}" + (f"; {left_undone}." if left_undone else ".")


def _leave(ctx: click.Context, lines: list[str], code: int) -> NoReturn:
    for line in lines:
        click.echo(line, err=True)
    ctx.exit(code)


def _of_system(error: OSError) -> str:
    words = (error.strerror or str(error) or type(error).__name__).rstrip(".")
    where = f"{error.filename}: " if error.filename else ""
    return f"{where}{words[:1].lower()}{words[1:]}. Check the path, its permissions and the disk."


def _speak_warnings_plainly() -> None:
    """Our own warnings in one line; those of libraries are for developers."""

    def show(message, category, filename, lineno, file=None, line=None):
        if issubclass(category, HydroloopWarning):
            click.echo(f"note: {message}", err=True)

    warnings.showwarning = show
    # Where the home folder is read-only, pictures are drawn all the same.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
