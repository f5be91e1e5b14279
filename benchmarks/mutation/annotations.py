"""Places of a module where a change would change nothing that is computed: types, the star of a
signature, guards against slips (``strict=True``), and settings of how a function is kept or
compiled."""

from __future__ import annotations

import ast
from pathlib import Path

Place = tuple[int, int]


def changed_by_nobody(path: str) -> list[tuple[Place, Place]]:
    """Begin and end of each, as line and column."""
    found: list[ast.AST] = []
    stars: list[tuple[Place, Place]] = []
    for node in ast.walk(ast.parse(Path(path).read_text(encoding="utf-8"))):
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            found += node.decorator_list
        if isinstance(node, ast.FunctionDef):
            found += [node.returns] if node.returns else []
            stars += _star(node)
        elif isinstance(node, (ast.arg, ast.AnnAssign)):
            found += [node.annotation] if node.annotation else []
        elif isinstance(node, ast.keyword) and node.arg == "strict":
            found.append(node.value)
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            found.append(node.test)
    return stars + [_place(one) for one in found]


def _place(node: ast.AST) -> tuple[Place, Place]:
    return (node.lineno, node.col_offset), (node.end_lineno, node.end_col_offset)


def _star(function: ast.FunctionDef) -> list[tuple[Place, Place]]:
    """From the last parameter by position to the first by keyword; defaults stand outside."""
    given = function.args
    if not given.kwonlyargs:
        return []
    before = [*given.posonlyargs, *given.args, *given.defaults]
    begin = max((_place(one)[1] for one in before), default=(function.lineno, function.col_offset))
    return [(begin, _place(given.kwonlyargs[0])[0])]
