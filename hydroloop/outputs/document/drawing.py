"""The pictures of a document, drawn into its folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from hydroloop import charts
from hydroloop.errors import AskError
from hydroloop.outputs.document.blocks import Document, Picture, Ran, drawn

PICTURES = "pictures"
"""Folder of pictures inside a folder of results."""


class Shown(NamedTuple):
    """Words of a picture that was drawn."""

    caption: str
    alternative: str


def draw_pictures(document: Document, folder: Path) -> dict[str, Shown]:
    """Draw all pictures, each as png and svg, with captions; words of those that there are, by
    their names. Other processes would not draw them sooner: each loads its libraries first."""
    where, shown = folder / PICTURES, dict[str, Shown]()
    if document.pictures():
        where.mkdir()
    for one in document.pictures():
        if words := _draw_into(document.ran, one, where):
            shown[one.name] = words
    if shown:
        _write_captions(shown, where)
    return shown


def _write_captions(shown: Mapping[str, Shown], folder: Path) -> None:
    """What each picture shows, in words, beside them."""
    lines = [f"{name}\n  {words.caption}\n" for name, words in sorted(shown.items())]
    (folder / "captions.txt").write_text("\n".join(lines), encoding="utf-8")


def _draw_into(ran: Ran | None, picture: Picture, folder: Path) -> Shown | None:
    """Draw one picture into files; None if there is nothing to draw."""
    try:
        figure = drawn(picture, ran)
    except AskError:  # no water, or no parcel, in this town on that day
        return None
    charts.save(figure, folder / picture.name, force=True)
    return Shown(figure.caption, picture.alternative or figure.alternative)
