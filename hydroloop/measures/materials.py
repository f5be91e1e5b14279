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
_UNDERGROUND = ("percolation", "interflow", "recharge", "leak", "infiltration", "baseflow")
_USES = ("home_use", "work_use")
_ROUNDS_OF_DOSING = 4
_CHLORINATED = ("clearwell", "tanks", "mains")
_BULK_DECAY_K, _AT_20_C_K = 6050.0, 293.15
"""Temperature by which chlorine's decay in the bulk of water grows, k ~ exp(-6050 / T) with T in
kelvin (from memory), and the temperature that the scenario's decay is meant for [K]."""


def recipes(record: xr.Dataset, quality: Any) -> dict[str, Material]:
    """The materials that the separation table shows and that need no dose, for a record of towns.

    Salt and a dye stay in the water, particles and metals are caught. Removals are plain shares:
    real plants adjust them by the hour.

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
    ['dye', 'iron', 'manganese']
    """
    q = quality
    stays = _carries(record)
    raw = ("upstream", "import")
    return {
        "salt": Material(
            _at(record, q.salt_mg_per_l, kind=raw),
            # Rain brings none; on its way through the soil it takes up as much as the
            # river holds.
            _at(record, q.salt_per_use_mg_per_l, kind=_USES)
            + _at(record, q.salt_mg_per_l, kind="recharge"),
            carries=stays,
        ),
        "particles": Material(
            _at(record, q.particles_mg_per_l, kind="upstream"),
            _at(record, q.solids_per_use_mg_per_l, kind=_USES),
            _particles_caught(record, q),
            stays,
        ),
        "iron": Material(
            _at(record, q.iron_mg_per_l, kind="upstream"),
            removed=_step(record, "filters", q.iron_removed),
            carries=stays,
        ),
        "manganese": Material(
            _at(record, q.manganese_mg_per_l, kind="upstream"),
            removed=_step(record, "filters", q.manganese_removed),
            carries=stays,
        ),
        "dye": Material(added=_at(record, 1.0, kind="home_use"), carries=stays),
    }


def aimed(
    record: xr.Dataset, op: Operator, quality: Any, towns: Mapping[str, Any]
) -> dict[str, Material]:
    """Chlorine and fluoride, dosed so that what leaves each clearwell holds what is aimed at.

    An operator doses what is missing: what the water brings counts, and what decays on the way
    through the clearwell is made up for. One dose for the season; a real plant adjusts it by the
    hour.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    op : Operator
        Operator of the record.
    quality : object
        Has the attributes of the table `quality` of a scenario.
    towns : mapping
        The towns of a scenario, by name.

    Returns
    -------
    dict of Material
        With the dose of each flow into a clearwell.

    Raises
    ------
    AskError
        If an amount is negative or no number.

    Notes
    -----
    Fluoride: dose = max(0, target - mean concentration of the water before), repeated until towns
    that drink each other's water agree. Chlorine, which decays in proportion to what is there: dose
    = target / what a dose of one leaves; none of it comes back.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator, trace_material
    >>> scenario = hl.read_scenario("first_town")
    >>> record = hl.simulate(scenario)
    >>> op = operator(record)
    >>> made = aimed(record, op, scenario.quality, scenario.town)
    >>> found = trace_material(op, made["fluoride"])
    >>> tap = found["concentration"].sel(store="penhollow/mains").mean()
    >>> bool(abs(tap - 0.7) < 0.02)
    True
    """
    return {
        "chlorine": _aimed_chlorine(record, op, quality, towns),
        "fluoride": _aimed_fluoride(record, op, quality),
    }


def _aimed_chlorine(
    record: xr.Dataset, op: Operator, quality: Any, towns: Mapping[str, Any]
) -> Material:
    """Free chlorine, dosed so that each clearwell lets out what its town aims at."""
    stores = dict(zip(record["store"].values.tolist(), record["role"].values.tolist(), strict=True))
    places = dict(
        zip(record["store"].values.tolist(), record["place"].values.tolist(), strict=True)
    )
    decay = {
        store: chlorine_decay(record, quality, towns[places[store]])
        for store, role in stores.items()
        if role in _CHLORINATED and places[store] in towns
    }
    asked = {town: one.plant.disinfection.chlorine_mg_per_l for town, one in towns.items()}
    place = np.array([*op.places, ""])[op.target]
    aim = np.array([asked.get(town, 0.0) for town in place.tolist()])
    # Bought water comes treated, with as much in it as the town's own.
    bought = aim * _at(record, 1.0, kind="import")
    dose = aim * _at(record, 1.0, to_role="clearwell")
    # What reaches a customer is used up there.
    recipe = Material(
        bought, dose, _at(record, 1.0, from_role="mains"), decay=decay, carries=_carries(record)
    )
    left = trace_material(op, recipe)["concentration"].values[1:]
    for town, wanted in asked.items():
        if f"{town}/clearwell" not in op.stores:
            continue
        store = op.stores.index(f"{town}/clearwell")
        flow = op.water.rate[:, op.source == store].sum(axis=1)
        mass = (left[:, store].reshape(flow.shape) * flow).sum()
        dose[place == town] *= wanted * flow.sum() / mass if mass > 0.0 else 1.0
    return replace(recipe, added=dose)


def chlorine_decay(record: xr.Dataset, quality: Any, town: Any) -> np.ndarray:
    """Decay of free chlorine in a town's water, step by step [1/d].

    Warm water uses chlorine up faster: about twice as fast at 20 C as at 10 C. What the walls of
    old pipes use up is not in it.

    Parameters
    ----------
    record : xarray.Dataset
        Water record, with the mean air temperature of each step where it is known.
    quality : object
        Has the attributes of the table `quality` of a scenario.
    town : Town
        As the scenario has it; tells its coldest water.

    Returns
    -------
    ndarray of shape (time,) or (time, member)
        Decay [1/d].

    Notes
    -----
    k = k20 exp(-6050 (1/T - 1/293.15)), T in kelvin; the constant from memory. Water is as warm as
    `water_temperature` has it.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> record, town = hl.simulate(scenario), scenario.town["larkmill"]
    >>> summer = chlorine_decay(record, scenario.quality, town)[record["time"].dt.month == 7]
    >>> bool(0.3 < summer.mean() < 0.8)
    True
    """
    at_20 = quality.chlorine_decay_per_day
    if "tmean_c" not in record:
        return np.full(record.sizes["time"], at_20)
    kelvin = 273.15 + water_temperature(record, town.plant.disinfection.temperature)
    return np.asarray(at_20 * np.exp(-_BULK_DECAY_K * (1.0 / kelvin - 1.0 / _AT_20_C_K)))


def water_temperature(record: xr.Dataset, coldest_c: float) -> np.ndarray:
    """Temperature of the water, step by step [degC].

    Taken to be the mean air of the month, which water lags behind: an exercise, not a measurement.

    Parameters
    ----------
    record : xarray.Dataset
        Water record, with the mean air temperature of each step.
    coldest_c : float
        Coldest water of the year [degC].

    Returns
    -------
    ndarray of shape (time,) or (time, member)
        Temperature [degC].

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> bool(water_temperature(record, 12.0).min() >= 12.0)
    True
    """
    air = record["tmean_c"].values
    month = record["time"].values.astype("datetime64[M]").astype(int) % 12
    water = np.empty_like(air, dtype=float)
    for one in np.unique(month):
        water[month == one] = air[month == one].mean(axis=0)
    return np.maximum(coldest_c, water)


def _aimed_fluoride(record: xr.Dataset, op: Operator, quality: Any) -> Material:
    """Fluoride; bought water has what is aimed at."""
    target = quality.fluoride_target_mg_per_l
    dosed = _into_clearwell(record)
    recipe = Material(
        _at(record, quality.fluoride_mg_per_l, kind="upstream")
        + _at(record, target, kind="import"),
        np.where(dosed, max(0.0, target - quality.fluoride_mg_per_l), 0.0),
        carries=_carries(record),
    )
    into = np.flatnonzero(dosed)
    for _ in range(_ROUNDS_OF_DOSING):
        before = trace_material(op, recipe)["concentration"].values[1:, op.source[into]]
        doses = np.zeros(len(op.flows))
        held = before.reshape(before.shape[0], len(into), -1).mean(axis=(0, 2))
        doses[into] = np.maximum(0.0, target - held)
        recipe = replace(recipe, added=doses)
    return recipe


def _carries(record: xr.Dataset) -> Any:
    """Vapour leaves all behind."""
    return {_VAPOUR: 0.0} if _VAPOUR in record["kind"].values else 1.0


def materials(
    record: xr.Dataset, op: Operator, taps: Mapping[str, np.ndarray], scenario: Any
) -> xr.Dataset:
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
    scenario : Scenario
        Has the table `quality`, and the towns with what they dose.

    Returns
    -------
    xarray.Dataset
        `at_tap` (material, time, town) [g/m3], `caught` (material, town, step) [kg/d] on average
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
    >>> found = materials(record, operator(record), taps, scenario)
    >>> bool(found.caught.sel(material="particles", step="filters") > 0)
    True
    """
    names, made = [], []
    caught_by = _steps(record, op, list(taps))
    quality = scenario.quality
    made_of = {**recipes(record, quality), **aimed(record, op, quality, scenario.town)}
    for name, recipe in made_of.items():
        traced = trace_material(op, recipe)
        names.append(name)
        made.append(_summed(op, taps, caught_by, traced))
    return xr.concat(made, xr.IndexVariable("material", names), combine_attrs="override")


def _steps(record: xr.Dataset, op: Operator, towns: list[str]) -> list[tuple[np.ndarray, ...]]:
    """For each step the flows by which it catches, and the number of the town that each is in."""
    number = {town: k for k, town in enumerate(towns)}
    town = np.array([number.get(place, -1) for place in (*op.places, "")])[op.source]
    flows = [np.flatnonzero(_out_of(record, step) & (town >= 0)) for step in STEPS]
    return [(own, town[own]) for own in flows]


def _summed(
    op: Operator,
    taps: Mapping[str, np.ndarray],
    caught_by: list[tuple[np.ndarray, ...]],
    traced: xr.Dataset,
) -> xr.Dataset:
    """One material at the taps, in the steps of each town and as a whole."""
    held = traced["concentration"].transpose("edge", "store", ...)
    label = held.values.reshape(*held.shape[:2], -1)
    at_tap = np.stack([label_leaving(op, label, mask) for mask in taps.values()], axis=1)
    mean = traced["caught"].mean("time") / 1000.0
    caught = np.zeros((len(taps), len(STEPS), *mean.shape[1:]))
    for step, (flows, town) in enumerate(caught_by):
        np.add.at(caught[:, step], town, mean.values[flows])
    days = float(op.water.days.sum())
    terms = {
        "entered": traced["entered"].mean("time"),
        "left": traced["left"].mean("time"),
        "caught": traced["caught"].sum("flow").mean("time"),
        "decayed": traced["decayed"].sum("store").mean("time"),
        "stored": (traced["stored"].isel(edge=-1) - traced["stored"].isel(edge=0)) / days,
    }
    mass = xr.concat(
        [part.drop_vars("edge", errors="ignore") / 1000.0 for part in terms.values()],
        xr.IndexVariable("term", list(terms)),
    )
    members = held.dims[2:]
    return xr.Dataset(
        {
            "at_tap": (
                ("time", "town", *members),
                at_tap.reshape(*at_tap.shape[:2], *held.shape[2:]),
                {"units": "g m-3", "long_name": "concentration at the tap"},
            ),
            "caught": (
                ("town", "step", *members),
                caught,
                {"units": "kg d-1", "long_name": "caught by a step, mean of the season"},
            ),
            "mass": mass.assign_attrs(units="kg d-1", long_name="balance of the material"),
            "mass_gap": abs(traced["gap"])
            .max("time")
            .assign_attrs(units="1", long_name="largest gap of the mass in a step"),
        },
        {"time": op.edge[:-1], "town": list(taps), "step": list(STEPS)},
    )


def _at(record: xr.Dataset, amount: float, **wanted: Any) -> np.ndarray:
    """The amount on the flows that fit, nothing on the others, shape (flow)."""
    return np.where(flow_mask(record, **wanted), amount, 0.0)


def _out_of(record: xr.Dataset, step: str) -> np.ndarray:
    leaves, enters = STEPS[step]
    return flow_mask(record, from_role=leaves, to_role=enters)


def _step(record: xr.Dataset, step: str, share: float) -> np.ndarray:
    return np.where(_out_of(record, step), share, 0.0)


def _into_clearwell(record: xr.Dataset) -> np.ndarray:
    return flow_mask(record, to_role="clearwell")


def _particles_caught(record: xr.Dataset, q: Any) -> np.ndarray:
    """Settling and filters catch their shares, the ground all; sludge carries its own."""
    shares = {
        "sedimentation": q.settled,
        "filters": q.filtered,
        "primary settling": q.primary_removal,
        "final settling": q.secondary_removal,
    }
    caught = sum(_step(record, step, share) for step, share in shares.items())
    return np.where(flow_mask(record, kind=_UNDERGROUND), 1.0, caught)
