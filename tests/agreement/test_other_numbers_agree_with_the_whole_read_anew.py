"""A scenario with another number is the one that its tables give when all of them are read anew."""

from __future__ import annotations

from typing import Any

import pytest

from hydroloop.errors import ScenarioError
from hydroloop.scenario import read_scenario
from hydroloop.scenario import settled as module
from hydroloop.scenario.bundled import bundled_scenarios
from hydroloop.scenario.changing import value_at
from hydroloop.scenario.tree import dotted, leaves


def told(scenario: Any, changes: dict[str, Any]) -> Any:
    """What a change comes to: the model and which works are held; or what is said."""
    try:
        changed = scenario.changed(changes)
    except ScenarioError as error:
        return str(error)
    return changed.model, changed.held


def other_numbers(scenario: Any) -> list[dict[str, Any]]:
    """Possible and impossible values for every key of a scenario's file that has a number."""
    numbers = {dotted(path): value_at(scenario.model, path) for path, _ in leaves(scenario.data)}
    return [
        {key: value}
        for key, number in numbers.items()
        if isinstance(number, float)
        for value in (0.9 * number, 1e4 * number)
    ]


@pytest.mark.parametrize("name", bundled_scenarios())
def test_a_changed_number_is_read_as_if_it_stood_in_the_file(name, monkeypatch):
    """Whether it is possible or not: the same scenario, or the same words."""
    scenario = read_scenario(name)
    changes = other_numbers(scenario)
    quick = [told(scenario, change) for change in changes]
    assert 4 < sum(isinstance(one, str) for one in quick) < len(quick) - 4
    monkeypatch.setattr(module, "renumbered", lambda *_: None)
    assert quick == [told(scenario, change) for change in changes]


@pytest.mark.parametrize("name", ["five_towns", "old_town"])
def test_people_who_come_and_go_leave_the_works_as_they_are(name, monkeypatch):
    """A change of a change, with works held, agrees too."""
    scenario = read_scenario(name)
    town = next(iter(scenario.town))
    people = f"town.{town}.people"

    def twice() -> Any:
        grown = scenario.changed({people: 3 * scenario.town[town].people})
        return [
            told(grown, {people: scenario.town[town].people}),
            told(grown, {"town.*.mains.real_losses": 0.2}),
            told(grown, {f"town.{town}.land.area": "90 km2"}),
        ]

    quick = twice()
    monkeypatch.setattr(module, "renumbered", lambda *_: None)
    assert quick == twice()
