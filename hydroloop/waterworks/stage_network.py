"""Drought stages as the rows that the stepping loop reads."""

from __future__ import annotations

import numpy as np

from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_stage import Stage
from hydroloop.waterworks.layout import STAGE
from hydroloop.waterworks.ledger import row, stacked
from hydroloop.waterworks.river_network import RiverNetwork

# Marks at which a stage may end where the scenario names none: see the keys.
_FLOW_ABOVE, _STORAGE_ABOVE = 1.2, 0.05
# Share of a cut that is truly saved where the scenario does not say: see the key.
_SAVED = {"voluntary": 0.40, "mandatory": 0.90}


def draw_stages(scenario: ScenarioFile, rivers: RiverNetwork) -> tuple[np.ndarray, np.ndarray]:
    """Drought stages, and which town keeps to which."""
    rows = [_stage(scenario, rivers, stage) for stage in scenario.stage.values()]
    follows = np.array(
        [
            [not stage.towns or town in stage.towns for town in scenario.town]
            for stage in scenario.stage.values()
        ],
        dtype=bool,
    )
    return stacked(rows, STAGE), follows.reshape(len(rows), len(scenario.town))


def _stage(scenario: ScenarioFile, rivers: RiverNetwork, stage: Stage) -> np.ndarray:
    saved = _SAVED[stage.kind] if stage.compliance is None else stage.compliance
    cuts = {
        "homes": saved * stage.homes,
        "work": saved * stage.workplaces,
        "yards": saved * stage.yards,
    }
    if stage.reservoir is not None:
        assert stage.storage_below is not None
        above = min(1.0, stage.storage_below + _STORAGE_ABOVE)
        above = above if stage.storage_above is None else stage.storage_above
        return row(
            STAGE,
            begins_below=stage.storage_below,
            ends_above=min(above, 1.0 - 1e-9),
            hold=stage.hold,
            capacity=scenario.reservoir[stage.reservoir].capacity,
            s_reservoir=rivers.reservoirs[rivers.dams[stage.reservoir]]["s_store"][0],
            **cuts,
        )
    assert stage.river is not None
    assert stage.at is not None
    assert stage.flow_below is not None
    above = _FLOW_ABOVE * stage.flow_below if stage.flow_above is None else stage.flow_above
    return row(
        STAGE,
        begins_below=stage.flow_below,
        ends_above=above,
        hold=stage.hold,
        cell=rivers.above[stage.river, stage.at],
        **cuts,
    )
