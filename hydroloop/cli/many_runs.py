"""Options of the commands that make many runs: where they are made, and where they are kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import wraps
from pathlib import Path
from typing import Any, NamedTuple

import click

from hydroloop.cli import options


class Runs(NamedTuple):
    """Where many runs are made and kept."""

    workers: int | None  # processes on this machine; None: as many as there are cores
    scheduler: str | None  # address of a Dask scheduler
    keep: str | None  # folder in which results are kept

    def asked(self) -> dict[str, Any]:
        """The same as the functions take it."""
        return {"workers": self.workers, "scheduler": self.scheduler, "store": self.keep}

    def check_apart(self, out: str | None) -> None:
        """Make sure that results are not written over the runs that are kept."""
        from hydroloop.errors import AskError, Problem

        if out and self.keep and Path(out).absolute() == Path(self.keep).absolute():
            raise AskError(
                Problem("--keep", f"{self.keep} is the folder of --out too.", "Name two folders.")
            )

    @contextmanager
    def kept_when_stopped(self) -> Iterator[None]:
        """Say how to go on after Ctrl-C, where results are kept."""
        try:
            yield
        except KeyboardInterrupt:
            if self.keep:
                with suppress(OSError):  # its terminal may have been closed
                    click.echo(
                        f"\nFinished runs are kept in {self.keep}: the same command goes on "
                        "from there.",
                        err=True,
                    )
            raise


def many_runs(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options --workers, --scheduler and --keep, as the parameter `runs`."""

    @click.option(
        "--workers",
        type=options.WholeNumber(1, 2),
        help="Processes on this machine; by default all cores, where that ends sooner.",
    )
    @click.option("--scheduler", help="Address of your own Dask scheduler, for more machines.")
    @click.option("--keep", help="Folder in which results are kept; begun work goes on there.")
    @wraps(command)
    def with_runs(
        *given: Any, workers: int | None, scheduler: str | None, keep: str | None, **others: Any
    ) -> Any:
        return command(*given, runs=Runs(workers, scheduler, keep), **others)

    return with_runs
