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
    """Write a picture to files.

    Equal pictures give equal bytes: nothing in the files tells when they were made. In SVG files
    text stays text; title and caption are in every file.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        A picture of this package, or any figure.
    path_stem : str or Path
        Path without ending; the folder must be there.
    formats : iterable of str
        ``"png"``, ``"svg"``.
    force : bool
        Replace pictures that are there, where hydroloop wrote them and nobody changed them.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    AskError
        There is no such format.
    OutputError
        A file is there already, or cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from hydroloop.charts.picture import Picture
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in save(Picture("A title", "A caption."), f"{folder}/picture")]
    ['picture.png', 'picture.svg']
    """
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
    about = {name: words for name, kept in (("Title", "title"), ("Description", "alternative"))
             if (words := getattr(figure, kept, ""))}
    hide = {"Software": None} if ending == "png" else {"Date": None, "Creator": None}
    drawn = io.BytesIO()
    figure.savefig(drawn, format=ending, dpi=DPI, metadata={**about, **hide})
    return drawn.getvalue()
