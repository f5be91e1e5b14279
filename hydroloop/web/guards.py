"""What every request must pass, and what every answer carries."""

from __future__ import annotations

import asyncio
import ipaddress
import json
import socket
from typing import Any

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BODY = 64_000
"""Largest body [bytes]."""
_BODY_S = 10.0  # in which a body must have come

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""What a page of the server may load: its own script, style and answers."""

_CARRIED = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "x-frame-options": "DENY",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cache-control": "no-store",
}


def problem(status: int, words: str, **headers: str) -> Response:
    """An answer that says what is wrong."""
    text = json.dumps({"problems": [words]})
    return Response(text, status, headers, media_type="application/json")


class Guards:
    """Refuses what does not come from a page of this server."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def carrying(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [
                    *message["headers"],
                    *(
                        (name.encode(), value.encode())
                        for name, value in _CARRIED.items()
                        if name.encode() not in own
                    ),
                ]
            await send(message)

        refused = _refusal(scope)
        await (refused or self.app)(scope, receive, carrying)


def _refusal(scope: Scope) -> Response | None:
    headers = Headers(scope=scope)
    hosts = headers.getlist("host")
    if len(hosts) != 1 or not _is_own(hosts[0], scope):
        return problem(
            400, "This server does not answer to that name. Use the address that it printed."
        )
    origin = headers.get("origin")
    if origin is not None and origin != f"http://{hosts[0]}":
        return problem(403, "Requests from other sites are refused.")
    site, mode = headers.get("sec-fetch-site", "none"), headers.get("sec-fetch-mode", "")
    opens = scope["method"] == "GET" and mode == "navigate"
    if site not in ("none", "same-origin") and not opens:
        return problem(403, "Requests from other sites are refused.")
    return None


def _is_own(host: str, scope: Scope) -> bool:
    """Whether a Host header names the address at which the request came in, or this machine."""
    name, _, port = host.rpartition(":")
    address, own_port = scope.get("server") or ("", None)
    if port != str(own_port):
        return False
    name = name.strip("[]").lower()
    machine = socket.gethostname().lower()
    try:
        is_here = ipaddress.ip_address(address).is_loopback
    except ValueError:
        is_here = False
    return (
        name == address
        or (is_here and name == "localhost")
        or (not is_here and name in (machine, f"{machine}.local"))
    )


async def body_of(request: Request) -> Any:
    """Values of a JSON body.

    Raises
    ------
    ValueError
        It is too large, too slow, or no JSON; the words say which.
    """
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != "application/json":
        raise ValueError("Send JSON: Content-Type application/json.")
    try:
        async with asyncio.timeout(_BODY_S):
            text = b""
            async for part in request.stream():
                text += part
                if len(text) > MOST_BODY:
                    raise ValueError(f"The body is larger than {MOST_BODY:,} bytes.")
    except TimeoutError:
        raise ValueError("The body did not come in time.") from None
    try:
        return json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise ValueError("The body is not JSON that can be read.") from None


def _no_number(name: str) -> float:
    raise ValueError(name)
