"""Places of a module where a change would change nothing that runs: types, and settings of how a
function is kept or compiled."""

from __future__ import annotations

import ast
from pathlib import Path

Place = tuple[int, int]


def changed_by_nobody(path: str) -> list[tuple[Place, Place]]:
    """Begin and end, as line and column, of annotations, decorators and `__all__`."""
    found: list[ast.AST] = []
    for node in ast.walk(ast.parse(Path(path).read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            found += [node.returns] if node.returns else []
            found += node.decorator_list
        elif isinstance(node, (ast.arg, ast.AnnAssign)):
            found += [node.annotation] if node.annotation else []
    return [((one.lineno, one.col_offset), (one.end_lineno, one.end_col_offset)) for one in found]
