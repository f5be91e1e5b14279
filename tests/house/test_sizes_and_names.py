"""Small files with names from the water works; tests that say what they hold."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

from house.source_tree import ROOT, is_command, modules, public_definitions

MOST_LINES = 500
NO_NAMES = {"utils", "util", "helpers", "helper", "common", "core", "base", "manager", "misc"}
TESTS = sorted((ROOT / "tests").rglob("test_*.py"))
SOURCES = [
    *(module.path for module in modules()),
    *sorted((ROOT / "tests").rglob("*.py")),
    *sorted((ROOT / "docs").rglob("*.py")),
    *sorted((ROOT / "benchmarks").rglob("*.py")),
]


def short(path: Path) -> str:
    return str(path.relative_to(ROOT))


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def functions(path: Path) -> list[ast.FunctionDef]:
    """All test functions of a file, those in classes too."""
    return [
        node
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    ]


def test_files_are_small():
    """No file has more than 500 lines."""
    lines = {short(path): len(path.read_text(encoding="utf-8").splitlines()) for path in SOURCES}
    assert not {path: count for path, count in lines.items() if count > MOST_LINES}


def test_files_are_named_for_things():
    """No file or folder is called utils, helpers, common, core, base or manager."""
    assert not [
        short(path)
        for path in SOURCES
        if NO_NAMES & {*path.with_suffix("").relative_to(ROOT).parts}
    ]


def test_a_name_of_a_file_stands_once_in_each_layer():
    """Two files of one name work out, draw or tell the same subject: no layer has a name twice."""
    layers: dict[str, list[str]] = {}
    for module in modules():
        inside = module.path.relative_to(ROOT / "hydroloop")
        first = inside.parts[0]
        layer = first if first in ("cli", "charts", "outputs") else "what works numbers out"
        if inside.name != "__init__.py":
            layers.setdefault(layer, []).append(inside.name)
    twice = {
        layer: sorted({name for name in names if names.count(name) > 1})
        for layer, names in layers.items()
    }
    assert twice == {
        "cli": [],
        "charts": [],
        # The rim of each family of outputs: what puts its document into files.
        "outputs": ["writing.py"],
        "what works numbers out": [],
    }


def test_parameters_by_position_are_few():
    """A public function takes at most five parameters by position, unless compiled or a command."""
    many = []
    for module in modules():
        for node in public_definitions(module):
            if (
                not isinstance(node, ast.FunctionDef)
                or is_command(node)
                or any("njit" in ast.unparse(mark) for mark in node.decorator_list)
            ):
                continue
            count = len(node.args.posonlyargs) + len(node.args.args)
            many += [f"{module}.{node.name}: {count}"] if count > 5 else []
    assert not many


def test_tests_say_what_they_hold():
    """Every test has a docstring whose first line is a sentence."""
    silent = [
        f"{short(path)}: {node.name}"
        for path in TESTS
        for node in functions(path)
        if not (ast.get_docstring(node) or "").split("\n\n")[0].rstrip().endswith(".")
    ]
    assert not silent


def test_tests_can_fail():
    """Every test asserts, expects an error, or calls something that checks."""
    empty = [
        f"{short(path)}: {node.name}"
        for path in TESTS
        for node in functions(path)
        if not can_fail(node, path)
    ]
    assert not empty


def can_fail(node: ast.FunctionDef, path: Path) -> bool:
    """Whether a test checks something, itself or in a function of its own file that it calls."""
    own = {inner.name: inner for inner in tree_of(path).body if isinstance(inner, ast.FunctionDef)}
    called = {inner.id for inner in ast.walk(node) if isinstance(inner, ast.Name)} & set(own)
    lines = path.read_text(encoding="utf-8").splitlines()
    source = "\n".join(
        line
        for one in (node, *(own[name] for name in called if name != node.name))
        for line in lines[_begins(one) - 1 : one.end_lineno]
    )
    return any(word in source for word in ("assert", "raises(", "warns(", ".holds(", ".evaluate("))


def _begins(node: ast.FunctionDef) -> int:
    """Line of what a function does, below what it says of itself."""
    says = ast.get_docstring(node) is not None and len(node.body) > 1
    return node.body[1 if says else 0].lineno
