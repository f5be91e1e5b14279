"""How many members stand side by side in memory."""

from __future__ import annotations

from hydroloop.scenario import Scenario
from hydroloop.tracing import LANES

_MOST_BYTES = 2**28
# Stores and flows of a town with its plants, land and pipes, and of a cell of a river; measured on
# chains of 5 to 1,000 towns.
_OF_A_TOWN, _OF_A_CELL = 80, 4


def block_size(scenario: Scenario) -> int:
    """Members that are run side by side: 16, and fewer of a basin or season so large that volumes
    and rates of 16 would take more than a quarter of a gigabyte."""
    days = (scenario.season.end - scenario.season.start).days + 1
    cells = sum(river.length / river.cell for river in scenario.river.values())
    numbers = days / scenario.season.step * (_OF_A_TOWN * len(scenario.town) + _OF_A_CELL * cells)
    return next((lanes for lanes in LANES if 8.0 * numbers * lanes <= _MOST_BYTES), LANES[-1])
