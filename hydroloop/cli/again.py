"""A command as it would be typed again, for what a reader may ask next."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence

from hydroloop.cli import options


def words_again(
    sets: Mapping[str, str], scales: Mapping[str, str], plans: Sequence[str] = ()
) -> str:
    """The options with which a scenario was changed; empty where there were none."""
    words = [word for plan in plans for word in ("--plan", plan)]
    words += [
        word
        for option, pairs in (("--set", sets), ("--scale", scales))
        for key, value in pairs.items()
        for word in (option, f"{key}={value}")
    ]
    use = options.counted_as()
    words += [] if use is None else ["--count-as", use]
    return " ".join(map(quoted, words))


def quoted(word: str) -> str:
    """A word as every terminal takes it for one; where it has quotes or signs, most of them."""
    if re.fullmatch(r"[\w./=:+,-]+", word):
        return word
    return shlex.quote(word) if re.search(r'["$`!]', word) else f'"{word}"'


def command(*parts: str) -> str:
    """A command of parts that may be empty."""
    return " ".join(["hydroloop", *(part for part in parts if part)])
