"""What every command that runs the model is asked, and how its document goes out."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import cached_property, wraps
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.one_picture import one_picture
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show, written

if TYPE_CHECKING:
    from hydroloop.outputs.document import Document
    from hydroloop.outputs.document.writing import Beside
    from hydroloop.outputs.whatif.changed import Changed
    from hydroloop.scenario import Scenario
    from hydroloop.units.printing import System
    from hydroloop.whatif import Plan


class ModelRun:
    """A scenario with the changes asked for, its units, and where its document is to go."""

    def __init__(self, file: str, plan_file: str | None, sets: dict[str, str],
                 scales: dict[str, str], units: System, out: str | None, *, force: bool,
                 as_json: bool, verbose: bool):
        self.file, self.plan_file, self.sets, self.scales = file, plan_file, sets, scales
        self.units, self.out, self.force, self.as_json = units, out, force, as_json
        self.progress = Progress(verbose)
        self._there: bytes | None = None

    @cached_property
    def _opened(self) -> tuple[Scenario, Plan | None, Scenario]:
        before = options.opened(self.file, {}, {})
        changed, plan = options.all_at_once(
            lambda: options.changed(before, self.sets, self.scales),
            lambda: options.read_plan(self.plan_file) if self.plan_file else None)
        return before, plan, plan.taken(changed) if plan else changed

    @property
    def scenario(self) -> Scenario:
        """As it is run."""
        return self._opened[2]

    def changed(self, town: str | None = None) -> Changed:
        """What was changed before the run, for the head of a document."""
        from hydroloop.outputs.whatif.changed import changed_run

        before, plan, scenario = self._opened
        return changed_run(before, scenario, plan, self.units, town)

    def begin(self, *, arrays: bool = False) -> None:
        """Make sure that --out may be written, and say what is unusual, before any work is done."""
        from hydroloop.outputs.document.writing import check_target

        self._there = check_target(self.out, force=self.force, arrays=arrays)
        options.warn(self.scenario)
        announce_compiling()

    def step(self, words: str) -> AbstractContextManager[None]:
        """Do one step, and say so where it takes long."""
        return self.progress.step(words)

    def tell(self, document: Document, beside: Beside | None = None, *, usual: str | None = None,
             full: bool = False, width: int | None = None) -> None:
        """Write a document where --out asks for it, else its picture under its usual name; show it.
        """
        picture = None if self.out else one_picture(usual, force=self.force)
        if picture and picture.to_draw:
            from hydroloop.outputs.document.writing import write_document

            with self.step("drawing"):
                document = write_document(document, str(picture.to_draw), force=self.force)
        if self.out:
            from hydroloop.outputs.document.writing import Beside

            beside = beside or Beside({"scenario.toml": self.scenario})
            document = written(document, self.out, self.progress, beside, force=self.force,
                               before=self._there)
        show(document, as_json=self.as_json, full=full, width=width)
        if picture:
            picture.tell()


def model_run(out: str) -> options.Decorator:
    """The options of all commands that run the model, as the parameter `run`; `out` says what
    --out writes."""

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        @options.plan
        @options.changes
        @options.units
        @options.out(out)
        @options.force
        @options.as_json
        @options.verbose
        @wraps(command)
        def with_run(*given: Any, file: str, plan_file: str | None, sets: dict[str, str],
                     scales: dict[str, str], units: System, out: str | None, force: bool,
                     as_json: bool, verbose: bool, **others: Any) -> Any:
            run = ModelRun(file, plan_file, sets, scales, units, out, force=force, as_json=as_json,
                           verbose=verbose)
            return command(*given, run=run, **others)

        return with_run

    return decorate


def no_pictures(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --no-pictures."""
    return click.option("--no-pictures", is_flag=True, help="Words only.")(command)
