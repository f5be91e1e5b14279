"""Writing pictures to files."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from matplotlib.figure import Figure

from hydroloop.charts.picture import DPI, house_style
from hydroloop.errors import AskError, OutputError, Problem

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
        Overwrite what is there.

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
    there = [path for path in paths if path.exists()]
    if there and not force:
        raise OutputError(f"{there[0]}: is there already. Give another name, or --force.")
    for path in paths:
        _write_whole(figure, path)
    return paths


def _write_whole(figure: Figure, path: Path) -> None:
    """Write beside the place and move there, so that a file is whole or not at all."""
    ending = path.suffix[1:]
    about = {name: words for name in ("Title", "Description")
             if (words := getattr(figure, {"Title": "title"}.get(name, "caption"), ""))}
    hide = {"Software": None} if ending == "png" else {"Date": None, "Creator": None}
    try:
        number, name = tempfile.mkstemp(suffix=path.suffix, dir=path.parent)
        os.close(number)
        try:
            figure.savefig(name, format=ending, dpi=DPI, metadata={**about, **hide})
            os.chmod(name, 0o644)
            os.replace(name, path)
        finally:
            Path(name).unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror}).") from error
