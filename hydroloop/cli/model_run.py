"""What every command that runs the model is asked, and how its document goes out."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import cached_property, wraps
from typing import TYPE_CHECKING, Any

from hydroloop.cli import options
from hydroloop.cli.one_picture import one_picture
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show, written

if TYPE_CHECKING:
    import xarray as xr

    from hydroloop.outputs.document import Document
    from hydroloop.outputs.document.writing import Beside
    from hydroloop.outputs.run.result import Result
    from hydroloop.outputs.whatif.changed import Changed
    from hydroloop.scenario import Scenario
    from hydroloop.units.printing import System
    from hydroloop.whatif import Change, Comparison, Plan


class ModelRun:
    """A scenario with the changes asked for, its units, and where its document is to go."""

    def __init__(
        self,
        file: str,
        plan_file: str | None,
        sets: dict[str, str],
        scales: dict[str, str],
        units: System,
        out: str | None,
        *,
        force: bool,
        as_json: bool,
        verbose: bool,
        records: bool = False,
    ):
        self._is_record = records and file.lower().endswith(".nc")
        self.file, self.plan_file, self.sets, self.scales = file, plan_file, sets, scales
        self.units, self.out, self.force, self.as_json = units, out, force, as_json
        self.progress = Progress(verbose)
        self._there: bytes | None = None

    @cached_property
    def _opened(self) -> tuple[Scenario, Plan | None, Scenario]:
        if self._is_record:
            return self._recorded[0], None, self._recorded[0]
        before = options.opened(self.file, {}, {})
        changed, plan = options.all_at_once(
            lambda: options.changed(before, self.sets, self.scales),
            lambda: options.read_plan(self.plan_file) if self.plan_file is not None else None,
        )
        return before, plan, plan.taken(changed) if plan else changed

    @cached_property
    def _recorded(self) -> tuple[Any, xr.Dataset]:
        from hydroloop.outputs.run.recorded import opened_record

        stands_for, record = opened_record(self.file, self.sets, self.scales, self.plan_file)
        use = options.counted_as()
        return stands_for, record.assign_attrs(count_as=use) if use else record

    @property
    def plans(self) -> list[str]:
        """The plan that was named, if one was."""
        return [] if self.plan_file is None else [self.plan_file]

    @property
    def scenario(self) -> Scenario:
        """As it is run."""
        return self._opened[2]

    def changed(self, town: str | None = None) -> Changed:
        """What was changed before the run, for the head of a document."""
        from hydroloop.outputs.document import Ran
        from hydroloop.outputs.whatif.changed import Changed, changed_run

        if self._is_record:
            season = self.scenario.season
            return Changed(
                Ran(self.scenario.title, (season.start, season.end), names=self.scenario.names), []
            )
        before, plan, scenario = self._opened
        return changed_run(before, scenario, plan, self.units, town)

    def begin(self, *, arrays: bool = False, runs: bool = True, check: bool = True) -> None:
        """Make sure that --out may be written, and say what is unusual, before any work is done."""
        from hydroloop.outputs.document.writing import check_target

        if check:
            self._there = check_target(self.out, force=self.force, arrays=arrays)
        if self._is_record:
            return
        options.warn(self.scenario)
        if runs:
            announce_compiling()

    def step(self, words: str) -> AbstractContextManager[None]:
        """Do one step, and say so where it takes long."""
        return self.progress.step(words)

    def record(self) -> xr.Dataset:
        """The water record: run now, or as it was given."""
        if self._is_record:
            return self._recorded[1]
        from hydroloop.waterworks import simulate

        with self.step("running the season"):
            return simulate(self.scenario)

    def result(self, day: Any = None) -> Result:
        """The record with its measures; `day` is that of the glasses."""
        from hydroloop.outputs.run.result import result_of

        record = self.record()
        with self.step("following the water"):
            return result_of(self.scenario, record, self.units, day)

    def compared(self) -> Comparison | None:
        """The run against that of the file as it is; None where nothing was changed."""
        from hydroloop.whatif import compare

        if self._is_record or self._opened[0] is self.scenario:
            return None
        with self.step("running the changes one by one"):
            return compare(self._opened[0], self.scenario, asked=self._asked())

    def _asked(self) -> list[Change]:
        """The changes that led to the scenario, as they were asked for."""
        from hydroloop.whatif.difference import changes_of_plan

        plan = self._opened[1]
        return [
            *options.asked_changes(self.sets, self.scales),
            *(changes_of_plan(plan) if plan else []),
        ]

    def tell(
        self,
        document: Document,
        beside: Beside | None = None,
        *,
        usual: str | None = None,
        full: bool = False,
        width: int | None = None,
    ) -> None:
        """Write a document where --out says, else its picture under its usual name; show it."""
        draws = not (self.out or options.words_only())
        picture = one_picture(usual, force=self.force) if draws else None
        if picture and picture.to_draw:
            from hydroloop.outputs.document.writing import write_document

            with self.step("drawing"):
                document = write_document(document, str(picture.to_draw), force=self.force)
        if self.out and not beside:
            from hydroloop.outputs.document.writing import Beside

            beside = Beside({} if self._is_record else {"scenario.toml": self.scenario})
        document = written(
            document, self.out, self.progress, beside, force=self.force, before=self._there
        )
        show(document, as_json=self.as_json, full=full, width=width)
        if picture:
            picture.tell()


def model_run(out: str, *, records: bool = False, page_only: bool = False) -> options.Decorator:
    """Options of the commands that run the model, as the parameter `run`; `out` says what is
    written, whether that is a page and nothing else, and with `records` a water record may stand
    for the scenario."""

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        @options.plan
        @options.changes
        @options.count_as
        @options.units
        @options.out(out, page_only=page_only)
        @options.force
        @options.as_json
        @options.verbose
        @wraps(command)
        def with_run(
            *given: Any,
            file: str,
            plan_file: str | None,
            sets: dict[str, str],
            scales: dict[str, str],
            units: System,
            out: str | None,
            force: bool,
            as_json: bool,
            verbose: bool,
            **others: Any,
        ) -> Any:
            run = ModelRun(
                file,
                plan_file,
                sets,
                scales,
                units,
                out,
                force=force,
                as_json=as_json,
                verbose=verbose,
                records=records,
            )
            return command(*given, run=run, **others)

        return with_run

    return decorate
