"""Form of what the page reads, as JSON schemas: rates in m3/d, volumes in m3, times in days."""

from __future__ import annotations

from typing import Any

from hydroloop.gates import USES

_NUMBER = {"type": ["number", "null"]}
_SHARE = {
    "type": ["integer", "null"],
    "minimum": 0,
    "maximum": 10_000,
    "description": "parts of 10,000; null where it is not known",
}


def _list(of: dict[str, Any], about: str = "") -> dict[str, Any]:
    return {"type": "array", "items": of, **({"description": about} if about else {})}


def _object(about: str = "", /, **properties: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "required": list(properties),
        "properties": properties,
        "additionalProperties": False,
        **({"description": about} if about else {}),
    }


def _each(of: dict[str, Any], about: str) -> dict[str, Any]:
    return {"type": "object", "additionalProperties": of, "description": about}


_GLASS = _object(
    "one town's tap water",
    most_used={
        "type": "integer",
        "description": "place of the day on which most was used, among the dates",
    },
    layers=_list(_list(_SHARE), "for each date: never used, used once, ..., past unknown"),
    season=_list(_SHARE),
    season_used=_NUMBER,
    mean_uses=_NUMBER,
)
_LOOP = _object(
    flows=_list(
        _object(
            **{
                "from": {"type": "string"},
                "to": {"type": "string"},
                "rate": _list({"type": "number"}, "m3/d on each date"),
                "mean": {"type": "number"},
            }
        )
    ),
    stay=_each(_NUMBER, "mean stay in each part [d]"),
)
_PLANT = _object(
    name={"type": "string"},
    flow=_list({"type": "number"}),
    low=_list({"type": "number"}),
    high=_list({"type": "number"}),
    limit=_NUMBER,
    what={"type": "string"},
    years=_NUMBER,
    whose={"type": "string"},
    bought=_list(
        {"type": "array", "items": {"type": ["string", "number", "null"]}},
        "what would help, and the years it buys; null where the limit is not reached at all",
    ),
)
_CAPACITY = {
    "anyOf": [
        {"type": "null"},
        _object(
            first_year={"type": "integer"},
            assumed={"type": "boolean"},
            plants=_list(_PLANT),
        ),
    ]
}
_WALK = _object(
    uses={"type": "integer"},
    path=_list({"type": "string"}, "the stores that it comes to"),
    lines=_list(
        {"type": "array"},
        "date, words, the same in metric where they differ, stores it has come to by then",
    ),
)
_TOWN = _object(
    people={"type": "integer"},
    delivered=_list(_NUMBER),
    asked=_list(_NUMBER),
    short=_list(_NUMBER),
    reliability=_NUMBER,
    longest_failure=_NUMBER,
    unmet=_each(_NUMBER, "m3 missing, by purpose"),
    loop=_LOOP,
    capacity=_CAPACITY,
    transit=_object(
        "by the surface, within which a tenth, half and nine tenths have come [d]",
        own=_list(_NUMBER, "from intake to outfall"),
        taps=_each(_list(_NUMBER), "from the outfall to the taps of each town"),
    ),
    walks=_list(_WALK),
)

RUN: dict[str, Any] = {
    "title": "One run as the page reads it",
    **_object(
        dates=_list({"type": "string", "format": "date"}),
        glass=_each(_each(_GLASS, "by town"), "by what counts as a use"),
        because=_each(
            _object(
                "the used share in parts",
                names=_each(_list({"type": "string"}), "of the parts: used_in, way, used_for"),
                towns=_each(_each(_list(_list(_SHARE)), "for each date, each part"), "by name"),
            ),
            "by what counts as a use",
        ),
        river=_object(
            "stores of the rivers in the order of the frame's river",
            rate=_list(_list(_NUMBER)),
            stay=_list(_NUMBER),
            used=_each(_list(_list(_SHARE)), "by what counts as a use"),
        ),
        towns=_each(_TOWN, "by name"),
        account=_object(
            gap={"type": "number"},
            terms=_list({"type": "string"}),
            rows=_list({"type": "array"}, "place, then each term [m3]"),
        ),
    ),
}
"""A run."""

QUESTION: dict[str, Any] = {
    "title": "What the page asks a server to run",
    "type": "object",
    "additionalProperties": False,
    "minProperties": 0,
    "properties": {
        "dials": {
            "type": "object",
            "maxProperties": 20,
            "description": "position of each dial",
            "additionalProperties": {"type": "integer", "minimum": 0, "maximum": 20},
        },
        "plan": {"type": "string", "maxLength": 20_000, "description": "text of a plan file"},
        "count_as": {"enum": list(USES), "description": "what counts as a use"},
    },
    "not": {"required": ["dials", "plan"]},
}
"""A question to the server."""
