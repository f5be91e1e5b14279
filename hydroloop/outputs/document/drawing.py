"""The pictures of a document, drawn into its folder, while other work is done where it can be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, wait
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from hydroloop import charts
from hydroloop.errors import AskError, OutputError
from hydroloop.outputs.document.blocks import Document, Picture, Ran, drawn
from hydroloop.processes import as_done, cores, held_off, worker_processes

PICTURES = "pictures"
"""Folder of pictures inside a folder of results."""


class Shown(NamedTuple):
    """Words of a picture that was drawn."""

    caption: str
    alternative: str


@contextmanager
def being_drawn(
    document: Document, folder: Path, pool: Executor | None = None
) -> Iterator[dict[str, Shown]]:
    """Draw all pictures, each as png and svg, with captions, while other work is done.

    What is handed out is filled at the end: words of the pictures that there are, by their names.
    Without a pool, from `drawing_pool`, they are drawn at the end, one after the other.
    """
    where, wanted, shown = folder / PICTURES, document.pictures(), dict[str, Shown]()
    waiting: list[Future[Shown | None]] = []
    if wanted:
        where.mkdir()
    try:
        with suppress(BrokenExecutor), held_off():  # all that are handed over are known
            waiting = (
                [pool.submit(draw_into, document.ran, one, where) for one in wanted] if pool else []
            )
        yield shown
        for one, words in zip(
            wanted, _all_drawn(waiting, document.ran, wanted, where), strict=True
        ):
            if words:
                shown[one.name] = words
    finally:  # nobody may still write when a folder that failed is taken away
        with held_off():
            wait([task for task in waiting if not task.cancel()])
    if shown:
        _write_captions(shown, where)


def _write_captions(shown: Mapping[str, Shown], folder: Path) -> None:
    """What each picture shows, in words, beside them."""
    lines = [f"{name}\n  {words.caption}\n" for name, words in sorted(shown.items())]
    (folder / "captions.txt").write_text("\n".join(lines), encoding="utf-8")


def _all_drawn(
    waiting: Sequence[Future[Shown | None]],
    ran: Ran | None,
    wanted: Sequence[Picture],
    folder: Path,
) -> list[Shown | None]:
    """Words of pictures that are being drawn; if the pool broke down they are drawn here."""
    with suppress(BrokenExecutor):
        for one in as_done(waiting):
            one.result()
        if waiting:
            return [one.result() for one in waiting]
    return [draw_into(ran, one, folder) for one in wanted]


def draw_into(ran: Ran | None, picture: Picture, folder: Path) -> Shown | None:
    """Draw one picture into files; None if there is nothing to draw."""
    try:
        figure = drawn(picture, ran)
    except AskError:  # no water, or no parcel, in this town on that day
        return None
    try:
        charts.save(figure, folder / picture.name, force=True)
    except OutputError as error:  # only what is raised comes out of a process, not its cause
        if isinstance(said := error.__cause__, OSError):
            raise OSError(said.errno, said.strerror) from None
        raise
    return Shown(figure.caption, picture.alternative or figure.alternative)


@contextmanager
def drawing_pool(pictures: int, *modules: str) -> Iterator[Executor | None]:
    """Two processes that draw, so that they get ready while the season still runs.

    None where it is not worth it for so many pictures, or where the system has no room for it.
    `modules` are those that are needed for drawing beside this one.
    """
    workers = min(2, cores())
    if pictures < 2 or workers < 2:
        yield None
        return
    with ExitStack() as until_drawn:
        try:
            pool = until_drawn.enter_context(
                worker_processes(workers, preload=[__name__, f"{charts.__name__}.saving", *modules])
            )
        except (OSError, ImportError, BrokenExecutor):
            yield None
            return
        yield pool
