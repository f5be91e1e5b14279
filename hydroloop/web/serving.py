"""The server begins, is told to end, and ends, with all that it began."""

from __future__ import annotations

import ipaddress
import signal
import socket
from asyncio import TimerHandle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from hydroloop.errors import AskError, Problem
from hydroloop.web.app import app
from hydroloop.web.hands import Hands

_HEAD_S, _READ_S, _IDLE_S = 10.0, 30.0, 5
"""Most that a client may take to send the head of a request, and to read; and to be idle [s]."""
_MOST_OPEN = 400  # connections


class Impatient(H11Protocol):
    """A connection that is closed where its client sends or reads too slowly."""

    _late: TimerHandle | None = None
    _unread: TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Wait for the first request, but not for ever."""
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Part of a request: its head must be whole in time."""
        super().data_received(data)
        self._watch()

    def _watch(self) -> None:
        is_waiting = self.conn.their_state is h11.IDLE and not self.transport.is_closing()
        if is_waiting and self._late is None:
            self._late = self.loop.call_later(_HEAD_S, self._close_late)
        elif not is_waiting and self._late is not None:
            self._late.cancel()
            self._late = None

    def _close_late(self) -> None:
        self._late = None
        if self.conn.their_state is h11.IDLE:
            self.transport.abort()

    def pause_writing(self) -> None:
        """The client does not read: it may catch up for some seconds."""
        super().pause_writing()
        self._unread = self.loop.call_later(_READ_S, self.transport.abort)

    def resume_writing(self) -> None:
        """It has caught up."""
        if self._unread is not None:
            self._unread.cancel()
        super().resume_writing()

    def connection_lost(self, error: Exception | None) -> None:
        """Nobody waits any more."""
        for timer in (self._late, self._unread):
            if timer is not None:
                timer.cancel()
        super().connection_lost(error)


class _Server(uvicorn.Server):
    """Tells when it listens, and leaves signals to whoever runs it."""

    def __init__(
        self, config: uvicorn.Config, begun: Callable[[], None], ending: Callable[[], None]
    ):
        super().__init__(config)
        self._begun, self._ending = begun, ending

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to listen."""
        await super().startup(sockets)
        if self.started:
            self._begun()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End: whoever still waits is told first."""
        self._ending()
        await super().shutdown(sockets)

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Signals end it once, in good order."""

        def end(number: int, _: Any) -> None:
            self.should_exit = True

        names = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
        numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
        before = [
            (number, signal.signal(number, end))
            for number in numbers
            if signal.getsignal(number) is not signal.SIG_IGN
        ]
        try:
            yield
        finally:
            for number, handler in before:
                signal.signal(number, handler)


def serve(
    folder: Path,
    place: tuple[str, int],
    *,
    processes: int,
    seconds: float,
    begun: Callable[[int], None],
) -> None:
    """Serve a folder until the program is told to end.

    Parameters
    ----------
    folder : Path
        Where the scenarios are.
    place : tuple of str and int
        Address to listen at, and port; 0 is any that is free.
    processes : int
        How many runs at once.
    seconds : float
        Most that one may take.
    begun : callable
        Called with the port when the server listens.

    Raises
    ------
    AskError
        It cannot listen there.
    """
    listening = _socket(*place)
    hands = Hands(processes, seconds)
    try:
        hands.begin()
        config = uvicorn.Config(
            app(folder, hands),
            http=Impatient,
            ws="none",
            lifespan="on",
            log_level="error",
            access_log=False,
            server_header=False,
            date_header=False,
            proxy_headers=False,
            timeout_keep_alive=_IDLE_S,
            limit_concurrency=_MOST_OPEN,
            timeout_graceful_shutdown=2,
            h11_max_incomplete_event_size=16_384,
        )
        port = listening.getsockname()[1]
        _Server(config, lambda: begun(port), hands.stop).run([listening])
    finally:
        hands.end()
        listening.close()


def _socket(host: str, port: int) -> socket.socket:
    try:
        is_six = ipaddress.ip_address(host).version == 6
        made = socket.socket(socket.AF_INET6 if is_six else socket.AF_INET)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
        made.listen(256)
    except ValueError:
        raise AskError(
            Problem(
                "--host",
                f'"{host}" is no address.',
                "Write an address of this machine, or 0.0.0.0 for all of them.",
            )
        ) from None
    except OSError as error:
        words = (error.strerror or "it cannot").lower()
        raise AskError(
            Problem(
                "--port",
                f"the server cannot listen at {host}, port {port} ({words}).",
                "Choose another --port, or --port 0 for one that is free.",
            )
        ) from None
    return made


def addresses(host: str) -> list[str]:
    """Addresses at which others reach a server that listens at `host`."""
    if not ipaddress.ip_address(host).is_unspecified:
        return [host]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # sends nothing: it only asks for the way out
            return [asked.getsockname()[0]]
        except OSError:
            return ["127.0.0.1"]
