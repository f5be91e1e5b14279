"""What every page about a plant says first."""

from __future__ import annotations

CAUTION = (
    "A teaching model: not for designing, operating or judging a real plant, nor for health "
    "advice. Licensed operators and engineers do the work, and local codes and permits come first. "
    "Chlorine and other treatment chemicals are dangerous to handle: the doses here are "
    "arithmetic, never a recipe."
)
"""Caution that reports on plants print [text]."""

SHORT = (
    "A teaching model: licensed operators and engineers judge real plants, and chlorine is "
    "dangerous to handle."
)
"""The same for the caption of a picture [text]."""
