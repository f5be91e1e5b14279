"""Small pieces of Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def cell(text: object) -> str:
    """Text that may stand in a cell of a table."""
    return " ".join(str(text).split()).replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*")


def code(text: str) -> str:
    """Text in the type of code; nothing if there is none."""
    return f"`{text}`" if text else ""


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table with a head."""
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    lines += ["| " + " | ".join(str(one) for one in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"
