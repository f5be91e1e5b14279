"""The page of the Python interface: every public name, by what it is for."""

from __future__ import annotations

import inspect

import hydroloop

_HEAD = """# Python interface

`import hydroloop as hl` loads nothing heavy; each name below loads its part when it is first
used. Every array that comes back carries its units and names its axes. Numbers without a unit in
their name are m3, m3/d or days. Every function of [weather and land](weather.md),
[plants](plants.md), [measures](measures.md), [records](record.md), [tracing](tracing.md) and
[units](units.md) has an entry of its own.
"""

_SECTIONS = {
    "Scenario": ("read_scenario", "Scenario"),
    "Water record": ("simulate", "water_record", "steady_record", "read_record", "write_record"),
    "Tracing": ("count_uses", "last_use", "follow", "ages", "drops", "long_run"),
    "Measures": ("measures",),
    "What if": ("compare", "spread", "sweep"),
    "On paper": ("report", "lesson", "challenge"),
    "Errors": ("HydroloopError", "InputError", "RecordError", "OutputError"),
}


def page() -> str:
    """The page, written from the list of public names."""
    sections = dict(_SECTIONS)
    told = {name for names in sections.values() for name in names}
    rest = tuple(name for name in hydroloop.__all__ if name not in told and name[0] != "_")
    if rest:
        sections["More"] = rest
    parts = [_HEAD]
    for title, names in sections.items():
        parts.append(f"## {title}\n")
        parts += [_entry(name) for name in names if name in hydroloop.__all__]
    return "\n".join(parts)


def _entry(name: str) -> str:
    """One name by the module that defines it, so that its own docstring is read."""
    thing = getattr(hydroloop, name)
    if inspect.ismodule(thing):  # a package that can be called: the function of its name
        name = f"{name}.{name}"
    is_class = isinstance(thing, type)
    what = "autoclass" if is_class else "autofunction"
    options = "   :members:\n" if is_class and not issubclass(thing, Exception) else ""
    return f"```{{eval-rst}}\n.. {what}:: hydroloop.{name}\n{options}```\n"
