"""Docstrings say what a chart would print, name every parameter, and own up to every error."""

from __future__ import annotations

import ast

from house.numpydoc_reading import (
    Docstring,
    parameters,
    raised,
    read_docstring,
    returns_something,
)
from house.source_tree import (
    Module,
    exported_names,
    is_command,
    modules,
    public_definitions,
)

RULES = ("demand", "drought", "land", "reservoir", "river", "supply", "wastewater")


def must_be_whole(module: Module, node: ast.FunctionDef | ast.ClassDef) -> bool:
    """Whether the whole form is asked: for what users are told of, and for every rule."""
    rule = module.part == "waterworks" and module.name.split(".")[-1] in RULES
    return rule or f"{module.name}.{node.name}" in exported_names()


DEFINITIONS = [(module, node) for module in modules() for node in public_definitions(module)]
FUNCTIONS = [
    pair for pair in DEFINITIONS if isinstance(pair[1], ast.FunctionDef) and not is_command(pair[1])
]


def docstring_of(node: ast.FunctionDef | ast.ClassDef) -> Docstring:
    return read_docstring(ast.get_docstring(node) or "")


def test_first_lines():
    """Modules, public names and rules have a docstring; every docstring opens with a sentence."""
    wrong = []
    for module in modules():
        heads = [("the module itself", ast.get_docstring(module.tree), True)]
        heads += [
            (node.name, ast.get_docstring(node), must_be_whole(module, node))
            for node in public_definitions(module)
        ]
        wrong += [
            f"{module}: {name}"
            for name, text, asked in heads
            if (asked and not text)
            or (text and not read_docstring(text).first_line.endswith((".", "?", ":")))
        ]
    assert not wrong, "\n".join(wrong)


def test_parameters_are_those_of_the_signature():
    """Where parameters are told, all are, under their names and in their order."""
    wrong = []
    for module, node in FUNCTIONS:
        told = docstring_of(node).entries("Parameters")
        if (told or must_be_whole(module, node)) and told != parameters(node):
            wrong.append(f"{module}.{node.name}: tells {told}, takes {parameters(node)}")
    assert not wrong, "\n".join(wrong)


def test_raises_lists_every_error():
    """Every error class that a public function or a rule raises stands under Raises."""
    wrong = []
    for module, node in FUNCTIONS:
        told = {name.split(".")[-1] for name in docstring_of(node).entries("Raises")}
        if (told or must_be_whole(module, node)) and (missing := raised(node, module.tree) - told):
            wrong.append(f"{module}.{node.name} raises {sorted(missing)}")
    assert not wrong, "\n".join(wrong)


def test_what_returns_has_returns_and_examples():
    """Every public name, and every rule, tells what it returns and shows lines that run."""
    wrong = []
    for module, node in FUNCTIONS:
        if must_be_whole(module, node) and returns_something(node):
            sections = docstring_of(node).sections
            if "Returns" not in sections and "Yields" not in sections:
                wrong.append(f"{module}.{node.name}: no Returns")
            if not any(line.startswith(">>>") for line in sections.get("Examples", [])):
                wrong.append(f"{module}.{node.name}: no Examples")
    assert not wrong, "\n".join(wrong)


def test_the_reader_finds_what_is_missing():
    """The checks above can fail: a function with all faults is caught in each of them."""
    source = (
        "def _deep():\n    raise KeyError('x')\n\n"
        "def faulty(a, *, b):\n"
        '    """No full stop\n\n    Parameters\n    ----------\n    a : int\n        One [-].\n'
        '    """\n    _deep()\n    return a\n'
    )
    tree = ast.parse(source)
    node = tree.body[1]
    assert isinstance(node, ast.FunctionDef)
    doc = docstring_of(node)
    assert not doc.first_line.endswith(".")
    assert doc.entries("Parameters") == ["a"] != parameters(node)
    assert raised(node, tree) == {"KeyError"}
    assert returns_something(node)
