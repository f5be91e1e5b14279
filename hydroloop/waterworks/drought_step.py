"""Which drought stages are in force in a step, and how much each town's use is cut."""

from __future__ import annotations

from numba import njit

from hydroloop.waterworks.drought import stage_holds


@njit
def stages_act(tables, passing, volume, standing, dt):
    """Begins and ends stages, and sets the share that each town cuts.

    `passing` is the flow that passed each river cell in the step before [m3/d], `standing` the days
    that each stage has been in force [d] and the cut of each town's uses [-]; both are set. Where
    several stages are in force, the strictest cut of each use counts.
    """
    in_force, cuts = standing
    cuts[:] = 0.0
    for i in range(len(tables.stages)):
        stage = tables.stages[i]
        if stage.s_reservoir >= 0:
            level = volume[stage.s_reservoir] / stage.capacity
        else:
            level = passing[stage.cell]
        is_on = in_force[i] > 0.0
        if not stage_holds(
            is_on, level, stage.begins_below, stage.ends_above, in_force[i] < stage.hold
        ):
            in_force[i] = 0.0
            continue
        in_force[i] += dt
        for k in range(cuts.shape[0]):
            if tables.follows[i, k]:
                cuts[k, 0] = max(cuts[k, 0], stage.homes)
                cuts[k, 1] = max(cuts[k, 1], stage.work)
                cuts[k, 2] = max(cuts[k, 2], stage.yards)
