"""The page as text: for one file that needs no other, or for the small server."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

_SCRIPTS = ("words.js", "runs.js", "draw.js", "loop.js", "map.js", "page.js")


def page_html(frame: Mapping[str, Any], *, runs: Sequence[bytes] = (), live: str = "") -> str:
    """The page, from its `frame`; runs are gzip in the order of the settings, empty where a server
    has them, which knows the scenario by the name `live`."""
    given: dict[str, Any] = {"style": "", "script": "", "policy": "", "runs": ""}
    if not live:
        packed = [base64.b64encode(one).decode() for one in runs]
        given = {
            "style": Markup(style()),
            "script": Markup(script()),
            "policy": Markup(_policy()),
            "runs": _data(packed),
        }
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    text = _asset("page.html.j2")
    return environment.from_string(text).render(
        frame=frame, frame_json=_data(frame), live=live, **given
    )


@cache
def script() -> str:
    """All scripts of the page as one, with names of their own."""
    return '(() => {\n"use strict";\n' + "\n".join(map(_asset, _SCRIPTS)) + "})();\n"


@cache
def style() -> str:
    """The style sheet of the page."""
    return _asset("page.css")


def _policy() -> str:
    """What the file may load: its own script and style, and nothing else."""
    marks = [
        f"{kind} 'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
        for kind, text in (("script-src", script()), ("style-src", style()))
    ]
    return "; ".join(
        ["default-src 'none'", *marks, "img-src data:", "base-uri 'none'", "form-action 'none'"]
    )


def _data(value: Any) -> Markup:
    """Values as JSON that cannot end the element they stand in."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c").replace("\u2028", "\\u2028"))


def _asset(name: str) -> str:
    return (files(__package__) / "assets" / name).read_text(encoding="utf-8")
