"""Worker processes: begun in one way, deaf to Ctrl-C, and gone with the program they work for."""

from __future__ import annotations

import _thread
import importlib
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from concurrent.futures import Future, InvalidStateError, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing import active_children, get_all_start_methods, get_context, parent_process
from multiprocessing.context import BaseContext
from queue import SimpleQueue
from traceback import walk_stack
from typing import Any, TypeVar

from hydroloop.temporary import has_room_for_sockets

_ENDING = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
_SOON_S = 0.02
_Given = TypeVar("_Given")
_UNGUARDED = 78
"""Exit code of a worker that was sent through a script without a main guard."""


class _Handed(Future[Any]):
    """What was handed over. If it was taken back and then a worker dies, it cannot be told of that:
    no error, as that would keep the news from the others, who would be waited for in vain."""

    def set_exception(self, exception: BaseException | None) -> None:
        with suppress(InvalidStateError):
            super().set_exception(exception)


class Workers(ProcessPoolExecutor):
    """Processes that run what they are handed; see `worker_processes`."""

    def __init__(
        self,
        count: int,
        context: BaseContext,
        begin: Callable[..., object] | None,
        given: tuple[Any, ...],
    ):
        super().__init__(count, context, initializer=_begin, initargs=(begin, given))
        self._method = context.get_start_method()
        self._others = set(active_children())
        self._begun: set[Any] = set()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand something over; a process that is begun for it cannot be interrupted meanwhile."""
        with held_off(), _deaf():
            handed = super().submit(fn, *args, **kwargs)
            handed.__class__ = _Handed
            self._begun |= set(active_children()) - self._others
        return handed

    def end(self) -> None:
        """Let them finish what they are at, and go; whoever does not is ended."""
        self.shutdown(wait=True, cancel_futures=True)
        for one in self._begun & set(active_children()):
            one.kill()
            one.join()

    @property
    def are_begun_late(self) -> bool:
        """Whether no process is begun before something is handed over."""
        return self._method == "spawn"

    @property
    def is_unguarded(self) -> bool:
        """Whether a process ended because the script runs on being read."""
        return any(one.exitcode == _UNGUARDED for one in self._begun)


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def worker_processes(
    count: int,
    begin: Callable[..., object] | None = None,
    given: tuple[Any, ...] = (),
    *,
    preload: Sequence[str] = (),
) -> Iterator[Workers]:
    """Processes that work for this one, each after `begin`, and are gone when the block is left.
    None outlives this process, by whatever signal it ends; Ctrl-C is this process's to handle.
    `preload` names modules that are loaded once, in a process of which the workers are copies,
    where the system can do that."""
    leave_if_unguarded()
    workers = None
    try:
        with held_off(), _deaf():
            workers = Workers(count, _context(preload), begin, given)
        if preload and workers.are_begun_late:
            for _ in range(count):
                workers.submit(_load, preload)
        yield workers
    finally:
        with held_off():  # a second Ctrl-C would break the wait, and leave them
            if workers is not None:
                workers.end()


def _context(preload: Sequence[str]) -> BaseContext:
    if not preload or "forkserver" not in get_all_start_methods() or not has_room_for_sockets():
        return get_context("spawn")
    from multiprocessing import forkserver  # not on every system

    context = get_context("forkserver")
    context.set_forkserver_preload(list(preload))
    forkserver.ensure_running()
    return context


def as_done(handed: Collection[Future[_Given]]) -> Iterator[Future[_Given]]:
    """What was handed over, each when it is done. Ctrl-C breaks the wait and leaves no lock behind:
    where it comes into a wait of `concurrent.futures`, the thread that looks after the workers
    may wait for a lock for ever, and the program for that thread."""
    done: SimpleQueue[Future[_Given]] = SimpleQueue()
    with held_off():
        for one in handed:
            one.add_done_callback(done.put)
    for _ in handed:
        yield done.get()


def leave_if_unguarded() -> None:
    """End a worker that was begun by a script and, on reading it, comes here again: it would begin
    workers of its own. The process that it works for tells the user."""
    for frame, _ in walk_stack(None):  # in a worker the script has this name
        if frame.f_code.co_name == "<module>" and frame.f_globals["__name__"] == "__mp_main__":
            os._exit(_UNGUARDED)


@contextmanager
def held_off() -> Iterator[None]:
    """Hold off what would stop this program: Ctrl-C and the like count when the block is over."""
    came: list[int] = []
    is_main = threading.current_thread() is threading.main_thread()
    before = [
        (number, signal.signal(number, lambda sent, _: came.append(sent)))
        for number in _ENDING
        if is_main and callable(signal.getsignal(number))
    ]
    try:
        yield
    finally:
        for number, handler in before:
            signal.signal(number, handler)
    for number in came[:1]:
        signal.raise_signal(number)


@contextmanager
def _deaf() -> Iterator[None]:
    """Processes that are begun in here never hear of Ctrl-C nor of a closed terminal: they inherit
    that both are blocked, and go when the program that began them has tidied up."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing import resource_tracker

    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGHUP])
    try:
        # It looks after what they share, and must see the end of them when a terminal is closed.
        # The first of them would begin it, and that ends the blocking.
        resource_tracker.ensure_running()
        signal.pthread_sigmask(signal.SIG_SETMASK, {*before, signal.SIGINT, signal.SIGHUP})
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def ended_by_signals(end: Callable[[int], None]) -> Iterator[None]:
    """Let a program that is told to end, or whose terminal is closed, tidy up first; `end` takes
    the number of the signal, and raises a KeyboardInterrupt with it. None is lost, nor is Ctrl-C.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    heard = 0

    def once(number: int, _: Any) -> None:
        nonlocal heard
        if not heard:  # tidying up is not broken off
            heard = number
            end(number)

    def again(lost: Any) -> None:
        nonlocal heard
        if not isinstance(lost.exc_value, KeyboardInterrupt):
            tell(lost)
            return
        number = signal.Signals(*lost.exc_value.args or (signal.SIGINT,))
        heard = 0 if number == heard else heard
        _thread.start_new_thread(_send_soon, (number,))

    before = [
        (number, signal.signal(number, once))
        for number in _ENDING[1:]
        if signal.getsignal(number) is signal.SIG_DFL
    ]  # nohup has it ignored
    tell, sys.unraisablehook = sys.unraisablehook, again
    try:
        yield
    finally:
        sys.unraisablehook = tell
        for number, handler in before:
            signal.signal(number, handler)


def _send_soon(number: signal.Signals) -> None:
    """Send this program a signal once more that was lost: it came while something was thrown away,
    where no exception gets out. Not at once: that must be over."""
    time.sleep(_SOON_S)
    if hasattr(signal, "pthread_kill"):  # wakes it too where it waits
        signal.pthread_kill(threading.main_thread().ident or 0, number)
    else:
        _thread.interrupt_main(number)


def _begin(begin: Callable[..., object] | None, given: tuple[Any, ...]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    if begin is not None:
        begin(*given)


def _load(modules: Sequence[str]) -> None:
    for name in modules:
        importlib.import_module(name)


def _leave_with_parent() -> None:
    """End this process with the one that began it, which cannot say so where it was killed."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
