"""Files of tests near to a module: they name what it has, or a module that takes from it."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

ENOUGH = 2  # files


def naming(root: Path, module: str, files: list[str]) -> list[str]:
    """Files that name the module or something public in it; where they are few, also those that
    name a module that takes from it, and so on; all of them where nothing is named."""
    level, seen, found = {module}, {module}, set()
    while level and len(found) < ENOUGH:
        words = {word for one in level for word in _words(root, one)}
        pattern = re.compile(r"\b(" + "|".join(sorted(map(re.escape, words))) + r")\b")
        found |= {name for name in files if pattern.search(_text(root / name))}
        dotted = {_dotted(one) for one in level}
        level = {one for one in _modules(root) if one not in seen and dotted & _taken(root, one)}
        seen |= level
    return sorted(found) or files


@cache
def _modules(root: Path) -> tuple[str, ...]:
    return tuple(
        str(path.relative_to(root))
        for path in root.glob("hydroloop/**/*.py")
        if path.name != "__init__.py"
    )


@cache
def _words(root: Path, module: str) -> set[str]:
    """Public names of a module that are told from other words, and its own."""
    found = {_dotted(module)}
    for node in ast.parse(_text(root / module)).body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            found.add(node.name)
        elif isinstance(node, ast.Assign):
            found |= {one.id for one in node.targets if isinstance(one, ast.Name)}
    return {word for word in found if not word.startswith("_") and len(word) > 6}


@cache
def _taken(root: Path, module: str) -> set[str]:
    """Modules that a module takes names from."""
    return {
        f"{node.module}{dot}"
        for node in ast.walk(ast.parse(_text(root / module)))
        if isinstance(node, ast.ImportFrom) and node.module
        for dot in ("", *(f".{one.name}" for one in node.names))
    }


def _dotted(module: str) -> str:
    return module.removesuffix(".py").replace("/", ".")


@cache
def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")
