"""What each step takes out: materials in the water, their catch and their balance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import flow_mask
from hydroloop.tracing import Material, Operator, label_leaving, trace_material

STEPS = {
    "sedimentation": ("sedimentation", "filters"),
    "filters": ("filters", "clearwell"),
    "primary settling": ("primary", ("aeration", "contact")),
    "final settling": ("final_settling", "contact"),
}
"""Steps that catch something, with the role that their outflow leaves and those that it enters."""

_VAPOUR = "evaporation"
_UNDERGROUND = ("recharge", "leak", "infiltration", "baseflow")
_USES = ("home_use", "work_use")
_ROUNDS_OF_DOSING = 4
_CHLORINATED = ("clearwell", "tanks", "mains")


def recipes(record: xr.Dataset, quality: Any) -> dict[str, Material]:
    """The materials that the separation table shows, for a record of towns.

    Salt and a dye stay in the water, particles and metals are caught, chlorine decays, fluoride is
    dosed. Removals are plain shares: real plants adjust them by the hour.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    quality : object
        Has the attributes of the table `quality` of a scenario.

    Returns
    -------
    dict of Material
        By name.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> sorted(recipes(hl.simulate(scenario), scenario.quality))[:3]
    ['chlorine', 'dye', 'fluoride']
    """
    q = quality
    stays = {_VAPOUR: 0.0} if _VAPOUR in record["kind"].values else 1.0
    raw = ("upstream", "import")
    dosed = _into_clearwell(record)
    stores = record["store"].values[np.isin(record["role"].values, _CHLORINATED)]
    fluoride = max(0.0, q.fluoride_target_mg_per_l - q.fluoride_mg_per_l)
    return {
        "salt": Material(_at(record, q.salt_mg_per_l, kind=raw),
                         # Rain brings none; on its way through the soil it takes up as much as the
                         # river holds.
                         _at(record, q.salt_per_use_mg_per_l, kind=_USES)
                         + _at(record, q.salt_mg_per_l, kind="recharge"), carries=stays),
        "particles": Material(_at(record, q.particles_mg_per_l, kind="upstream"),
                              _at(record, q.solids_per_use_mg_per_l, kind=_USES),
                              _particles_caught(record, q), stays),
        "iron": Material(_at(record, q.iron_mg_per_l, kind="upstream"),
                         removed=_step(record, "filters", q.iron_removed), carries=stays),
        "manganese": Material(_at(record, q.manganese_mg_per_l, kind="upstream"),
                              removed=_step(record, "filters", q.manganese_removed),
                              carries=stays),
        # What reaches a customer is used up there.
        # Bought water comes treated, dosed as the town doses its own.
        "chlorine": Material(_at(record, q.chlorine_dose_mg_per_l, kind="import"),
                             dosed * q.chlorine_dose_mg_per_l, carries=stays,
                             removed=_at(record, 1.0, from_role="mains"),
                             decay=dict.fromkeys(map(str, stores), q.chlorine_decay_per_day)),
        "fluoride": Material(_at(record, q.fluoride_mg_per_l, kind="upstream")
                             + _at(record, q.fluoride_target_mg_per_l, kind="import"),
                             dosed * fluoride, carries=stays),
        "dye": Material(added=_at(record, 1.0, kind="home_use"), carries=stays),
    }  # fmt: skip


def aimed_fluoride(record: xr.Dataset, op: Operator, quality: Any) -> Material:
    """Fluoride, dosed so that each clearwell holds what is aimed at on the mean of the season.

    An operator doses what is missing, and water that comes back brings its fluoride along. One dose
    for the season; a real plant adjusts it by the hour.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    op : Operator
        Operator of the record.
    quality : object
        Has the attributes of the table `quality` of a scenario.

    Returns
    -------
    Material
        With the dose of each flow into a clearwell.

    Raises
    ------
    AskError
        If an amount is negative or no number.

    Notes
    -----
    dose = max(0, target - mean concentration of the water before), repeated until towns that drink
    each other's water agree.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator, trace_material
    >>> scenario = hl.read_scenario("first_town")
    >>> record = hl.simulate(scenario)
    >>> op = operator(record)
    >>> found = trace_material(op, aimed_fluoride(record, op, scenario.quality))
    >>> tap = found["concentration"].sel(store="penhollow/mains").mean()
    >>> bool(abs(tap - 0.7) < 0.02)
    True
    """
    recipe = recipes(record, quality)["fluoride"]
    dosed = np.flatnonzero(_into_clearwell(record) > 0)
    for _ in range(_ROUNDS_OF_DOSING):
        before = trace_material(op, recipe)["concentration"].values[1:, op.source[dosed]]
        doses = np.zeros(len(op.flows))
        held = before.reshape(before.shape[0], len(dosed), -1).mean(axis=(0, 2))
        doses[dosed] = np.maximum(0.0, quality.fluoride_target_mg_per_l - held)
        recipe = replace(recipe, added=doses)
    return recipe


def materials(record: xr.Dataset, op: Operator, taps: Mapping[str, np.ndarray],
              quality: Any) -> xr.Dataset:
    """Materials at the tap, what each step catches, and the balance of each.

    Read it beside the used share: salt builds up with every use and evaporation; used water does
    not. A teaching model, not a forecast of any supply's water quality.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    op : Operator
        Operator of the record.
    taps : mapping of str to numpy.ndarray of bool
        For each town the flows into its homes, shape (flow).
    quality : object
        Has the attributes of the table `quality` of a scenario.

    Returns
    -------
    xarray.Dataset
        `at_tap` (material, time, town) [g/m3], `caught` (material, town, step) [kg/d] on the mean
        of the season, `mass` (material, term) [kg/d] with the terms entered, left, caught, decayed
        and stored, and `mass_gap` (material) [-], the largest of any step. Member last where the
        record has it.

    Raises
    ------
    AskError
        If an amount is negative or no number.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> scenario = hl.read_scenario("first_town")
    >>> record = hl.simulate(scenario)
    >>> taps = {"larkmill": flow_mask(record, kind="home_use", to_place="larkmill")}
    >>> found = materials(record, operator(record), taps, scenario.quality)
    >>> bool(found.caught.sel(material="particles", step="filters") > 0)
    True
    """
    names, made = [], []
    # Masks of the steps hang on no material, so they are found once: shape (town, step, flow).
    steps = np.array([[_out_of(record, step, town) for step in STEPS] for town in taps])
    made_of = {**recipes(record, quality), "fluoride": aimed_fluoride(record, op, quality)}
    for name, recipe in made_of.items():
        traced = trace_material(op, recipe)
        names.append(name)
        made.append(_summed(op, taps, steps, traced))
    return xr.concat(made, xr.IndexVariable("material", names), combine_attrs="override")


def _summed(op: Operator, taps: Mapping[str, np.ndarray], steps: np.ndarray,
            traced: xr.Dataset) -> xr.Dataset:
    """One material at the taps, in the steps (town, step, flow) and as a whole."""
    along_towns = xr.IndexVariable("town", list(taps))
    tap = [label_leaving(op, traced["concentration"], mask) for mask in taps.values()]
    mean = traced["caught"].mean("time") / 1000.0
    in_steps = xr.DataArray(np.tensordot(steps.astype(float), mean.values, 1),
                            dims=("town", "step", *mean.dims[1:]),
                            coords={"town": along_towns, "step": list(STEPS)})
    days = float(op.water.days.sum())
    terms = {
        "entered": traced["entered"].mean("time"), "left": traced["left"].mean("time"),
        "caught": traced["caught"].sum("flow").mean("time"),
        "decayed": traced["decayed"].sum("store").mean("time"),
        "stored": (traced["stored"].isel(edge=-1) - traced["stored"].isel(edge=0)) / days,
    }  # fmt: skip
    mass = xr.concat([part.drop_vars("edge", errors="ignore") / 1000.0 for part in terms.values()],
                     xr.IndexVariable("term", list(terms)))
    return xr.Dataset({
        "at_tap": xr.concat(tap, along_towns).assign_attrs(
            units="g m-3", long_name="concentration at the tap"),
        "caught": in_steps.assign_attrs(
            units="kg d-1", long_name="caught by a step, mean of the season"),
        "mass": mass.assign_attrs(units="kg d-1", long_name="balance of the material"),
        "mass_gap": abs(traced["gap"]).max("time").assign_attrs(
            units="1", long_name="largest gap of the mass in a step"),
    })  # fmt: skip


def _at(record: xr.Dataset, amount: float, **wanted: Any) -> np.ndarray:
    """The amount on the flows that fit, nothing on the others, shape (flow)."""
    return np.where(flow_mask(record, **wanted), amount, 0.0)


def _out_of(record: xr.Dataset, step: str, town: str = "") -> np.ndarray:
    leaves, enters = STEPS[step]
    place = {"from_place": town} if town else {}
    return flow_mask(record, from_role=leaves, to_role=enters, **place)


def _step(record: xr.Dataset, step: str, share: float) -> np.ndarray:
    return np.where(_out_of(record, step), share, 0.0)


def _into_clearwell(record: xr.Dataset) -> np.ndarray:
    return flow_mask(record, to_role="clearwell").astype(float)


def _particles_caught(record: xr.Dataset, q: Any) -> np.ndarray:
    """Settling and filters catch their shares, the ground all; sludge carries its own."""
    shares = {"sedimentation": q.settled, "filters": q.filtered,
              "primary settling": q.primary_removal, "final settling": q.secondary_removal}
    caught = sum(_step(record, step, share) for step, share in shares.items())
    return np.where(flow_mask(record, kind=_UNDERGROUND), 1.0, caught)
