"""The page of printed numbers and ours beside them, worked out while the page is written."""

from __future__ import annotations

import ast
import importlib.util
import math
from pathlib import Path

from house.published_floor import FLOOR
from published_checks import Check
from writing.markdown import cell, table

_HEAD = """# Validation: printed numbers and ours

Every number below was printed by somebody else. The column *ours* was worked out by this version
of hydroloop while this page was written; *allowed* is half of the last printed digit unless the
source rounds on its way. **{count} checks in {groups} groups**, {read} of them read in print,
{second} as given in another work, {memory} from memory (to be replaced when the original turns
up). Numbers that we worked out ourselves are not on this page, and closed forms are tested apart
from it.

In the first table, 0 % stands for numbers that are exact, or that the program keeps as they were
printed: those lines check the copying. The build of this page fails when a number lies outside
its tolerance, and when there are fewer checks than there were.
"""
_KNOWN = {"read": "read", "second-hand": "as given elsewhere", "memory": "from memory"}


def page(folder: Path) -> str:
    """The page, written from the checks in a folder of tests.

    Parameters
    ----------
    folder : Path
        ``tests/published``.

    Returns
    -------
    str
        Markdown.

    Raises
    ------
    RuntimeError
        There are fewer checks than the floor.
    AssertionError
        One of our numbers is outside its tolerance.
    """
    modules = {path: _checks(path) for path in sorted(folder.glob("test_*.py"))}
    checks = [check for _, found in modules.values() for check in found]
    if len(checks) < FLOOR:
        raise RuntimeError(f"{len(checks)} published checks, but there were {FLOOR}: "
                           "put back what is missing.")
    for check in checks:
        check.holds()
    known = {how: sum(check.known == how for check in checks) for how in _KNOWN}
    head = _HEAD.format(count=len(checks), groups=len(modules), read=known["read"],
                        second=known["second-hand"], memory=known["memory"])
    sections = (_section(words, found) for words, found in modules.values())
    return "\n".join([head, _summary(list(modules.values())), *sections])


def _checks(path: Path) -> tuple[str, list[Check]]:
    spec = importlib.util.spec_from_file_location(f"printed_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    words = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or path.stem
    return " ".join(words.split("\n\n")[0].split()).rstrip("."), list(module.CHECKS)


def _summary(modules: list[tuple[str, list[Check]]]) -> str:
    """A line for each section: how many checks, and how near the nearest came to its limit."""
    rows = ((f"[{cell(words)}](#{_anchor(words)})", len(found), f"{_nearest(found):.0%}")
            for words, found in modules)
    return table(("held against", "checks", "largest difference, of what is allowed"), rows)


def _anchor(words: str) -> str:
    kept = "".join(c for c in words.lower() if c.isalnum() or c in " -_")
    return kept.replace(" ", "-")


def _nearest(checks: list[Check]) -> float:
    return max((abs(float(check.ours()) - check.printed) / check.tolerance
                for check in checks if check.tolerance), default=0.0)


def _section(words: str, checks: list[Check]) -> str:
    """One module's checks; what is the same for all of them stands above the table."""
    head = ["source", "quantity", "printed", "ours", "difference", "allowed", "unit", "known"]
    rows = [_row(check) for check in checks]
    above = [f"{head[k].capitalize()}: {rows[0][k]}." for k in (0, 7)
             if len({row[k] for row in rows}) == 1]
    kept = [k for k in range(8) if k not in (0, 7) or len({row[k] for row in rows}) > 1]
    shown = table([head[k] for k in kept], ([row[k] for k in kept] for row in rows))
    return f"## {words}\n\n{' '.join(above)}\n\n{shown}"


def _row(check: Check) -> tuple[str, ...]:
    ours = float(check.ours())
    digits = max(0, min(12, 2 - math.floor(math.log10(check.tolerance)))) if check.tolerance else 9
    difference = round(ours - check.printed, digits) + 0.0
    return (cell(check.source), cell(check.quantity), f"{check.printed:.12g}",
            f"{ours:,.{digits}f}" if abs(ours) < 1e9 else f"{ours:.9g}", f"{difference:+.2g}",
            f"{check.tolerance:.3g}", cell(check.units), _KNOWN[check.known])
