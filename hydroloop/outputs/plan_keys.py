"""What a plan file may hold, as `explain plan` shows it."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any

from hydroloop.outputs.wording import WIDTH
from hydroloop.whatif import PLAN_KEYS, READY_MADE, STEP_KEYS

_EXAMPLE = """
[[step]]
what = "Mend the mains"
points = 30
measure = "repair_leaks"
town = "*"
by = "50 %"
"""


def plan_key_lines() -> list[str]:
    """Keys of a plan, and the ready-made measures with their options.

    Returns
    -------
    list of str
        Lines of text.

    Examples
    --------
    >>> plan_key_lines()[0]
    'A plan is a file of its own, for run --plan and compare --plan. hydroloop reads it as TOML.'
    """
    lines = ["A plan is a file of its own, for run --plan and compare --plan. hydroloop reads it "
             "as TOML.", "", "[plan]", *_entries(PLAN_KEYS), "",
             "[[step]]  as many as there are, taken from first to last; each has what, and at "
             "least one of", "    set, scale and measure", *_entries(STEP_KEYS), "",
             "Ready-made measures, and the keys that stand beside measure"]
    for name, ready in READY_MADE.items():
        lines += ["", f"  {name}: {ready.meaning}", *_entries(ready.options, "    ")]
    return [*lines, "", "For example:", *_EXAMPLE.splitlines()]


def plan_key_facts() -> dict[str, Any]:
    """The same as plain values for a script.

    Returns
    -------
    dict
        Keys of a plan and of a step, and measures with their options, each with its meaning.
    """
    return {"plan": dict(PLAN_KEYS), "step": dict(STEP_KEYS), "measures": {
        name: {"meaning": ready.meaning, "options": dict(ready.options)}
        for name, ready in READY_MADE.items()}}


def _entries(meanings: Mapping[str, str], indent: str = "  ") -> list[str]:
    """Keys with their meanings, in two columns."""
    wide = max(map(len, meanings)) + 1
    return [line for key, words in meanings.items() for line in textwrap.wrap(
        words, WIDTH, initial_indent=f"{indent}{key:<{wide}} ",
        subsequent_indent=indent + " " * (wide + 1))]
