"""Plausibility: values that are allowed but unusual."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from hydroloop.scenario.draft import Draft, Finding
from hydroloop.scenario.tree import Path


def unusual(draft: Draft, given: Iterable[tuple[Path, Any]]) -> Iterator[Finding]:
    """Values outside the usual range."""
    yield from ()
