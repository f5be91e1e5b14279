"""What a plan file may hold, as `explain plan` shows it."""

from __future__ import annotations

from collections.abc import Mapping

from hydroloop.outputs.document import (
    Block,
    Document,
    Entries,
    Items,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.table import Column, Table
from hydroloop.whatif import PLAN_KEYS, READY_MADE, STEP_KEYS

_EXAMPLE = """
[[step]]
what = "Mend the mains"
points = 30
measure = "repair_leaks"
town = "*"
by = "50 %"
"""


def plan_document() -> Document:
    """Keys of a plan, and the ready-made measures with their options."""
    ready: list[Block] = [
        Entries([(name, one.meaning), *((f"  {key}", words) for key, words in one.options.items())])
        for name, one in READY_MADE.items()
    ]
    return Document(
        "explain",
        "A plan is a file of its own, for --plan. hydroloop reads it as TOML.",
        [
            Section("[plan]", [Entries(list(PLAN_KEYS.items()))]),
            Section(
                "[[step]]",
                [
                    Paragraph(
                        "as many as there are, taken from first to last; each has what, and at "
                        "least one of set, scale and measure",
                        indent=True,
                    ),
                    Entries(list(STEP_KEYS.items())),
                ],
            ),
            Section("Ready-made measures, and the keys that stand beside measure", ready),
            Section("For example:", [Items(_EXAMPLE.strip().splitlines())]),
            TableBlock(_table("plan", PLAN_KEYS), where="values"),
            TableBlock(_table("step", STEP_KEYS), where="values"),
            TableBlock(
                _table("measures", {name: one.meaning for name, one in READY_MADE.items()}),
                where="values",
            ),
            TableBlock(
                Table(
                    "options",
                    "Options of the ready-made measures",
                    [
                        Column(
                            "measure",
                            [name for name, one in READY_MADE.items() for _ in one.options],
                        ),
                        Column("key", [key for one in READY_MADE.values() for key in one.options]),
                        Column(
                            "meaning",
                            [
                                words
                                for one in READY_MADE.values()
                                for words in one.options.values()
                            ],
                        ),
                    ],
                ),
                where="values",
            ),
        ],
    )


def _table(name: str, meanings: Mapping[str, str]) -> Table:
    return Table(
        name, name, [Column("key", list(meanings)), Column("meaning", list(meanings.values()))]
    )
