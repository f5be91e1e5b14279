"""Visible: characters that would steer a terminal or turn the writing round, shown instead.

Whoever prints a stranger's words prints them through here, so that a title cannot clear the screen,
rename the window or hide what stands before it, and a number of 400 digits does not fill it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TextIO

_MOST, _MOST_OF_A_PATH = 100, 300
_LONG = re.compile(rf'"[^"\n]*"|\S{{{_MOST},}}')  # every quoted text, so that its quotes pair
_HIDDEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)


def hidden_in(text: str) -> str:
    """The first character of a text that is not shown but acts, no line end or tab; empty without
    one."""
    found = _HIDDEN.search(text)
    return found[0] if found else ""


def visible(text: str) -> str:
    """A text with such characters written out, as JSON and TOML write them."""
    return _HIDDEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def told(text: str) -> str:
    """A message with nothing hidden in it, and of a long word or a long quoted text no more than
    tells which it is: its front and its end."""

    def cut(found: re.Match[str]) -> str:
        word = found[0]
        most = _MOST_OF_A_PATH if "/" in word or "\\" in word else _MOST
        return word if len(word) <= most else f"{word[: most // 2]}...{word[-most // 4 :]}"

    return _LONG.sub(cut, visible(text))


class VisibleStream:
    """A stream of text that writes nothing hidden, or what else `passed` lets through; all else is
    the stream's own. A carriage return at the front is left, for lines that tell how far a run is.
    """

    def __init__(self, stream: TextIO, passed: Callable[[str], str] = visible):
        self._stream, self._passed = stream, passed

    def write(self, text: str) -> int:
        """Write a text."""
        front = "\r" if text.startswith("\r") else ""
        return self._stream.write(front + self._passed(text[len(front) :].replace("\r\n", "\n")))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def __iter__(self) -> Any:
        return iter(self._stream)
