"""A document as one HTML file that needs no other, pictures inside, for screen and print."""

from __future__ import annotations

import re
import tempfile
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup, escape

from hydroloop.outputs.document.blocks import Document, Picture
from hydroloop.outputs.document.grids import Grid, grids
from hydroloop.outputs.document.table import Table

_IDS = re.compile(r'(\bid="|href="#|url\(#)')


class _Drawn(NamedTuple):
    """Rest of an svg element, from its attributes on."""

    svg: Markup


def as_html(document: Document) -> str:
    """All of a document; whatever words it has are shown as words."""
    here = files(__package__)
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True,
                              lstrip_blocks=True)
    template = environment.from_string((here / "page.html.j2").read_text(encoding="utf-8"))

    def draw(picture: Picture) -> _Drawn:
        return _draw(document, picture)

    def grids_of(table: Table) -> list[Grid]:
        return grids(table, document.system)

    return template.render(document=document, ran=document.ran_words(), grids=grids_of, draw=draw,
                           style=Markup((here / "page.css").read_text(encoding="utf-8")))


def _draw(document: Document, picture: Picture) -> _Drawn:
    """A picture as inline SVG, with its words for those who cannot see it and ids of its own."""
    from hydroloop import charts

    figure = document.drawn(picture)
    words = picture.alternative or figure.alternative
    with tempfile.TemporaryDirectory() as folder:
        charts.save(figure, Path(folder) / "picture", ("svg",))
        text = (Path(folder) / "picture.svg").read_text(encoding="utf-8")
    body = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") + 4:], flags=re.DOTALL)
    prefix = re.sub(r"\W", "-", picture.name)
    body = _IDS.sub(lambda match: f"{match[1]}{prefix}-", body)
    return _Drawn(Markup(f' role="img" aria-label="{escape(words)}"{body}'))
