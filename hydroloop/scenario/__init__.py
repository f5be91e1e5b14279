"""What a user writes: schema, defaults with sources, reading, changing, explaining."""

from hydroloop.scenario.bundled import bundled_folder, bundled_scenarios
from hydroloop.scenario.changing import value_from_text
from hydroloop.scenario.explain import KeyNote, all_keys, explain
from hydroloop.scenario.reading import read_scenario, read_toml
from hydroloop.scenario.settled import Scenario

__all__ = [
    "KeyNote",
    "Scenario",
    "all_keys",
    "bundled_folder",
    "bundled_scenarios",
    "explain",
    "read_scenario",
    "read_toml",
    "value_from_text",
]
