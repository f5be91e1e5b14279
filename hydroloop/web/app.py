"""The server's pages and answers."""

from __future__ import annotations

import gzip
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from hydroloop.gates import CountAs
from hydroloop.outputs.page.html import script, style
from hydroloop.web.guards import Guards, body_of, problem
from hydroloop.web.hands import Hands, TooManyError
from hydroloop.web.openapi import description
from hydroloop.web.served import find, scenarios_in, stamp
from hydroloop.web.work import Answer, open_page, run_setting


class Question(BaseModel):
    """What a page asks for; anything else in it is refused."""

    model_config = ConfigDict(extra="forbid", strict=True)

    dials: dict[str, int] = Field(default_factory=dict, max_length=20)
    plan: str = Field("", max_length=20_000)
    count_as: CountAs | None = None


def app(folder: Path, hands: Hands) -> Starlette:
    """The server of a folder."""
    web = _Web(folder, hands)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        try:
            yield
        finally:
            hands.end()

    return Starlette(
        routes=[
            Route("/", web.index),
            Route("/page.js", web.script),
            Route("/page.css", web.style),
            Route("/scenarios/{name}", web.page),
            Route("/api", web.openapi),
            Route("/api/scenarios", web.listed),
            Route("/api/queue", web.queue),
            Route("/api/scenarios/{name}/run", web.run, methods=["POST"]),
        ],
        middleware=[Middleware(Guards)],
        lifespan=lifespan,
        exception_handlers={HTTPException: _refused, Exception: _failed},
    )


class _Web:
    def __init__(self, folder: Path, hands: Hands):
        self.folder, self.hands = folder, hands

    async def index(self, request: Request) -> Response:
        environment = Environment(autoescape=True, undefined=StrictUndefined)
        text = (files(__package__) / "index.html.j2").read_text(encoding="utf-8")
        page = environment.from_string(text).render(scenarios=scenarios_in(self.folder))
        return Response(page, media_type="text/html")

    async def script(self, request: Request) -> Response:
        return Response(script(), media_type="text/javascript")

    async def style(self, request: Request) -> Response:
        return Response(style(), media_type="text/css")

    async def openapi(self, request: Request) -> Response:
        return JSONResponse(description())

    async def listed(self, request: Request) -> Response:
        return JSONResponse({"scenarios": [one._asdict() for one in scenarios_in(self.folder)]})

    async def queue(self, request: Request) -> Response:
        return JSONResponse({"waiting": self.hands.waiting, "seconds": round(self.hands.wait_s, 1)})

    async def page(self, request: Request) -> Response:
        name = request.path_params["name"]
        path = find(self.folder, name)
        if path is None:
            return problem(404, "There is no such scenario here.")
        return await self._asked(
            request, ("page", name, stamp(path)), "text/html", open_page, path, name
        )

    async def run(self, request: Request) -> Response:
        path = find(self.folder, request.path_params["name"])
        if path is None:
            return problem(404, "There is no such scenario here.")
        try:
            question = _question(await body_of(request))
        except ValueError as error:
            status = 413 if "larger" in str(error) else 415 if "Content-Type" in str(error) else 400
            return problem(status, str(error))
        asked = question.model_dump(exclude_defaults=True)
        mark = stamp(path)
        key = ("run", path.name, mark, json.dumps(asked, sort_keys=True))
        return await self._asked(request, key, "application/json", run_setting, path, mark, asked)

    async def _asked(
        self, request: Request, key: Any, kind: str, act: Any, *given: Any
    ) -> Response:
        who = request.client.host if request.client else ""
        try:
            status, content = await self.hands.ask(who, key, act, *given)
        except TooManyError:
            seconds = max(1, round(self.hands.wait_s))
            return problem(
                503,
                f"Many are asking. Try again in about {seconds} s.",
                **{"retry-after": str(seconds)},
            )
        return _sent(request, (status, content), kind if status == 200 else "application/json")


def _question(values: Any) -> Question:
    """A question; a ValueError says what is wrong with it."""
    try:
        question = Question.model_validate(values)
    except ValidationError as error:
        told = [
            f"{'.'.join(map(str, one['loc']))[:80] or 'body'}: {one['msg']}"
            for one in error.errors(include_url=False, include_input=False)[:5]
        ]
        raise ValueError("; ".join(told)) from None
    if question.plan and question.dials:
        raise ValueError("dials and plan stand both there. Send one of the two.")
    return question


def _sent(request: Request, answer: Answer, kind: str) -> Response:
    status, content = answer
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(content, status, {"content-encoding": "gzip"}, kind)
    return Response(gzip.decompress(content), status, media_type=kind)


async def _refused(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 400
    words = {404: "There is nothing at this address.", 405: "This cannot be asked in this way."}
    headers = getattr(error, "headers", None) or {}
    return problem(status, words.get(status, "This request cannot be answered."), **headers)


async def _failed(request: Request, error: Exception) -> Response:
    return problem(500, "Something went wrong here. The server goes on.")
