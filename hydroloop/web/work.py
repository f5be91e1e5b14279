"""What a worker of the server does: open a scenario, and run it at a setting."""

from __future__ import annotations

import gzip
import json
import math
from functools import lru_cache
from pathlib import Path
from typing import Any

from hydroloop.errors import HydroloopError, InputError, Problem
from hydroloop.outputs.page.dials import Dial, dials_of, setting_of, taken
from hydroloop.outputs.page.every_setting import opened_frame, packed
from hydroloop.outputs.page.html import page_html
from hydroloop.outputs.page.payload import run_values
from hydroloop.record import step_days
from hydroloop.scenario import Scenario, read_scenario
from hydroloop.waterworks import season_record
from hydroloop.whatif.plan import read_plan_text

Answer = tuple[int, bytes]
"""Status of HTTP, and what is sent as gzip."""

_MOST_STEPS, _MOST_TOWNS = 8_000, 40
_MOST_SHOWN = 125  # days of a season that one answer holds
_LEVEL = 4  # of packing: a smaller answer is sent sooner, but takes longer to pack


def warm() -> None:
    """Load machine code and libraries, so that the first question need not wait for them."""
    run_values(read_scenario("first_town"))


def open_page(path: Path, name: str) -> Answer:
    """The page of a scenario."""
    return _told(lambda: gzip.compress(_page(path, name).encode(), mtime=0))


def run_setting(path: Path, mark: tuple[int, ...], question: dict[str, Any]) -> Answer:
    """A run at a setting of the dials, or with a plan."""
    return _told(lambda: packed(_run(path, mark, question), _LEVEL))


def _page(path: Path, name: str) -> str:
    scenario = read_scenario(path)
    _check_size(scenario)
    around = opened_frame(scenario, season_record(scenario), dials_of(scenario))
    return page_html({**around, "runs": {"count": 0, "every": 1}}, live=name)


def _run(path: Path, mark: tuple[int, ...], question: dict[str, Any]) -> dict[str, Any]:
    scenario, dials = _opened(path, mark)
    if question.get("plan"):
        scenario = read_plan_text(question["plan"]).taken(scenario)
    else:
        scenario = taken(scenario, dials, setting_of(dials, question.get("dials") or {}))
    gate = question.get("count_as") or scenario.season.count_as
    if gate != scenario.season.count_as:
        scenario = scenario.changed({"season.count_as": gate})
    _check_size(scenario)
    record = season_record(scenario)
    every = math.ceil(record.sizes["time"] / _MOST_SHOWN)
    steps = round(1.0 / float(step_days(record)[0]))
    every = steps * math.ceil(every / steps) if every > 1 else 1
    return run_values(scenario, gates=(gate,), every=every, record=record)


@lru_cache(maxsize=8)
def _opened(path: Path, mark: tuple[int, ...]) -> tuple[Scenario, list[Dial]]:
    scenario = read_scenario(path)
    _check_size(scenario)
    return scenario, dials_of(scenario)


def _check_size(scenario: Scenario) -> None:
    """Refuse what would keep the others waiting."""
    season = scenario.season
    steps = ((season.end - season.start).days + 1) / season.step
    problems = []
    if steps > _MOST_STEPS:
        problems.append(
            Problem(
                "season",
                f"{steps:,.0f} steps are too many for a class.",
                f"Run at most {_MOST_STEPS:,}.",
            )
        )
    if len(scenario.town) > _MOST_TOWNS:
        problems.append(
            Problem(
                "town",
                f"{len(scenario.town)} towns are too many for a class.",
                f"Run at most {_MOST_TOWNS}.",
            )
        )
    if problems:
        raise InputError(problems)


def _told(act: Any) -> Answer:
    """What was made, or what is wrong, in lines; a fault of hydroloop itself tells nothing."""
    try:
        return 200, act()
    except InputError as error:
        return 422, problems_packed(error.lines())
    except HydroloopError as error:
        return 422, problems_packed([str(error)])
    except MemoryError:
        return 422, problems_packed(["There is not enough memory for this. Run fewer days."])


def problems_packed(lines: list[str]) -> bytes:
    """Problems as they are sent."""
    text = json.dumps({"problems": [line[:400] for line in lines[:20]]}, ensure_ascii=False)
    return gzip.compress(text.encode(), mtime=0)
