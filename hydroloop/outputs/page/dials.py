"""The dials of the page: each position is steps of a plan, so it can be saved and run again."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hydroloop.errors import AskError, InputError, Problem
from hydroloop.placenames import place_words
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import quoted
from hydroloop.waterworks.sizes import town_sizes
from hydroloop.whatif.plan import read_plan_text

Setting = tuple[int, ...]
"""One position of every dial, in their order."""

_REUSED = 0.2  # of what homes use: led back to the head of the plant [-]


@dataclass(frozen=True)
class Position:
    """A position of a dial."""

    label: str  # what it is called
    steps: str = ""  # steps of a plan as TOML; empty where nothing is changed


@dataclass(frozen=True)
class Dial:
    """A dial: the first position is the scenario as it is."""

    # its key, what stands beside it, and what it changes
    name: str
    label: str
    about: str
    positions: tuple[Position, ...]  # in their order


def dials_of(scenario: Scenario) -> list[Dial]:
    """The dials that a scenario can have: what it cannot take is left out."""
    found = []
    for dial in _all_dials(scenario):
        kept = [one for one in dial.positions if _can_be_taken(one, scenario)]
        if len(kept) > 1:
            found.append(Dial(dial.name, dial.label, dial.about, tuple(kept)))
    return found


def settings_of(dials: Sequence[Dial]) -> list[Setting]:
    """Every setting of all dials, the scenario as it is first."""
    return list(itertools.product(*(range(len(dial.positions)) for dial in dials)))


def setting_of(dials: Sequence[Dial], given: Mapping[str, int]) -> Setting:
    """A setting by the names of its dials; a dial that is not named stands at its first
    position."""
    names = {dial.name: dial for dial in dials}
    problems = [
        Problem("dials", f'there is no dial "{name}".', f"There are: {', '.join(names)}.")
        for name in given
        if name not in names
    ]
    problems += [
        Problem(
            f"dials.{name}",
            f"{place} is no position.",
            f"Write 0 to {len(names[name].positions) - 1}.",
        )
        for name, place in given.items()
        if name in names and not 0 <= place < len(names[name].positions)
    ]
    if problems:
        raise AskError(problems)
    return tuple(given.get(dial.name, 0) for dial in dials)


def plan_text(title: str, dials: Sequence[Dial], setting: Setting) -> str:
    """A setting as the text of a plan; empty where nothing is changed."""
    steps = [dial.positions[place].steps for dial, place in zip(dials, setting, strict=True)]
    told = [one for one in steps if one]
    return "\n".join([plan_head(title), *told]) if told else ""


def plan_head(title: str) -> str:
    """Head of a plan."""
    return f"[plan]\ntitle = {_toml(title)}\n"


def taken(scenario: Scenario, dials: Sequence[Dial], setting: Setting) -> Scenario:
    """The scenario at a setting."""
    text = plan_text("setting", dials, setting)
    return read_plan_text(text).taken(scenario) if text else scenario


def _can_be_taken(position: Position, scenario: Scenario) -> bool:
    if not position.steps:
        return True
    try:
        read_plan_text(f"{plan_head('dial')}\n{position.steps}").taken(scenario)
    except InputError:
        return False
    return True


def _all_dials(scenario: Scenario) -> Iterator[Dial]:
    as_is = Position("as it is")
    dry, heat = scenario.dry_season, scenario.weather.warmer_by
    rain = 1.0 if dry is None else dry.rain_scale
    flow = None if dry is None else dry.flow_scale

    def drier(share: float) -> dict[str, Any]:
        sets = {"dry_season.rain_scale": round(rain * share, 4)}
        return {
            "set": sets
            if flow is None
            else {**sets, "dry_season.flow_scale": round(flow * share**2, 4)}
        }

    yield Dial(
        "dryness",
        "Rain",
        "Rain, and with it the rivers. With 20 % less rain about 36 % less comes down the rivers.",
        (
            as_is,
            Position("20 % less", _step("20 % less rain", drier(0.8))),
            Position("40 % less", _step("40 % less rain", drier(0.6))),
        ),
    )
    yield Dial(
        "heat",
        "Heat",
        "Warmer days: more evaporates, and yards are watered more.",
        (
            as_is,
            Position(
                "2 °C warmer", _step("2 °C warmer", {"set": {"weather.warmer_by": heat + 2.0}})
            ),
        ),
    )
    yield Dial(
        "people",
        "People",
        "More people in every town. Pipes and plants stay.",
        (
            as_is,
            *(
                Position(
                    f"{more} % more",
                    _step(
                        f"{more} % more people",
                        {"measure": "growth", "town": "*", "by": f"{more} %"},
                    ),
                )
                for more in (25, 50)
            ),
        ),
    )
    yield Dial(
        "leaks",
        "Leaks",
        "Less is lost from the mains of every town.",
        (
            as_is,
            Position(
                "half mended",
                _step(
                    "Half of the leaks are mended",
                    {"measure": "repair_leaks", "town": "*", "by": "50 %"},
                ),
            ),
        ),
    )
    yield Dial(
        "fixtures",
        "Fixtures",
        "Efficient toilets, showers and machines in every home.",
        (
            as_is,
            Position(
                "efficient",
                _step(
                    "Efficient fixtures in every home",
                    {"measure": "efficient_fixtures", "town": "*"},
                ),
            ),
        ),
    )
    yield Dial(
        "reuse",
        "Reuse",
        "Every town with an intake leads treated wastewater back to the "
        "head of its water plant, up to a fifth of what its homes use. This needs further "
        "treatment and a permit.",
        (as_is, Position("to the plant", "\n".join(_reuse(scenario)))),
    )


def _reuse(scenario: Scenario) -> Iterator[str]:
    for name, town in scenario.town.items():
        if town.intake is not None and town_sizes(town).plant_capacity > 0:
            flow = _REUSED * town.people * town.homes.use_per_person
            yield _step(
                f"Reuse in {place_words(name, scenario.names)}",
                {
                    "measure": "reuse_route",
                    "town": name,
                    "to": "plant",
                    "flow": f"{flow:.4g} m3/day",
                },
            )


def _step(what: str, rest: Mapping[str, Any]) -> str:
    """A step of a plan as TOML."""
    rows = [f"what = {_toml(what)}", *(f"{key} = {_toml(value)}" for key, value in rest.items())]
    return "\n".join(["[[step]]", *rows, ""])


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{_toml(str(key))} = {_toml(one)}" for key, one in value.items())
        return f"{{ {pairs} }}"
    if isinstance(value, str):
        return quoted(value)
    return repr(value)
