"""What is public: one list, about twenty names, and a light start."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib

import pytest
from house.source_tree import PACKAGE, ROOT, modules

import hydroloop


def test_list_of_public_names_is_what_is_public():
    """`__all__` holds exactly the public names of the package, and each one loads."""
    public = {name for name in dir(hydroloop) if not name.startswith("_")} | {"__version__"}
    assert set(hydroloop.__all__) == public
    assert len(hydroloop.__all__) == len(set(hydroloop.__all__))
    for name in hydroloop.__all__:
        assert getattr(hydroloop, name) is not None


def test_public_names_are_about_twenty():
    """The list stays short enough to read."""
    assert 12 <= len(hydroloop.__all__) <= 30


def test_type_checkers_see_the_same_names():
    """The names imported for type checkers are those that load lazily."""
    tree = next(module.tree for module in modules() if module.name == "hydroloop")
    block = next(node for node in tree.body if isinstance(node, ast.If))
    seen = {
        alias.name
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert seen | {"__version__"} == set(hydroloop.__all__)


def test_every_package_says_what_it_offers():
    """Each package that gathers names lists them in `__all__`, and has every one."""
    for module in modules():
        if module.path.stem != "__init__" or module.name in ("hydroloop", "hydroloop.cli"):
            continue
        if not any(
            isinstance(node, ast.ImportFrom) and node.module != "__future__"
            for node in module.tree.body
        ):
            continue  # only a docstring: its modules are imported by name
        listed = next(
            (
                ast.literal_eval(node.value)
                for node in module.tree.body
                if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__"
            ),
            None,
        )
        assert listed, f"{module} has no __all__"
        loaded = __import__(module.name, fromlist=listed)
        missing = [name for name in listed if not hasattr(loaded, name)]
        assert not missing, f"{module}: {missing}"


@pytest.mark.parametrize("first", ["hydroloop", "hydroloop.measures", "hydroloop.measures.gather"])
def test_names_do_not_hang_on_what_was_imported_first(first):
    """`hydroloop.measures` can be called and holds the single ones; parts load when asked for."""
    code = (
        f"import {first}; import hydroloop as hl; from hydroloop import measures; "
        "print(all(callable(getattr(hl, name)) for name in hl.__all__ if name[0] != '_'), "
        "measures is hl.measures, callable(hl.measures.return_ratio), "
        "callable(hl.weather.runoff_depth), callable(hl.plants.required_ct))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True"] * 5


def test_import_is_light():
    """`import hydroloop` loads none of the heavy libraries."""
    code = (
        "import sys, hydroloop; print(sorted({'numpy', 'pandas', 'xarray', 'matplotlib', "
        "'numba', 'pint', 'scipy', 'pydantic'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_wheel_lists_every_package():
    """The packages named for the wheel are the folders there are."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    listed = set(settings["tool"]["setuptools"]["packages"]) - {"hydroloop._scenarios"}
    found = {".".join(path.parent.relative_to(ROOT).parts) for path in PACKAGE.rglob("__init__.py")}
    assert listed == found
