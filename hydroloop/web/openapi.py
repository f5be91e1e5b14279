"""The interface of the server, described in OpenAPI 3.1."""

from __future__ import annotations

from typing import Any

from hydroloop import __version__
from hydroloop.outputs.page.json_schema import QUESTION, RUN

_PROBLEMS = {
    "description": "What is wrong, one line each",
    "content": {
        "application/json": {
            "schema": {
                "type": "object",
                "required": ["problems"],
                "additionalProperties": False,
                "properties": {"problems": {"type": "array", "items": {"type": "string"}}},
            }
        }
    },
}
_REFUSED = dict.fromkeys(("400", "403", "404", "405", "413", "415"), _PROBLEMS)


def _json(schema: dict[str, Any], words: str) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": schema}}}


def description() -> dict[str, Any]:
    """The whole interface."""
    name = {
        "name": "name",
        "in": "path",
        "required": True,
        "schema": {"type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9_-]{0,79}$"},
    }
    listed = {
        "type": "object",
        "required": ["scenarios"],
        "properties": {
            "scenarios": {
                "type": "array",
                "items": {
                    "type": "object",
                    "required": ["name", "title"],
                    "properties": {"name": {"type": "string"}, "title": {"type": "string"}},
                },
            }
        },
    }
    queue = {
        "type": "object",
        "required": ["waiting", "seconds"],
        "properties": {
            "waiting": {"type": "integer", "minimum": 0},
            "seconds": {"type": "number", "minimum": 0},
        },
    }
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "hydroloop, live for a class",
            "version": __version__,
            "description": "Rates are in m3/d, volumes in m3, times in days, shares in parts "
            "of 10,000. Nothing about the person who asks is kept.",
        },
        "paths": {
            "/api/scenarios": {
                "get": {
                    "summary": "Scenarios of the folder",
                    "responses": {"200": _json(listed, "By name"), **_REFUSED},
                }
            },
            "/api/scenarios/{name}/run": {
                "post": {
                    "summary": "Run a scenario at a setting of the dials, or with a plan",
                    "parameters": [name],
                    "requestBody": {
                        "required": True,
                        "content": {"application/json": {"schema": QUESTION}},
                    },
                    "responses": {
                        "200": _json(RUN, "The run"),
                        "422": _PROBLEMS,
                        "503": _PROBLEMS,
                        **_REFUSED,
                    },
                }
            },
            "/api/queue": {
                "get": {
                    "summary": "How many runs wait, and for about how long",
                    "responses": {"200": _json(queue, "Now"), **_REFUSED},
                }
            },
        },
    }
