"""A document as one HTML file that needs no other, pictures inside, for screen and print."""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup, escape

from hydroloop.errors import AskError
from hydroloop.outputs.document.blocks import Document, Picture
from hydroloop.outputs.document.drawing import Shown
from hydroloop.outputs.document.grids import Grid, grids
from hydroloop.outputs.document.table import Table

_IDS = re.compile(r'(\bid="|href="#|url\(#)')


class _Drawn(NamedTuple):
    """Rest of an svg element, from its attributes on."""

    svg: Markup


def as_html(
    document: Document, drawn_in: Path | None = None, shown: Mapping[str, Shown] | None = None
) -> str:
    """All of a document; whatever words it has are shown as words.

    Pictures that lie in `drawn_in` as svg already, with their words, are not drawn again.
    """
    here = files(__package__)
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    template = environment.from_string((here / "page.html.j2").read_text(encoding="utf-8"))

    def draw(picture: Picture) -> _Drawn | None:
        if drawn_in is None:
            return _draw(document, picture)
        if not shown or picture.name not in shown:
            return None
        words = shown[picture.name].alternative
        return _inline(
            (drawn_in / f"{picture.name}.svg").read_text(encoding="utf-8"), words, picture.name
        )

    def grids_of(table: Table) -> list[Grid]:
        return grids(table, document.system)

    return template.render(
        document=document,
        ran=document.ran_words(),
        grids=grids_of,
        draw=draw,
        style=Markup((here / "page.css").read_text(encoding="utf-8")),
    )


def _draw(document: Document, picture: Picture) -> _Drawn | None:
    """A picture as inline SVG; None where there is nothing to draw."""
    from hydroloop.charts.saving import drawn_as

    try:
        figure = document.drawn(picture)
    except AskError:
        return None
    return _inline(
        drawn_as(figure, "svg").decode(), picture.alternative or figure.alternative, picture.name
    )


def _inline(text: str, words: str, name: str) -> _Drawn:
    """SVG with its words for those who cannot see it and ids of its own."""
    body = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") + 4 :], flags=re.DOTALL)
    prefix = re.sub(r"\W", "-", name)
    body = _IDS.sub(lambda match: f"{match[1]}{prefix}-", body)
    return _Drawn(Markup(f' role="img" aria-label="{escape(words)}"{body}'))
