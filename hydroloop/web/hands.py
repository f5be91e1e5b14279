"""The hands of the server: a few processes that run the model, a queue before them, and what they
made before."""

from __future__ import annotations

import asyncio
import os
import signal
import time
from collections import Counter, OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack, suppress
from typing import Any

from hydroloop.processes import Workers, as_done, worker_processes
from hydroloop.web.work import Answer, problems_packed, warm

MOST_WAITING, MOST_OF_ONE = 120, 60
"""Questions that may wait, and of one address: a school may stand behind one."""
_KEPT_BYTES = 64_000_000
_ENDING = 503, problems_packed(["The server has been ended."])


class Hand:
    """One process that runs one thing at a time."""

    def __init__(self) -> None:
        self._stack = ExitStack()
        self.workers: Workers
        self.pid = 0

    def begin(self) -> None:
        """Begin the process, and wait until it is ready."""
        self.workers = self._stack.enter_context(
            worker_processes(1, preload=("hydroloop.web.work",))
        )
        for ready in as_done([self.workers.submit(warm)]):
            ready.result()
        for known in as_done([self.workers.submit(os.getpid)]):
            self.pid = known.result()

    def renew(self) -> None:
        """End the process, whatever it is at, and begin another."""
        self.stop()
        self.end()
        self.begin()

    def stop(self) -> None:
        """End the process at once, whatever it is at."""
        with suppress(ProcessLookupError, OSError):
            os.kill(self.pid, signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)

    def end(self) -> None:
        """End the process."""
        self._stack.close()


class TooManyError(Exception):
    """So many questions wait already that one more is not taken."""


class Hands:
    """Runs what is asked for, each question once, in the order in which it came.

    Parameters
    ----------
    count : int
        Processes.
    seconds : float
        Most that one run may take.
    """

    def __init__(self, count: int, seconds: float):
        self.count, self.seconds = count, seconds
        self._hands = [Hand() for _ in range(count)]
        self._free: asyncio.Queue[Hand] = asyncio.Queue()
        self._kept: OrderedDict[Hashable, Answer] = OrderedDict()
        self._bytes = 0
        self._running: dict[Hashable, asyncio.Task[Answer]] = {}
        self._asking: Counter[str] = Counter()
        self._took = 0.3  # seconds a run, lately
        self._is_ending = False

    def begin(self) -> None:
        """Begin all processes."""
        for hand in self._hands:
            hand.begin()
            self._free.put_nowait(hand)

    def stop(self) -> None:
        """Break off what is being run: whoever waits for it is told."""
        self._is_ending = True
        for hand in self._hands:
            hand.stop()

    def end(self) -> None:
        """End all processes."""
        for hand in self._hands:
            hand.end()

    @property
    def waiting(self) -> int:
        """Questions that no process is at yet."""
        return max(0, len(self._running) - self.count)

    @property
    def wait_s(self) -> float:
        """Seconds until a question that came now would be answered, as it lately was [s]."""
        return self._took * (1 + self.waiting / self.count)

    async def ask(self, who: str, key: Hashable, act: Callable[..., Answer], *given: Any) -> Answer:
        """The answer to a question, from what is kept or from a process."""
        if key in self._kept:
            self._kept.move_to_end(key)
            return self._kept[key]
        if key not in self._running:
            if self.waiting >= MOST_WAITING or self._asking[who] >= MOST_OF_ONE:
                raise TooManyError
            task = asyncio.create_task(self._run(who, act, given))
            self._running[key] = task
            task.add_done_callback(lambda done: self._keep(key, done))
        # Whoever leaves does not take the answer from the others.
        return await asyncio.shield(self._running[key])

    async def _run(self, who: str, act: Callable[..., Answer], given: tuple[Any, ...]) -> Answer:
        self._asking[who] += 1
        hand = await self._free.get()
        begun = time.monotonic()
        try:
            if self._is_ending:
                return _ENDING
            future = asyncio.wrap_future(hand.workers.submit(act, *given))
            done, _ = await asyncio.wait({future}, timeout=self.seconds)
            if done:
                answer: Answer = future.result()
                return answer
            future.add_done_callback(lambda lost: lost.cancelled() or lost.exception())
            await asyncio.to_thread(hand.renew)
            return 422, problems_packed(
                [f"This run took longer than {self.seconds:g} s and was stopped. Run fewer days."]
            )
        except BrokenProcessPool:
            if self._is_ending:
                return _ENDING
            await asyncio.to_thread(hand.renew)
            return 500, problems_packed(["The run was lost: its process was ended. Ask again."])
        finally:
            self._took += 0.2 * (time.monotonic() - begun - self._took)
            self._free.put_nowait(hand)
            self._asking[who] -= 1
            self._asking += Counter()  # names that ask nothing are forgotten

    def _keep(self, key: Hashable, task: asyncio.Task[Answer]) -> None:
        self._running.pop(key, None)
        if task.cancelled() or task.exception() or task.result()[0] != 200:
            return
        self._kept[key] = task.result()
        self._bytes += len(task.result()[1])
        while self._bytes > _KEPT_BYTES:
            self._bytes -= len(self._kept.popitem(last=False)[1][1])
