"""Which drought stages are in force in a step, and how much each town's use is cut."""

from __future__ import annotations

from numba import njit

from hydroloop.waterworks.drought import stage_holds


@njit
def stages_act(stages, follows, watched, in_force, cuts):
    """Begins and ends stages, and sets the share that each town cuts.

    Where several stages are in force, the strictest cut of each use counts.

    Parameters
    ----------
    stages : table `STAGE`
    follows : ndarray of shape (stage, town)
        Whether a town keeps to a stage.
    watched : tuple of arrays
        Flow that passed each river cell in the step before [m3/d], volumes [m3], and the length of
        a step [d].
    in_force : ndarray of shape (stage,)
        Days each stage has been in force, 0 if it is not; changed in place [d].
    cuts : ndarray of shape (town, 3)
        Receives the cut shares of homes, workplaces and yards [-].
    """
    passing, volume, dt = watched
    cuts[:] = 0.0
    for i in range(len(stages)):
        stage = stages[i]
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
            if follows[i, k]:
                cuts[k, 0] = max(cuts[k, 0], stage.homes)
                cuts[k, 1] = max(cuts[k, 1], stage.work)
                cuts[k, 2] = max(cuts[k, 2], stage.yards)
