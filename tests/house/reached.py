"""Which functions and classes of the package a command, a measure or a public name comes to: read
from the code, by the names that it uses."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache

from house.source_tree import Module, exported_names, modules

Place = tuple[str, str]


@cache
def reached() -> frozenset[Place]:
    """Module and name of everything that is used."""
    found: set[Place] = set()
    waiting = list(_begins())
    while waiting:
        place = waiting.pop()
        if place not in found:
            found.add(place)
            waiting += _used(place)
    return frozenset(found)


def _begins() -> Iterator[Place]:
    """Commands, public names, and what modules do when they are loaded."""
    for name in exported_names():
        module, _, last = name.rpartition(".")
        yield module, last
    for module in modules():
        if module.part in ("cli", "draw"):
            yield from ((module.name, name) for name in _definitions(module))
        for node in module.tree.body:
            if isinstance(node, ast.Expr | ast.If):
                yield from _names(module.name, node)


@cache
def _by_name() -> dict[str, Module]:
    return {module.name: module for module in modules()}


@cache
def _definitions(module: Module) -> dict[str, ast.stmt]:
    found: dict[str, ast.stmt] = {}
    for node in module.tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found[node.name] = node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            for name in ast.walk(node):
                if isinstance(name, ast.Name) and isinstance(name.ctx, ast.Store):
                    found[name.id] = node
    return found


@cache
def _imported(module: Module) -> dict[str, Place]:
    return {
        alias.asname or alias.name: (node.module or "", alias.name)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


def _used(place: Place) -> Iterator[Place]:
    module = _by_name().get(place[0])
    node = _definitions(module).get(place[1]) if module else None
    if node is not None:
        yield from _names(place[0], node)


def _names(home: str, node: ast.AST) -> Iterator[Place]:
    """Definitions that a piece of code names, also as `module.name`."""
    for one in ast.walk(node):
        if isinstance(one, ast.Name):
            yield from _defining(home, one.id)
        elif isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name):
            named = _imported(_by_name()[home]).get(one.value.id)
            if named and ".".join(named) in _by_name():
                yield from _defining(".".join(named), one.attr)


def _defining(home: str, name: str) -> Iterator[Place]:
    module = _by_name().get(home)
    if module is None:
        return
    if name in _definitions(module):
        yield home, name
    elif _imported(module).get(name, (home, name)) != (home, name):
        yield from _defining(*_imported(module)[name])
