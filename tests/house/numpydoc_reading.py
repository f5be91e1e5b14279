"""Reading numpydoc docstrings, as far as the house tests need it."""

from __future__ import annotations

import ast
import inspect
import re
from dataclasses import dataclass, field

_UNDERLINE = re.compile(r"-{3,}\s*")


@dataclass
class Docstring:
    """First line and sections of a docstring."""

    first_line: str
    sections: dict[str, list[str]] = field(default_factory=dict)

    def entries(self, section: str) -> list[str]:
        """Names before the colon (or alone) at the left edge of a section."""
        names: list[str] = []
        for line in self.sections.get(section, []):
            if line and not line[0].isspace():
                head = line.split(" : ")[0].split(":")[0]
                names += [name.strip().lstrip("*") for name in head.split(",")]
        return [name for name in names if name]


def read_docstring(text: str) -> Docstring:
    """Split a docstring at its underlined headings."""
    lines = inspect.cleandoc(text).split("\n")
    paragraph = []
    for line in lines:
        if not line.strip():
            break
        paragraph.append(line.strip())
    made = Docstring(" ".join(paragraph))
    current: list[str] | None = None
    for here, below in zip(lines, [*lines[1:], ""], strict=True):
        if _UNDERLINE.fullmatch(below) and here.strip():
            current = made.sections.setdefault(here.strip(), [])
        elif current is not None and not _UNDERLINE.fullmatch(here):
            current.append(here)
    return made


def parameters(node: ast.FunctionDef) -> list[str]:
    """Names of a function's parameters in order, without `self`."""
    args = node.args
    named = [*args.posonlyargs, *args.args]
    if args.vararg:
        named.append(args.vararg)
    named += args.kwonlyargs
    if args.kwarg:
        named.append(args.kwarg)
    return [arg.arg for arg in named if arg.arg not in ("self", "cls")]


def returns_something(node: ast.FunctionDef) -> bool:
    """Whether a function gives back more than None."""
    if isinstance(node.returns, ast.Constant) and node.returns.value is None:
        return False
    return any(
        (isinstance(inner, ast.Return) and inner.value is not None)
        or isinstance(inner, ast.Yield | ast.YieldFrom)
        for inner in _own_nodes(node)
    )


def raised(node: ast.FunctionDef, tree: ast.Module) -> set[str]:
    """Classes that a function raises, itself or through private functions of its own module.

    A class caught again in the same function does not count, nor do errors that say the program
    itself is at fault.
    """
    private = {
        inner.name: inner
        for inner in tree.body
        if isinstance(inner, ast.FunctionDef) and inner.name.startswith("_")
    }
    found: set[str] = set()
    waiting, seen = [node], {node.name}
    while waiting:
        here = waiting.pop()
        found |= _raised_here(here)
        for inner in _own_nodes(here):
            if isinstance(inner, ast.Call) and isinstance(inner.func, ast.Name):
                name = inner.func.id
                if name in private and name not in seen:
                    seen.add(name)
                    waiting.append(private[name])
    return found - _caught(node) - {"AssertionError", "NotImplementedError"}


def _raised_here(node: ast.FunctionDef) -> set[str]:
    names = set()
    for inner in _own_nodes(node):
        if isinstance(inner, ast.Raise) and isinstance(inner.exc, ast.Call):
            target = inner.exc.func
            name = target.attr if isinstance(target, ast.Attribute) else getattr(target, "id", "")
            if name[:1].isupper():
                names.add(name)
    return names


def _caught(node: ast.FunctionDef) -> set[str]:
    return {
        name.id
        for inner in _own_nodes(node)
        if isinstance(inner, ast.ExceptHandler)
        for name in ast.walk(inner.type or ast.Constant(None))
        if isinstance(name, ast.Name)
    }


def _own_nodes(node: ast.FunctionDef):
    """All nodes of a function but those of functions and classes inside it."""
    waiting: list[ast.AST] = list(node.body)
    while waiting:
        here = waiting.pop()
        yield here
        if not isinstance(here, ast.FunctionDef | ast.ClassDef | ast.Lambda):
            waiting.extend(ast.iter_child_nodes(here))
