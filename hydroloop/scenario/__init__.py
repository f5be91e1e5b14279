"""What a user writes: schema, defaults with sources, reading, changing, explaining."""

from hydroloop.scenario.bundled import bundled_folder, bundled_scenarios
from hydroloop.scenario.changing import value_from_text
from hydroloop.scenario.reading import read_scenario, read_toml
from hydroloop.scenario.settled import Scenario

__all__ = [
    "Scenario",
    "bundled_folder",
    "bundled_scenarios",
    "read_scenario",
    "read_toml",
    "value_from_text",
]
