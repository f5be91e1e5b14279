"""What measures are worked out from: the arrays of a record, and its towns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import xarray as xr

from hydroloop.measures.towns import Town, find_towns
from hydroloop.tracing import Operator, operator

PURPOSES = ("homes", "workplaces", "yards")
"""What towns ask water for."""


@dataclass(frozen=True, eq=False)
class Run:
    """Arrays of a record, the member always last, and the towns in it.

    Attributes
    ----------
    op : Operator
        Stores, flows, volumes and rates.
    towns : tuple of Town
        Its towns, in the order in which they are told.
    demand, cut : numpy.ndarray or None
        Water asked for, and what drought stages cut of it, (time, town, purpose, member) [m3/d];
        NaN for a town of which it is not known. None where the record has none.
    minimum_flow : numpy.ndarray or None
        Flow that must pass each town's intake, (time, town, member) [m3/d].
    stage_days : numpy.ndarray or None
        Days that each drought stage has been in force, (time, stage, member) [d].
    stages : tuple of str
        Names of the drought stages.
    rain_mm, et0_mm : numpy.ndarray or None
        Rain and reference evaporation of each step, (time, member) [mm].
    usual_rain_mm : float or None
        Rain of a usual day [mm/d].
    warm_up : str
        How labels are warmed up.
    """

    op: Operator
    towns: tuple[Town, ...]
    demand: np.ndarray | None = None
    cut: np.ndarray | None = None
    minimum_flow: np.ndarray | None = None
    stage_days: np.ndarray | None = None
    stages: tuple[str, ...] = ()
    rain_mm: np.ndarray | None = None
    et0_mm: np.ndarray | None = None
    usual_rain_mm: float | None = None
    warm_up: str = "repeat"

    @property
    def days(self) -> np.ndarray:
        """Lengths of the steps, (time) [d]."""
        return self.op.water.days

    def member(self, place: int) -> Run:
        """One member alone, without a member dim."""

        def own(values: np.ndarray | None) -> np.ndarray | None:
            return None if values is None else values[..., [place]]

        return replace(
            self,
            op=self.op.member(place),
            demand=own(self.demand),
            cut=own(self.cut),
            minimum_flow=own(self.minimum_flow),
            stage_days=own(self.stage_days),
            rain_mm=own(self.rain_mm),
            et0_mm=own(self.et0_mm),
        )

    def by_itself(self, place: int) -> Run:
        """One member as a run of its own: most of its towns' water may come and go by other stores
        than that of all members together."""
        own = self.member(place)
        return replace(own, towns=tuple(find_towns(own.op, [town.name for town in self.towns])))

    def number(self, town: str) -> int:
        """Place of a town among the towns."""
        return [one.name for one in self.towns].index(town)

    def flow(self, of: str) -> np.ndarray:
        """Rate of one group of flows of every town, as `Town` names it, (time, town, member)."""
        return self.total([getattr(town, of) for town in self.towns])

    def total(self, groups: Sequence[np.ndarray]) -> np.ndarray:
        """Rate of groups of flows, (time, group, member) [m3/d]."""
        rate = self.op.water.rate
        found = np.zeros((rate.shape[0], len(groups), rate.shape[2]))
        for number, flows in enumerate(groups):
            chosen = np.flatnonzero(flows)
            if len(chosen):
                found[:, number] = rate[:, chosen].sum(axis=1)
        return found

    @cached_property
    def moved(self) -> np.ndarray:
        """Water that each flow moved over the season, (flow, member) [m3]."""
        return np.einsum("t,tfm->fm", self.days, self.op.water.rate)

    @cached_property
    def stored(self) -> np.ndarray:
        """What each store gained over the season, (store, member) [m3]."""
        volume = self.op.water.volume
        return np.asarray(volume[-1] - volume[0])


def run_of(record: xr.Dataset, order: Iterable[str] | None = None) -> Run:
    """The arrays of a record.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    order : iterable of str, optional
        Towns in the order that is wanted; others follow.

    Returns
    -------
    Run
        What measures take.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Examples
    --------
    >>> import hydroloop as hl
    >>> run = run_of(hl.simulate(hl.read_scenario("first_town")))
    >>> run.flow("intakes").shape
    (183, 2, 1)
    """
    op = operator(record)
    towns = find_towns(op, order)
    names = [town.name for town in towns]
    usual = record.attrs.get("usual_rain_mm")
    return Run(
        op,
        tuple(towns),
        demand=_of_towns(record, "demand", ("time", "town", "purpose"), names),
        cut=_of_towns(record, "cut", ("time", "town", "purpose"), names),
        minimum_flow=_of_towns(record, "minimum_flow", ("time", "town"), names),
        stage_days=_array(record, "stage_days", ("time", "stage")),
        stages=tuple(map(str, record["stage"].values)) if "stage" in record.dims else (),
        rain_mm=_array(record, "rain_mm", ("time",)),
        et0_mm=_array(record, "et0_mm", ("time",)),
        usual_rain_mm=None if usual is None else float(usual),
        warm_up=str(record.attrs.get("warm_up", "repeat")),
    )


def _of_towns(
    record: xr.Dataset, name: str, dims: tuple[str, ...], towns: list[str]
) -> np.ndarray | None:
    if name not in record:
        return None
    values = _values(record, record[name], dims)
    if "purpose" in dims:
        place = {purpose: k for k, purpose in enumerate(record["purpose"].values.tolist())}
        values = values[:, :, [place[purpose] for purpose in PURPOSES]]
    known = {town: k for k, town in enumerate(record["town"].values.tolist())}
    lacking = np.full_like(values[:, :1], np.nan)
    return np.concatenate([values, lacking], axis=1)[:, [known.get(town, -1) for town in towns]]


def _array(record: xr.Dataset, name: str, dims: tuple[str, ...]) -> np.ndarray | None:
    return _values(record, record[name], dims) if name in record else None


def _values(record: xr.Dataset, values: xr.DataArray, dims: tuple[str, ...]) -> np.ndarray:
    """Plain numbers with the member last, there or not."""
    members = record.sizes.get("member", 1)
    plain = values.transpose(*dims, ...).values
    plain = plain[..., None] if plain.ndim == len(dims) else plain
    return np.asarray(np.broadcast_to(plain, (*plain.shape[:-1], members)), dtype=float)
