"""Follow a town's water from the river intake to the tap and back, every litre accounted for."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

# Where each public name lives. They load when first used, so that `import hydroloop` stays light.
_HOME = {
    "read_scenario": "hydroloop.scenario",
    "Scenario": "hydroloop.scenario",
    "simulate": "hydroloop.waterworks",
    "water_record": "hydroloop.record",
    "steady_record": "hydroloop.record",
    "read_record": "hydroloop.record",
    "write_record": "hydroloop.record",
    "count_uses": "hydroloop.tracing",
    "last_use": "hydroloop.tracing",
    "because": "hydroloop.tracing",
    "follow": "hydroloop.tracing",
    "ages": "hydroloop.tracing",
    "drops": "hydroloop.tracing",
    "long_run": "hydroloop.tracing",
    "Material": "hydroloop.tracing",
    "measures": "hydroloop.measures",
    "compare": "hydroloop.whatif",
    "spread": "hydroloop.whatif",
    "sweep": "hydroloop.whatif",
    "report": "hydroloop.outputs.on_paper",
    "lesson": "hydroloop.outputs.on_paper",
    "challenge": "hydroloop.outputs.on_paper",
    "HydroloopError": "hydroloop.errors",
    "InputError": "hydroloop.errors",
    "ScenarioError": "hydroloop.errors",
    "RecordError": "hydroloop.errors",
    "OutputError": "hydroloop.errors",
}

# Parts that need no import of their own: `hl.weather.runoff_depth`.
_PARTS = ("draw", "measures", "plants", "record", "tracing", "units", "weather")

__all__ = ["__version__", *_HOME]

if TYPE_CHECKING:  # the same names for editors and type checkers
    from hydroloop.errors import (
        HydroloopError,
        InputError,
        OutputError,
        RecordError,
        ScenarioError,
    )
    from hydroloop.measures import measures
    from hydroloop.outputs.on_paper import challenge, lesson, report
    from hydroloop.record import read_record, steady_record, water_record, write_record
    from hydroloop.scenario import Scenario, read_scenario
    from hydroloop.tracing import (
        Material,
        ages,
        because,
        count_uses,
        drops,
        follow,
        last_use,
        long_run,
    )
    from hydroloop.waterworks.simulate import simulate
    from hydroloop.whatif.compare import compare
    from hydroloop.whatif.spread import spread
    from hydroloop.whatif.sweep import sweep


def __getattr__(name: str) -> Any:
    if name in _PARTS:  # `measures` too, which can be called
        return importlib.import_module(f"{__name__}.{name}")
    if name not in _HOME:
        raise AttributeError(f"module 'hydroloop' has no attribute {name!r}")
    value = getattr(importlib.import_module(_HOME[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
