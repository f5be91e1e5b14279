"""Cautions that every result carries."""

from __future__ import annotations

import textwrap

SHORT = (
    "A teaching model: not for designing, running or judging real works, nor for health advice.",
    "Used water comes to a tap only after the treatment and tests that law requires.",
)
"""What stands at the end of an answer on screen."""

SAME_WATER = (
    '"The same water" is a manner of speaking: molecules trade hydrogen with their neighbours all '
    "the time. What is followed here is the water, not labelled molecules."
)

LONG = (
    *SHORT,
    "What is in the water of a real tap stands in the local supplier's water-quality report.",
    "The local supplier and the authorities decide, licensed operators and engineers do the work, "
    "and local codes come first.",
    "Classroom work uses no wastewater, no chlorine and no storm drains.",
    SAME_WATER,
)
"""What stands in the folder of results."""


def wrapped(cautions: tuple[str, ...], width: int = 80) -> str:
    """Cautions as lines of text, each with a dash in front."""
    return "\n".join(
        textwrap.fill(words, width, initial_indent="- ", subsequent_indent="  ")
        for words in cautions
    )
