"""Towns of a record: which flows are their taps, intakes, wells and outfalls."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.errors import HydroloopWarning
from hydroloop.record import flow_mask

_TAKES = ("intake", "supply", "home_use")


@dataclass(frozen=True, eq=False)
class Town:
    """Flows of a record as one town sees them; each a mask of shape (flow).

    Attributes
    ----------
    name : str
        Place whose homes are supplied.
    taps : numpy.ndarray of bool
        Flows into homes.
    intakes, wells : numpy.ndarray of bool
        Flows out of rivers and reservoirs, and out of the ground.
    outfalls, overflows, bypasses : numpy.ndarray of bool
        Treated and untreated return flows, and what goes round the biological step.
    imports, reclaimed : numpy.ndarray of bool
        Water that is bought, and reclaimed water that goes straight into its supply.
    mains : str
        Store that most of its tap water is drawn from; empty if none.
    first : str
        Store where most of its raw water arrives; the mains if it takes none in.
    """

    name: str
    taps: np.ndarray
    intakes: np.ndarray
    wells: np.ndarray
    outfalls: np.ndarray
    overflows: np.ndarray
    bypasses: np.ndarray
    imports: np.ndarray
    reclaimed: np.ndarray
    mains: str
    first: str

    @property
    def drawn(self) -> np.ndarray:
        """Flows that at-intake measures are about: out of rivers if there are any, else wells."""
        return self.intakes if self.intakes.any() else self.wells

    @property
    def takes(self) -> np.ndarray:
        """All flows by which water comes into its supply."""
        return self.intakes | self.wells | self.imports | self.reclaimed


def find_towns(record: xr.Dataset, order: Iterable[str] | None = None) -> list[Town]:
    """Towns of a record.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    order : iterable of str, optional
        Names in the order that is wanted; others follow.

    Returns
    -------
    list of Town
        Every place with a flow of kind home_use into it.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> ends = (["import", "a/homes"], ["a/homes", "sky"], ["home_use", "evaporation"])
    >>> record = build_record(Network(["a/homes"], *ends), edges_of("2031-01-01", 1),
    ...                       [[0], [0]], [[1, 1]])
    >>> [town.name for town in find_towns(record)]
    ['a']
    """
    homes = flow_mask(record, kind="home_use")
    place = dict(zip(record["store"].values.tolist(), record["place"].values.tolist(), strict=True))
    ends = zip(record["source"].values[homes].tolist(), record["target"].values[homes].tolist(),
               strict=True)  # fmt: skip
    # A home that no store stands for lies in the place that its water comes from.
    owner = [place.get(target, place.get(source, "")) for source, target in ends]
    found = dict.fromkeys(name for name in owner if name)
    wanted = [name for name in order or () if name in found]
    taps = np.zeros(len(homes), dtype=object)
    taps[homes] = owner
    return [_town(record, name, taps == name) for name in dict.fromkeys([*wanted, *found])]


def tell_stray_outfalls(record: xr.Dataset, towns: Sequence[Town]) -> None:
    """Warn of effluent that is counted at intakes, but to no town: its store lies in no town."""
    outfalls = flow_mask(record, kind="outfall")
    stray = outfalls & ~np.any([town.outfalls for town in towns], axis=0)
    if stray.any():
        names = ", ".join(f'"{name}"' for name in dict.fromkeys(record["source"].values[stray]))
        warnings.warn(
            f"The effluent of {names} belongs to no town: measures of a town's effluent leave it "
            "out, and are NaN for a town without an outfall. Name a store by its town: "
            f'"{towns[0].name}/{record["source"].values[stray][0]}".',
            HydroloopWarning, stacklevel=3)


def _town(record: xr.Dataset, name: str, taps: np.ndarray) -> Town:
    takes = flow_mask(record, kind="intake", to_place=name)
    if not takes.any():
        # In a plain table water may go from the river straight to the homes.
        own, outer = flow_mask(record, from_place=name), np.isin(
            record["source"].values, record["store"].values)
        takes = (flow_mask(record, kind=_TAKES, to_place=name) | taps) & outer & ~own
    wells = takes & flow_mask(record, from_role="groundwater")
    mains = _most(record, "source", taps)
    return Town(
        name, taps, takes & ~wells, wells,
        flow_mask(record, kind="outfall", from_place=name),
        flow_mask(record, kind="overflow", from_place=name),
        flow_mask(record, kind="bypass", from_place=name),
        flow_mask(record, kind="import", to_place=name),
        flow_mask(record, kind="reclaimed", to_place=name) & ~flow_mask(
            record, to_role=("reclaimed", "yards", "soil", "subsoil", "groundwater")),
        mains, _most(record, "target", takes) or mains,
    )  # fmt: skip


def _most(record: xr.Dataset, end: str, flows: np.ndarray) -> str:
    """Store at one end of the largest of some flows; empty if there is none."""
    stores = set(record["store"].values.tolist())
    total = record["rate"].values[:, flows].sum(axis=(0, *range(2, record["rate"].ndim)))
    names = record[end].values[flows].tolist()
    ranked = sorted(zip(total.tolist(), names, strict=True), key=lambda pair: -pair[0])
    return next((name for _, name in ranked if name in stores), "")
