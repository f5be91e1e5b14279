"""Writing pictures to files."""

from __future__ import annotations

import io
from collections.abc import Iterable
from pathlib import Path

from matplotlib.figure import Figure

from hydroloop.charts.picture import DPI, house_style
from hydroloop.errors import AskError, Problem
from hydroloop.files.file import check_free_file, write_file

FORMATS = ("png", "svg")


@house_style
def save(
    figure: Figure, path_stem: str | Path, formats: Iterable[str] = FORMATS, *, force: bool = False
) -> list[Path]:
    """Write a picture to files, title and caption inside. Equal pictures give equal bytes: nothing
    in the files tells when they were made. With `force` pictures that hydroloop wrote are
    replaced."""
    wanted = tuple(formats)
    for ending in wanted:
        if ending not in FORMATS:
            what = f'"{ending}" is no format for pictures.'
            raise AskError(Problem("formats", what, f"Choose from {', '.join(FORMATS)}."))
    paths = [Path(f"{path_stem}.{ending}") for ending in wanted]
    for path in paths:
        check_free_file(path, force=force)
    return [write_file(path, drawn_as(figure, path.suffix[1:]), force=force) for path in paths]


@house_style
def drawn_as(figure: Figure, ending: str) -> bytes:
    """A picture as the bytes of a file, ``"png"`` or ``"svg"``."""
    about = {
        name: words
        for name, kept in (("Title", "title"), ("Description", "alternative"))
        if (words := getattr(figure, kept, ""))
    }
    hide = {"Software": None} if ending == "png" else {"Date": None, "Creator": None}
    drawn = io.BytesIO()
    figure.savefig(drawn, format=ending, dpi=DPI, metadata={**about, **hide})
    return drawn.getvalue()
