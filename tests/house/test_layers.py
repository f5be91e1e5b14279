"""Imports point one way: the table of who may import whom, and nothing hidden from it."""

from __future__ import annotations

import ast
from pathlib import Path

from house.source_tree import Module, imports, modules

# Open to every layer.
FREE = {
    "arguments",
    "bounds",
    "compiling",
    "errors",
    "files",
    "gates",
    "glossary",
    "opening",
    "placenames",
    "processes",
    "temporary",
    "units",
    "visible",
}

BEFORE_THE_RECORD = {"scenario", "weather", "waterworks"}

# Layer: the layers it may import besides itself and the free ones. No exceptions.
# The empty name is the front door, `hydroloop` itself, where the version is told.
MAY_IMPORT = {
    "draw": {"outputs", "charts", "measures"},
    "": {"errors", "scenario", "waterworks", "record", "tracing", "measures", "whatif", "outputs"},
    "bounds": set(),
    "arguments": set(),
    "errors": {"visible"},
    "compiling": set(),
    "files": set(),
    "gates": set(),
    "opening": set(),
    "placenames": set(),
    "processes": {"temporary"},
    "temporary": set(),
    "visible": set(),
    "glossary": set(),
    "units": set(),
    "record": set(),
    "scenario": set(),
    "weather": set(),
    "waterworks": {"plants", "record", "weather", "scenario"},
    "tracing": {"record"},
    "plants": {"scenario"},
    "measures": {"tracing", "record", "plants"},
    "whatif": {"", "measures", "tracing", "record", *BEFORE_THE_RECORD},
    # What a study finds is words of towns and dates at most; what is said of it stands in outputs.
    "studies": {"", "charts", "measures", "plants", "tracing", "record", *BEFORE_THE_RECORD},
    "charts": {"measures", "plants", "tracing", "record"},
    "judging": {"", "charts", "studies", "whatif", "scenario", "waterworks"},
    "outputs": {
        "",
        "judging",
        "studies",
        "whatif",
        "charts",
        "measures",
        "plants",
        "tracing",
        "record",
        *BEFORE_THE_RECORD,
    },
    "web": {
        "",
        "judging",
        "studies",
        "whatif",
        "outputs",
        "charts",
        "measures",
        "plants",
        "tracing",
        "record",
        *BEFORE_THE_RECORD,
    },
    "cli": {
        "",
        "judging",
        "studies",
        "whatif",
        "web",
        "outputs",
        "charts",
        "measures",
        "plants",
        "tracing",
        "record",
        *BEFORE_THE_RECORD,
    },
    "__main__": {"cli"},
}

# Rules of the water works: `simulate` lets them act in order, they do not know each other.
RULES = {"demand", "drought", "land", "plant_and_mains", "reservoir", "river", "wastewater"}


def own_imports(module: Module) -> list[tuple[str, int]]:
    return [(name, line) for name, line in imports(module) if name.split(".")[0] == "hydroloop"]


def test_imports_point_one_way():
    """A module imports only from its own layer, the free ones and those the table names."""
    wrong = []
    for module in modules():
        assert module.part in MAY_IMPORT, f"{module} is in no layer: add it to the table"
        allowed = MAY_IMPORT[module.part] | FREE | {module.part}
        wrong += [
            f"{module}, line {line} imports {name}"
            for name, line in own_imports(module)
            if [*name.split("."), ""][1] not in allowed
        ]
    assert not wrong, "\n".join(wrong)


def test_rules_stand_alone():
    """A rule of the water works imports no other module of the water works."""
    rules = [m for m in modules() if m.part == "waterworks" and m.name.split(".")[-1] in RULES]
    wrong = [
        f"{module}, line {line} imports {name}"
        for module in rules
        for name, line in own_imports(module)
        if name.startswith("hydroloop.waterworks")
    ]
    assert len(rules) >= len(RULES)
    assert not wrong, "\n".join(wrong)


def test_all_rules_are_there():
    """The rule modules that the table speaks of exist under these names."""
    names = {module.name.removeprefix("hydroloop.waterworks.") for module in modules()}
    assert names >= RULES


def test_measures_stand_alone():
    """Measures never import each other; one package gathers them for the front door."""
    shared = (
        "hydroloop.measures.run_arrays",
        "hydroloop.measures.towns",
    )  # the arrays that all read
    wrong = [
        f"{module}, line {line} imports {name}"
        for module in modules()
        if module.part == "measures"
        and module.name not in ("hydroloop.measures", *shared)
        and not module.name.startswith("hydroloop.measures.gather")
        for name, line in own_imports(module)
        if name.startswith("hydroloop.measures") and not name.startswith(shared)
    ]
    assert not wrong, "\n".join(wrong)


def test_towns_find_their_flows_in_one_place():
    """Which flows are a town's taps, intakes and outfalls is read from kinds in one module only."""
    own = {"home_use", "intake", "outfall", "import"}
    beyond = {"scenario", "waterworks", "record", "tracing"}  # they make the flows, or know no town
    wrong = [
        f"{module}, line {node.lineno}: flow_mask"
        for module in modules()
        if module.part not in beyond and module.name != "hydroloop.measures.towns"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "flow_mask"
        for word in node.keywords
        if word.arg == "kind"
        and own & {getattr(part, "value", "") for part in ast.walk(word.value)}
    ]
    assert not wrong, "\n".join(wrong)


def test_a_limit_of_contact_is_known_in_one_place():
    """What is limited is read back out of its name by the capacity itself, and by nobody else."""
    asking = {
        module.name
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "startswith"
        and isinstance(node.func.value, ast.Attribute)
        and node.func.value.attr == "what"
    }
    assert asking == {"hydroloop.plants.capacity"}


def test_one_place_knows_other_units():
    """Only hydroloop.units imports pint."""
    users = {
        module.part
        for module in modules()
        for name, _ in imports(module)
        if name.split(".")[0] == "pint"
    }
    assert users == {"units"}


def test_free_layers_are_closed():
    """What everybody may import imports nothing of ours but the other free layers."""
    wrong = [
        f"{module} imports {name}"
        for module in modules()
        if module.part in FREE
        for name, _ in own_imports(module)
        if [*name.split("."), ""][1] not in FREE
    ]
    assert not wrong


def test_imports_hidden_in_functions_and_strings_are_seen():
    """The reader of imports finds those inside functions and module names in strings."""
    source = 'def f():\n    from hydroloop.cli import nothing\n    return "hydroloop.outputs"\n'
    module = Module(Path("hidden.py"), "hydroloop.tracing.hidden", ast.parse(source))
    assert {name for name, _ in imports(module)} == {"hydroloop.cli", "hydroloop.outputs"}
