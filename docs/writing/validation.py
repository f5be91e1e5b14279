"""The page of printed numbers and ours beside them, worked out while the page is written."""

from __future__ import annotations

import ast
import importlib.util
import math
from collections import Counter
from pathlib import Path

from house.live_checks import LAYERS, THROUGH, counted, entries, layer
from house.published_floor import LEAST, LEAST_WORKS
from published_checks import Check
from writing.markdown import cell, table
from writing.unmet import NOT_TRIED, UNMET

_HEAD = """# Validation: printed numbers and ours

Every number below was printed by somebody else. The column *ours* was worked out by this version
of hydroloop while this page was written. What does not agree comes first.

## Not met, and why

{unmet}
{not_tried}
## What is held

**{count} checks**, from some {works} works; {read} of the numbers were read in print, {second} as
given in another work, {memory} from memory (to be replaced when the original turns up). Each runs
code that a command, a measure or a public function uses. Of one formula no more than twenty count,
which leaves **{counted}**, {through} of them through a whole scenario, a record, the tracing or a
measure. *Allowed* is half of the last printed digit unless the source rounds on its way or is a
range. Numbers that we worked out ourselves are not on this page, and closed forms are tested apart
from it. {constants} numbers that the program only keeps as they were printed stand in one table at
the end and do not count. The build of this page fails when a number lies outside its tolerance, and
when there are fewer checks than there were.
"""
_RUNS = {"simulate", "read_toml", "read_scenario", "build_record", "water_record", "steady_record"}
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
    checks = [check for _, found, _ in modules.values() for check in found]
    constants = [check for _, _, kept in modules.values() for check in kept]
    for check in [*checks, *constants]:
        check.holds()
    count = counted(
        (path.stem, check) for path, (_, found, _) in modules.items() for check in found
    )
    if sum(count.values()) < LEAST:
        raise RuntimeError(
            f"{sum(count.values())} published checks count, but there were {LEAST}: "
            "put back what is missing."
        )
    known = {how: sum(check.known == how for check in checks) for how in _KNOWN}
    head = _HEAD.format(
        unmet=_unmet(),
        not_tried=NOT_TRIED,
        count=len(checks),
        works=LEAST_WORKS,
        read=known["read"],
        second=known["second-hand"],
        memory=known["memory"],
        counted=sum(count.values()),
        through=sum(count[part] for part in THROUGH),
        constants=len(constants),
    )
    held = [(words, found) for words, found, _ in modules.values() if found]
    sections = (_section(words, found) for words, found in held)
    return "\n".join([head, _by_layer(checks, count), _summary(held), *sections, _kept(constants)])


def _checks(path: Path) -> tuple[str, list[Check], list[Check]]:
    spec = importlib.util.spec_from_file_location(f"printed_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    words = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or path.stem
    return (
        " ".join(words.split("\n\n")[0].split()).rstrip("."),
        list(getattr(module, "CHECKS", ())),
        list(getattr(module, "CONSTANTS", ())),
    )


def _unmet() -> str:
    """Printed numbers that ours do not meet."""
    rows = (
        (
            cell(one.source),
            cell(one.quantity),
            f"{one.printed:.12g}",
            f"{one.ours():.4g}",
            cell(one.units),
            cell(one.why),
        )
        for one in UNMET
    )
    return table(("source", "quantity", "printed", "ours", "unit", "why"), rows)


def _by_layer(checks: list[Check], count: Counter[str]) -> str:
    """Checks of each layer: all, those that count, and the ways that they go."""
    rows, parts = [], [layer(check) for check in checks]
    for part in LAYERS:
        of_part = [check for check, its in zip(checks, parts, strict=True) if its == part]
        if of_part:
            runs = sum(bool({name for _, name in entries(check)} & _RUNS) for check in of_part)
            rows.append((part, len(of_part), count[part], len(of_part) - runs, runs))
    return table(
        ("layer", "checks", "that count", "by plain numbers", "through a scenario or a record"),
        rows,
    )


def _kept(constants: list[Check]) -> str:
    """Numbers that are only kept, in one table."""
    rows = (
        (
            cell(one.source),
            cell(one.quantity),
            f"{one.printed:.12g}",
            cell(one.units),
            _KNOWN[one.known],
        )
        for one in constants
    )
    shown = table(("source", "quantity", "printed, and kept", "unit", "known"), rows)
    return f"## Kept as printed\n\n{shown}"


def _summary(modules: list[tuple[str, list[Check]]]) -> str:
    """A line for each section: how many checks, and how near the nearest came to its limit."""
    rows = (
        (f"[{cell(words)}](#{_anchor(words)})", len(found), f"{_nearest(found):.0%}")
        for words, found in modules
    )
    return table(("compared with", "checks", "largest difference, of what is allowed"), rows)


def _anchor(words: str) -> str:
    kept = "".join(c for c in words.lower() if c.isalnum() or c in " -_")
    return kept.replace(" ", "-")


def _nearest(checks: list[Check]) -> float:
    return max(
        (
            abs(float(check.ours()) - check.printed) / check.tolerance
            for check in checks
            if check.tolerance
        ),
        default=0.0,
    )


def _section(words: str, checks: list[Check]) -> str:
    """One module's checks; what is the same for all of them stands above the table."""
    head = ["source", "quantity", "printed", "ours", "difference", "allowed", "unit", "known"]
    rows = [_row(check) for check in checks]
    above = [
        f"{head[k].capitalize()}: {rows[0][k]}."
        for k in (0, 7)
        if len({row[k] for row in rows}) == 1
    ]
    kept = [k for k in range(8) if k not in (0, 7) or len({row[k] for row in rows}) > 1]
    shown = table([head[k] for k in kept], ([row[k] for k in kept] for row in rows))
    return f"## {words}\n\n{' '.join(above)}\n\n{shown}"


def _row(check: Check) -> tuple[str, ...]:
    ours = float(check.ours())
    digits = max(0, min(12, 2 - math.floor(math.log10(check.tolerance)))) if check.tolerance else 9
    difference = round(ours - check.printed, digits) + 0.0
    return (
        cell(check.source),
        cell(check.quantity),
        f"{check.printed:.12g}",
        f"{ours:,.{digits}f}" if abs(ours) < 1e9 else f"{ours:.9g}",
        f"{difference:+.2g}",
        f"{check.tolerance:.3g}",
        cell(check.units),
        _KNOWN[check.known],
    )
