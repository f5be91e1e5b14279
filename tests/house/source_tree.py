"""The package's source as the house tests read it: modules, their imports, their docstrings."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "hydroloop"


@dataclass(frozen=True)
class Module:
    """One source file of the package."""

    path: Path
    name: str
    tree: ast.Module = field(repr=False, compare=False)

    def __str__(self) -> str:
        return self.name

    @property
    def part(self) -> str:
        """Layer that the module belongs to: the word after ``hydroloop.``."""
        return [*self.name.split("."), ""][1]


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the package, by name."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        words = path.relative_to(ROOT).with_suffix("").parts
        name = ".".join(words[:-1] if words[-1] == "__init__" else words)
        found.append(Module(path, name, ast.parse(path.read_text(encoding="utf-8"))))
    return tuple(found)


_MODULE_NAME = re.compile(r"hydroloop(\.[a-z_]\w*)+")


def imports(module: Module) -> Iterator[tuple[str, int]]:
    """Every module that a module imports, anywhere in it, with the line.

    A module name of ours in a string counts as well, so that importing by name cannot hide one.
    """
    docstrings = {id(text) for text in _docstring_nodes(module.tree)}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((name, node.lineno) for name in _from(module, node))
        elif (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in docstrings
            and _MODULE_NAME.fullmatch(node.value)
        ):
            yield node.value, node.lineno


def _from(module: Module, node: ast.ImportFrom) -> Iterator[str]:
    if node.level:
        here = (
            module.name.split(".")
            if module.path.stem == "__init__"
            else module.name.split(".")[:-1]
        )
        start = ".".join(here[: len(here) - node.level + 1])
        source = f"{start}.{node.module}" if node.module else start
    else:
        source = node.module or ""
    known = {other.name for other in modules()}
    for alias in node.names:
        inner = f"{source}.{alias.name}"
        yield inner if inner in known else source


def _docstring_nodes(tree: ast.Module) -> Iterator[ast.Constant]:
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if (
            isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
            and body
            and isinstance(body[0], ast.Expr)
            and isinstance(body[0].value, ast.Constant)
        ):
            yield body[0].value


def public_definitions(module: Module) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    """Functions and classes at the top of a module whose names have no underscore in front."""
    for node in module.tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node


def is_command(node: ast.FunctionDef | ast.ClassDef) -> bool:
    """Whether click calls a function: its docstring is what ``--help`` prints."""
    return any("click." in ast.unparse(mark) for mark in node.decorator_list)


# Packages whose names the reference pages tell, and which a user's script may import.
PUBLIC_PACKAGES = ("hydroloop", "hydroloop.weather", "hydroloop.plants")


@cache
def exported_names() -> frozenset[str]:
    """Names that the public packages offer, each with the module that defines it."""
    names: set[str] = set()
    for package in PUBLIC_PACKAGES:
        names.update(_offered(package))
    return frozenset(names)


def _offered(package: str) -> Iterator[str]:
    """What a package imports for its users, followed to where it is defined."""
    init = next(module for module in modules() if module.name == package)
    for node in ast.walk(init.tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                yield _defining(node.module, alias.name)


def _defining(module: str, name: str) -> str:
    init = {found.name: found for found in modules()}.get(module)
    if init is not None and init.path.stem == "__init__":
        for node in init.tree.body:
            if isinstance(node, ast.ImportFrom) and node.module:
                for alias in node.names:
                    if (alias.asname or alias.name) == name:
                        return _defining(node.module, alias.name)
    return f"{module}.{name}"
