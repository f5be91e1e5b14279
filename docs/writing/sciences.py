"""The pages of the parts of the package: every public name of each, by the module it stands in."""

from __future__ import annotations

import importlib
import inspect
from collections import defaultdict

import hydroloop

# Part of the package: its title, and what a reader may do with it.
PARTS = {
    "weather": (
        "Weather and land",
        "Evaporation, sun, snow, storm runoff, low flows and how rare they are: functions of "
        "plain numbers and arrays, each with the source of its equation.",
    ),
    "plants": (
        "Plants",
        "Sizes, contact, storage, growth and tracer tests of treatment plants by published rules. "
        "For teaching: a real plant is designed and run by licensed people under local codes.",
    ),
    "measures": ("Measures", "What a water record says, each number by its own function."),
    "record": ("Water record", "Making, checking and reading records of volumes and flows."),
    "tracing": ("Tracing", "Following water through a record, forwards and backwards in time."),
    "draw": (
        "Pictures",
        "Each takes a water record or a finished run, and hands back a matplotlib "
        "Figure with a caption: a record made from somebody's own tables is drawn like any "
        "other.",
    ),
    "units": ("Units", "Reading quantities with units and writing them."),
}


def pages() -> dict[str, str]:
    """Each page by its name."""
    return {f"reference/{part}.md": page(part) for part in PARTS}


def page(part: str) -> str:
    """One part: its head, then the public names of each of its modules."""
    package = importlib.import_module(f"hydroloop.{part}")
    title, what = PARTS[part]
    lines = [
        f"# {title}\n\n{what}\nEach name is one import away: "
        f"`from hydroloop.{part} import ...`, or `hl.{part}....`.\n"
    ]
    modules = defaultdict(list)
    for name in package.__all__:
        thing = getattr(package, name)
        if inspect.isfunction(thing) or inspect.isclass(thing):
            modules[thing.__module__].append(name)
        else:
            modules[""].append(name)
    for module, names in sorted(modules.items(), key=lambda found: found[0] or "~"):
        lines.append(f"## {_heading(module)}\n")
        lines += [_entry(part, name) for name in names]
    return "\n".join(lines)


def _heading(module: str) -> str:
    if not module:
        return "Tables and types"
    text = inspect.getdoc(importlib.import_module(module)) or module
    first = text.split("\n\n")[0].replace("\n", " ")
    return first.split(":")[0].rstrip(".")


def _entry(part: str, name: str) -> str:
    thing = getattr(importlib.import_module(f"hydroloop.{part}"), name)
    what, options = "py:data", ""
    if inspect.isfunction(thing):
        what = "autofunction"
    elif inspect.isclass(thing):
        what, options = "autoclass", "   :members:\n"
    if name in hydroloop.__all__:  # it is linked on the page of `hydroloop` itself
        options += "   :no-index:\n"
    return f"```{{eval-rst}}\n.. {what}:: hydroloop.{part}.{name}\n{options}```\n"
