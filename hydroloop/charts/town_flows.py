"""A town's mean flows over the season, read from a water record by what its stores are."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.charts.asking import mean_member
from hydroloop.errors import AskError, Problem
from hydroloop.measures import find_towns
from hydroloop.measures.towns import Town, below
from hydroloop.record import ALONG, OPEN_WATERS, nearest

GROUPS = {
    "treatment": (
        "rapid_mix",
        "flocculation",
        "sedimentation",
        "filters",
        "clearwell",
        "washwater",
    ),
    "tanks": ("tanks",),
    "mains": ("mains",),
    "homes": (),  # whatever a home_use flow enters
    "workplaces": ("workplaces", "work_toilets"),
    "yards": ("yards",),
    "sewers": ("sewers",),
    "wastewater": ("primary", "aeration", "final_settling", "contact", "effluent_pond"),
    "reclaimed": ("reclaimed",),
}
"""Stores of a town that the picture draws as one."""


@dataclass(frozen=True)
class TownFlows:
    """Mean rates between groups of stores."""

    # group of the town, or boundary, or `"river"`, `"ground"`, `"land"`, shape (flow)
    source: np.ndarray
    target: np.ndarray
    kind: np.ndarray  # what each flow is, shape (flow)
    rate: np.ndarray  # mean over the season [m3/d], shape (flow)
    stay: dict[str, float]  # turnover time of each group [d]
    # what passes the intake and the outfall
    water_source: RiverAt | None
    outfall: RiverAt | None
    # what else joins or leaves the water on the way from the one to the other, by kind [m3/d]
    joining: dict[str, float]
    leaving: dict[str, float]
    are_joined: bool  # whether a way down a river leads from the one to the other

    def between(
        self,
        source: str | Collection[str] = "",
        target: str | Collection[str] = "",
        kind: str | Collection[str] = "",
    ) -> float:
        """Sum of the mean rates of all flows that fit; what is left empty fits all [m3/d]."""
        fits = np.ones(len(self.rate), dtype=bool)
        for names, wanted in ((self.source, source), (self.target, target), (self.kind, kind)):
            if wanted:
                fits &= np.isin(names, [wanted] if isinstance(wanted, str) else list(wanted))
        return float(self.rate[fits].sum())


@dataclass(frozen=True)
class RiverAt:
    """The river, or reservoir, at a place."""

    words: str  # what it is called
    coming: float  # mean flow there before the town takes or gives any: from all sources [m3/d]
    leaving: float  # mean flow along the river out of its store [m3/d]
    # what that comes from and what is lost there, in words, and the mean flow [m3/d]
    fed: Mapping[str, float]
    lost: Mapping[str, float]
    is_below_outfall: bool = False  # True where the town's own effluent flows past here
    stay: float = math.nan  # turnover time of a reservoir; NaN for a river [d]

    @property
    def is_reservoir(self) -> bool:
        """Whether it is a reservoir."""
        return math.isfinite(self.stay)


def town_flows(record: xr.Dataset, table: xr.Dataset, town: str) -> TownFlows:
    """Mean flows of a town between groups of its stores."""
    record, table = mean_member(record), mean_member(table)
    own = town_in(record, town)
    group = store_groups(record, own)
    source, target = (
        np.array([group.get(str(end), str(end)) for end in record[side].values])
        for side in ("source", "target")
    )
    rate, kind = record["rate"].mean("time").values, record["kind"].values.astype(str)
    intake, outfall = own.water_source, own.outlet
    way = _way(record, intake, outfall)
    return TownFlows(
        source,
        target,
        kind,
        rate,
        group_stays(zip(source.tolist(), target.tolist(), strict=True), _held(record, table), rate),
        _river_at(record, table, group, rate, intake, way[:1] == [outfall]),
        _river_at(record, table, group, rate, outfall, True),
        *_between(record, group, rate, way[1:]),
        bool(way),
    )


def _held(record: xr.Dataset, table: xr.Dataset) -> list[float]:
    """Turnover time of the store that each flow leaves; NaN at a boundary."""
    stay = dict(
        zip(table["store"].values.tolist(), table["turnover_time"].values.tolist(), strict=True)
    )
    return [stay.get(store, math.nan) for store in record["source"].values.tolist()]


def town_in(record: xr.Dataset, name: str) -> Town:
    """A town of the record, by its name."""
    found = {town.name: town for town in find_towns(record)}
    if name in found:
        return found[name]
    places = sorted(set(record["place"].values.astype(str)))
    if name in places:
        what = f'no water flows into homes of "{name}".'
        raise AskError(Problem("town", what, "Choose a place with flows of kind home_use."))
    raise AskError(Problem("town", f'the record has no place "{name}".', nearest(name, places)))


def store_groups(record: xr.Dataset, town: Town) -> dict[str, str]:
    """Store to group."""
    names = {role: name for name, roles in GROUPS.items() for role in roles}
    group = {}
    for store, place, role in zip(
        *(record.variables[name].values.tolist() for name in ("store", "place", "role")),
        strict=True,
    ):
        if role in OPEN_WATERS:
            group[store] = "river"
        elif role in ("subsoil", "groundwater"):
            group[store] = "ground"
        else:
            group[store] = names.get(role, "land") if place == town.name else "elsewhere"
    return {**group, **dict.fromkeys(town.homes, "homes")}


def _way(record: xr.Dataset, intake: str, outfall: str) -> list[str]:
    """Stores of the river from the intake to the outfall, or the other way round, the first at the
    head; none where no way joins them."""
    for first, last in ((intake, outfall), (outfall, intake)):
        downstream = below(record, first) if first and last else []
        if last in downstream:
            reached = {store: below(record, store) for store in downstream}
            way = [store for store in downstream if last in reached[store]]
            return sorted(way, key=lambda store: -len(reached[store]))
    return []


_JOINING = {
    "baseflow": "of groundwater",
    "interflow": "of groundwater",
    "lateral": "from other streams",
    "rain": "of rain",
    "outfall": "from other towns",
    "stormwater": "from other towns",
    "overflow": "from other towns",
    "bypass": "from other towns",
    **dict.fromkeys(ALONG, "from other streams"),
}
_LEAVING = {"intake": "to other intakes", "evaporation": "to the air"}
_DOWN = "down the river"


def _between(
    record: xr.Dataset, group: dict[str, str], rate: np.ndarray, stores: list[str]
) -> tuple[dict[str, float], dict[str, float]]:
    """What joins stores below the first place, and what leaves them: neither the town's own water
    nor what flows from one into the next."""
    joining, leaving = _by_kind(record, group, rate, stores)
    joining.pop(_DOWN, None)
    leaving.pop(_DOWN, None)
    return joining, leaving


def _by_kind(
    record: xr.Dataset, group: dict[str, str], rate: np.ndarray, stores: list[str]
) -> tuple[dict[str, float], dict[str, float]]:
    """What goes into stores of a river and out of them, besides the town's own water, in words."""
    joining: dict[str, float] = {}
    leaving: dict[str, float] = {}
    own = {*GROUPS, "land"}
    rows = zip(
        *(record[name].values.astype(str) for name in ("source", "target", "kind")),
        rate,
        strict=True,
    )
    for source, target, kind, flow in rows:
        is_out, is_in = source in stores, target in stores
        if is_out == is_in or group.get(target if is_out else source) in own:
            continue
        words, found = (_LEAVING, leaving) if is_out else (_JOINING, joining)
        is_way = kind in ALONG and (source == stores[-1] if is_out else target == stores[0])
        told = _DOWN if is_way else words.get(kind, "elsewhere" if is_out else "from elsewhere")
        found[told] = found.get(told, 0.0) + float(flow)
    kept = record["volume"].isel(edge=[0, -1]).sel(store=stores).sum("store").values
    days = (record["edge"].values[-1] - record["edge"].values[0]) / np.timedelta64(1, "D")
    rise = float(kept[1] - kept[0]) / days
    leaving["into store"], joining["from store"] = max(rise, 0.0), max(-rise, 0.0)
    return joining, leaving


def _river_at(
    record: xr.Dataset,
    table: xr.Dataset,
    group: dict[str, str],
    rate: np.ndarray,
    store: str,
    is_below: bool,
) -> RiverAt | None:
    if not store:
        return None
    fed, lost = _by_kind(record, group, rate, [store])
    leaving = lost.pop(_DOWN, 0.0)
    words = str(record["label"].sel(store=store).values).split(",")[0]
    is_dam = str(record["role"].sel(store=store).values) == "reservoir"
    stay = float(table["turnover_time"].sel(store=store)) if is_dam else math.nan
    coming = float(sum(fed.values()) - sum(lost.values()))
    return RiverAt(words, max(coming, 0.0), leaving, fed, lost, is_below, stay)


def group_stays(
    ends: Iterable[tuple[str, str]], held: Iterable[float], rate: np.ndarray
) -> dict[str, float]:
    """Turnover time of each group: the volumes of its stores over what leaves the group.

    Of every flow the groups at its ends, the turnover time of the store it leaves [d], and its mean
    rate [m3/d].
    """
    out = dict.fromkeys(GROUPS, 0.0)
    volume = dict.fromkeys(GROUPS, 0.0)
    for (name, target), days, flow in zip(ends, held, rate.tolist(), strict=True):
        if name in GROUPS:
            # Mean volume is turnover time times throughflow, so each outflow carries its share.
            volume[name] += flow * days if math.isfinite(days) else 0.0
            out[name] += flow if target != name else 0.0
    return {name: volume[name] / out[name] if out[name] > 0 else float("nan") for name in GROUPS}
