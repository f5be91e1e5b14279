"""How well a town is supplied: how often, for how long and how badly water is short."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import xarray as xr

from hydroloop.record import check_is_record, flow_mask, flow_total, step_days

_RIVER_KINDS = ("river", "upstream", "lateral", "release", "spill")
_LEAVES_AS_WATER = ("river", "downstream", "release", "spill")
_ROUNDING = 1e-9  # a minimum flow kept to the last digit is kept; less than this is no flow
_WORDS = {
    "reliability": ("1", "share of steps in which all demand is met"),
    "volume_reliability": ("1", "share of the water asked for that is delivered"),
    "resilience": ("1", "share of failing steps after which supply recovers"),
    "vulnerability": ("m3 d-1", "worst shortage of a failure, mean over failures"),
    "largest_shortage": ("m3 d-1", "worst shortage of all failures"),
    "longest_failure": ("d", "longest failure in a row"),
    "unmet_total": ("m3", "water asked for and not delivered in the season"),
    "cut_share": ("1", "share of use that drought stages cut in the season"),
    "days_under_minimum_flow": ("d", "days on which less than the minimum passes the intake"),
    "dilution": ("1", "river flow over effluent and overflow where they meet"),
    "lowest_dilution": ("1", "lowest river flow over effluent and overflow of the season"),
}


def reliability(short: np.ndarray) -> np.ndarray:
    """Share of steps in which all demand is met [-].

    0.95: on one day in twenty somebody goes short.
    Says nothing of how much is short, nor whether the days come in a row.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]

    Returns
    -------
    numpy.ndarray
        Shape (...) [-]

    Notes
    -----
    Steps without shortage over all steps.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> float(reliability(np.array([0.0, 0.0, 2.0, 0.0])))
    0.75
    """
    return np.asarray((np.asarray(short) <= 0.0).mean(axis=0))


def resilience(short: np.ndarray) -> np.ndarray:
    """Share of failing steps after which supply recovers [-].

    One over the mean length of a failure: 0.1 means that shortages last ten steps on the mean.
    NaN where nothing failed: there was nothing to recover from.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]

    Returns
    -------
    numpy.ndarray
        Shape (...) [-]

    Notes
    -----
    Recoveries over failing steps. A failure that lasts beyond the last step has no recovery in it.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> float(resilience(np.array([0.0, 1.0, 2.0, 0.0])))
    0.5
    """
    fails = np.asarray(short) > 0.0
    recoveries, failing = (fails[:-1] & ~fails[1:]).sum(axis=0), fails.sum(axis=0)
    return np.where(failing > 0, recoveries / np.maximum(failing, 1), np.nan)


def vulnerability(short: np.ndarray, *, variant: str = "mean") -> np.ndarray:
    """Worst shortage of a failure [m3/d].

    How bad it gets: the worst step of each failure, on the mean or of all.
    The mean may fall when many small failures join a large one: look at both.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]
    variant : {"mean", "largest"}
        Mean over failures (Hashimoto's, with failures alike likely), or the largest of all

    Returns
    -------
    numpy.ndarray
        Shape (...); 0 where nothing failed [m3/d]

    Raises
    ------
    ValueError
        If there is no such variant.

    Notes
    -----
    A failure is a run of steps with shortage; its severity is the largest shortage in it.

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> short = np.array([0.0, 1.0, 3.0, 0.0, 1.0])
    >>> float(vulnerability(short)), float(vulnerability(short, variant="largest"))
    (2.0, 3.0)
    """
    if variant not in ("mean", "largest"):
        raise ValueError(f'there is no variant "{variant}": write "mean" or "largest".')
    short = np.asarray(short, dtype=float)
    if variant == "largest":
        return np.asarray(short.max(axis=0, initial=0.0))
    columns = short.reshape(len(short), -1).T
    return np.array([_mean_severity(column) for column in columns]).reshape(short.shape[1:])


def longest_failure(short: np.ndarray) -> np.ndarray:
    """Longest run of steps with shortage [-].

    What a household or a fire brigade would have to bridge.
    A failure cut off by the season's end counts as far as it was seen.

    Parameters
    ----------
    short : numpy.ndarray
        Shortage of each step, shape (time, ...) [m3/d]

    Returns
    -------
    numpy.ndarray
        Number of steps, shape (...) [-]

    Examples
    --------
    >>> int(longest_failure(np.array([1.0, 0.0, 2.0, 2.0])))
    2
    """
    short = np.asarray(short, dtype=float)
    columns = short.reshape(len(short), -1).T
    runs = [max((end - start for start, end in _failures(column)), default=0) for column in columns]
    return np.array(runs).reshape(short.shape[1:])


def supply(record: xr.Dataset, unmet: xr.DataArray, demand: xr.DataArray) -> xr.Dataset:
    """How well a town is supplied over the season.

    Reliability says how often, resilience how soon it is over, vulnerability how bad it gets.
    Use that drought stages cut is not asked for, and so not short: see `cut` in the record.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    unmet, demand : xarray.DataArray
        Water not delivered and water asked for, shape (time, purpose), member last [m3/d].

    Returns
    -------
    xarray.Dataset
        `reliability`, `volume_reliability`, `resilience` [-], `vulnerability`, `largest_shortage`
        [m3/d], `longest_failure` [d], `unmet_total` (purpose) [m3].

    References
    ----------
    Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.measures import unmet
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> demand = record.demand.sel(town="larkmill")
    >>> float(supply(record, unmet(record, "larkmill"), demand).reliability)
    1.0
    """
    days = xr.DataArray(step_days(record), {"time": record["time"]}, ("time",))
    short = unmet.sum("purpose").transpose("time", ...)
    values, rest = short.values, short.dims[1:]
    coords = {name: short[name] for name in rest}
    found = {
        "reliability": reliability(values),
        "resilience": resilience(values),
        "vulnerability": vulnerability(values),
        "largest_shortage": vulnerability(values, variant="largest"),
        "longest_failure": longest_failure(values) * float(days[0]),
    }
    made = xr.Dataset({name: (rest, value) for name, value in found.items()}, coords)
    asked, missing = (demand * days).sum(("time", "purpose")), (unmet * days).sum("time")
    made["unmet_total"] = missing
    met = 1.0 - missing.sum("purpose") / asked.where(asked > 0.0)
    made["volume_reliability"] = met.fillna(1.0)
    return _with_words(made)


def cut_share(record: xr.Dataset, town: str) -> xr.DataArray:
    """Share of use that drought stages cut in the season.

    How much people were asked to do without, over all that they would have used.
    A lawn that gets less asks for more later: the season's use falls by less than is cut.

    Parameters
    ----------
    record : xarray.Dataset
        Water record with `demand` and `cut` (time, town, purpose) [m3/d].
    town : str
        Name of the town.

    Returns
    -------
    xarray.DataArray
        Shape (), member where the record has it; 0 where nothing is asked for [-].

    Raises
    ------
    RecordError
        It is no water record, or has no such part.

    Notes
    -----
    sum of cut / sum of (demand + cut): what is cut is asked for no longer, so it is not in demand.

    Examples
    --------
    >>> import hydroloop as hl
    >>> dry = hl.read_scenario("long_river").changed({"dry_season.method": "driest_year"})
    >>> 0.0 < float(cut_share(hl.simulate(dry), "velderby")) < 0.5
    True
    """
    check_is_record(record, "demand", "cut")
    days = xr.DataArray(step_days(record), {"time": record["time"]}, ("time",))
    cut, asked = ((record[name].sel(town=town, drop=True) * days).sum(("time", "purpose"))
                  for name in ("cut", "demand"))
    share = (cut / (cut + asked).where(cut > 0.0)).fillna(0.0)
    units, long_name = _WORDS["cut_share"]
    return share.assign_attrs(units=units, long_name=long_name)


def low_river(record: xr.Dataset, town: str, flows: Mapping[str, np.ndarray]) -> xr.Dataset:
    """What a town leaves in the river, and how far the river dilutes its effluent.

    Days under the minimum flow are the river's own doing: the intake takes nothing then.
    The lowest dilution is that of a whole step, well mixed: along the bank it may be less.

    Parameters
    ----------
    record : xarray.Dataset
        Water record, with `minimum_flow` (time, town) [m3/d] where it is known.
    town : str
        Name of the town.
    flows : mapping of str to numpy.ndarray of bool
        Flows of the town that are `withdrawn` and `effluent`; each of shape (flow).

    Returns
    -------
    xarray.Dataset
        `dilution` (time), `lowest_dilution` [-], NaN where no effluent meets a river, and
        `days_under_minimum_flow` [d], NaN where no minimum flow is known or nothing is taken.

    Raises
    ------
    RecordError
        It is no water record.

    Notes
    -----
    Dilution = flow that comes down the river to the outfall / effluent. At the intake the flow
    left is what leaves the intake's river store downstream.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> flows = {"withdrawn": flow_mask(record, kind="intake", to_place="larkmill"),
    ...          "effluent": flow_mask(record, kind="outfall", from_place="larkmill"),
    ...          "overflowed": flow_mask(record, kind="overflow", from_place="larkmill")}
    >>> bool(low_river(record, "larkmill", flows).lowest_dilution > 1.0)
    True
    """
    check_is_record(record)
    dilution = _dilution(record, flows["effluent"], flows["overflowed"])
    found = xr.Dataset(
        {
            "dilution": dilution,
            "lowest_dilution": dilution.min("time", skipna=True),
            "days_under_minimum_flow": _days_under(record, town, flows["withdrawn"]),
        }
    )
    return _with_words(found)


def days_in_stages(record: xr.Dataset) -> xr.DataArray:
    """Days for which each drought stage was in force in the season.

    How often people were asked to use less, and for how long in all.
    A stage that stands at the season's end goes on beyond it.

    Parameters
    ----------
    record : xarray.Dataset
        Water record with `stage_days` (time, stage), member last [d].

    Returns
    -------
    xarray.DataArray
        Shape (stage), member last where the record has it [d].

    Raises
    ------
    RecordError
        It is no water record, or has no such part.

    Examples
    --------
    >>> counter = xr.DataArray([[0.0], [1.0], [2.0]], dims=("time", "stage"))
    >>> edges = np.arange("2031-01-01", "2031-01-05", dtype="datetime64[D]")
    >>> days_in_stages(xr.Dataset({"stage_days": counter}, {"edge": edges})).values.tolist()
    [2.0]
    """
    check_is_record(record, "stage_days")
    in_force = record["stage_days"] > 0.0
    days = xr.DataArray(step_days(record), dims="time")
    attrs = {"units": "d", "long_name": "days for which the drought stage was in force"}
    return (in_force * days).sum("time").assign_attrs(attrs)


def _dilution(record: xr.Dataset, effluent: np.ndarray, overflow: np.ndarray) -> xr.DataArray:
    ends = tuple(np.unique(record["target"].values[effluent])) or ("no such store",)
    river = flow_total(record, flow_mask(record, target=ends, kind=_RIVER_KINDS))
    spilled = overflow & np.isin(record["target"].values, ends)
    returned = flow_total(record, effluent | spilled)
    is_river = bool(np.isin(record["store"].values, ends).any())
    dilution = (river / returned.where(returned > 0.0)).where(is_river)
    dilution = dilution.where(np.isfinite(dilution))  # of next to no effluent there is no telling
    return xr.where(dilution < _ROUNDING, 0.0, dilution)  # a river drawn empty is empty


def _days_under(record: xr.Dataset, town: str, intake: np.ndarray) -> xr.DataArray:
    flow = flow_total(record, intake)
    nothing = flow.isel(time=0, drop=True) * np.nan
    if "minimum_flow" not in record or town not in record["minimum_flow"]["town"].values:
        return nothing
    stores = tuple(np.unique(record["source"].values[intake]))
    roles = record["role"].values[np.isin(record["store"].values, stores)]
    if not len(roles) or np.isin(roles, ("reservoir", "groundwater")).any():
        return nothing
    left = flow_total(record, flow_mask(record, source=stores, kind=_LEAVES_AS_WATER))
    mark = record["minimum_flow"].sel(town=town, drop=True)
    days = xr.DataArray(step_days(record), {"time": record["time"]}, ("time",))
    return ((left < mark * (1.0 - _ROUNDING)) * days).sum("time")


def _failures(short: np.ndarray) -> list[tuple[int, int]]:
    """First step of each failure, and the step after its last."""
    fails = np.concatenate([[False], np.asarray(short) > 0.0, [False]])
    turns = np.flatnonzero(fails[1:] != fails[:-1])
    return list(zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True))


def _mean_severity(short: np.ndarray) -> float:
    worst = [float(short[start:end].max()) for start, end in _failures(short)]
    return float(np.mean(worst)) if worst else 0.0


def _with_words(found: xr.Dataset) -> xr.Dataset:
    for name in found.data_vars:
        units, long_name = _WORDS[str(name)]
        found[name].attrs = {"units": units, "long_name": long_name}
    return found
