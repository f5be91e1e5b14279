"""The pictures of a run."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, wait
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from hydroloop import charts
from hydroloop.charts.words import changed_words
from hydroloop.errors import AskError
from hydroloop.outputs.run.drought_picture import drought_picture, has_drought
from hydroloop.processes import held_off, worker_processes

if TYPE_CHECKING:  # what is only named here: the drawing must be ready early
    from hydroloop.outputs.run.result import Result

PICTURES = "pictures"
"""Folder of pictures inside the folder of results."""

# The slowest first, so that two workers end together.
_KINDS = ("season", "loop", "parcel", "glass")


class Wanted(NamedTuple):
    """One picture to be drawn."""

    kind: str  # `glass`, `loop`, `season` or `parcel` of a town, or `drought` or `map`
    town: str  # town it shows; empty for all

    @property
    def name(self) -> str:
        """Name of its files."""
        return f"{self.town}_{self.kind}" if self.town else self.kind


def pictures_of(result: Result, how_many: str) -> list[Wanted]:
    """Which pictures a run gets: "none", "few" (of the town whose tap water was used most),
    "all"."""
    if how_many == "none" or not result.towns:
        return []
    towns = result.towns if how_many == "all" else [result.most_used_town]
    first = [Wanted("map", "")] if "season_used_share_in_river" in result.table else []
    first += [Wanted("drought", "")] if has_drought(result.scenario, result.record) else []
    return first + [Wanted(kind, town) for town in towns for kind in _KINDS]


@contextmanager
def being_drawn(
    result: Result, wanted: Sequence[Wanted], folder: Path, pool: Executor | None = None
) -> Iterator[None]:
    """Draw pictures into a folder, each as png and svg, with captions, while other work is done;
    without a pool from `drawing_pool` at the end, one after the other."""
    where = folder / PICTURES
    tasks = [(result, one, where) for one in wanted]
    waiting: list[Future[str]] = []
    if wanted:
        where.mkdir()
    try:
        with suppress(BrokenExecutor):
            waiting = [pool.submit(drawn, *task) for task in tasks] if pool else []
        yield
        captions = _captions(waiting, tasks)
    finally:  # nobody may still write when a folder that failed is taken away
        with held_off():
            for one in waiting:
                one.cancel()
            wait(waiting)
    told = {one.name: words for one, words in zip(wanted, captions, strict=True) if words}
    if told:
        _write_captions(told, where)


def _write_captions(captions: Mapping[str, str], folder: Path) -> None:
    """What each picture shows, in words, beside them."""
    lines = [f"{name}\n  {words}\n" for name, words in sorted(captions.items())]
    (folder / "captions.txt").write_text("\n".join(lines), encoding="utf-8")


def save_pictures(figures: Mapping[str, charts.Picture], folder: Path) -> None:
    """Draw pictures, by the names of their files, each as png and svg, with captions beside
    them."""
    if not figures:
        return
    where = folder / PICTURES
    where.mkdir()
    for name, figure in figures.items():
        charts.save(figure, where / name)
    _write_captions({name: figure.caption for name, figure in figures.items()}, where)


def _captions(waiting: Sequence[Future[str]], tasks: Sequence[tuple[Any, ...]]) -> list[str]:
    """Captions of pictures that are being drawn; if the pool broke down they are drawn here."""
    with suppress(BrokenExecutor):
        if waiting:
            return [done.result() for done in waiting]
    return [drawn(*task) for task in tasks]


@contextmanager
def drawing_pool(pictures: int) -> Iterator[Executor | None]:
    """Two processes that draw, so that they get ready while the season still runs; None where it is
    not worth it, or the system has no room for it."""
    workers = min(2, os.cpu_count() or 1)
    if pictures < 2 or workers < 2:
        yield None
        return
    with ExitStack() as until_drawn:
        try:
            pool = until_drawn.enter_context(worker_processes(workers, preload=[
                __name__, *(f"{charts.__name__}.{name}" for name in (*_KINDS, "saving"))]))
        except (OSError, ImportError, BrokenExecutor):
            yield None
            return
        yield pool


def drawn(result: Result, wanted: Wanted, folder: Path) -> str:
    """Draw one picture into files, and hand back its caption; empty if there is nothing to draw."""
    try:
        figure = figure_of(result, wanted)
    except AskError:  # no water, or no parcel, in this town on that day
        return ""
    figure.say_changed(changed_words(result.changed))
    charts.save(figure, folder / wanted.name, force=True)
    return figure.caption


def figure_of(result: Result, wanted: Wanted) -> charts.Picture:
    """One picture, not yet in a file."""
    record, table, town = result.record, result.table, wanted.town
    if wanted.kind == "drought":
        return drought_picture(result.scenario, [("", record)], result.system)
    if wanted.kind == "map":
        return charts.river_map(record, table, result.system)
    if wanted.kind == "glass":
        return charts.glass(table, town)
    if wanted.kind == "loop":
        return charts.loop(record, table, town, result.system)
    if wanted.kind == "season":
        return charts.season(table, town, record, result.system)
    return charts.parcel(table, town)
