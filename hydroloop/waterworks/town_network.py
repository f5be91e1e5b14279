"""A town's water works as stores and flows: treatment, supply, use, sewers, wastewater, reuse."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from operator import attrgetter
from typing import NamedTuple

import numpy as np

from hydroloop.placenames import place_words
from hydroloop.plants.basins import step_volume
from hydroloop.plants.design import has_steps, raw_water
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.layout import TO_PLANT, TO_RIVER, TO_SEWER, TOWN
from hydroloop.waterworks.ledger import NONE, Ledger, row
from hydroloop.waterworks.sizes import Sizes

_BACKWASH = {"sewer": TO_SEWER, "river": TO_RIVER, "plant": TO_PLANT}
# A pond that holds treated wastewater back a day where a town discharges above its own intake.
_POND_TIME = 1.0
# Fuller than this a storage tank is not run, so that it has room for the night (common practice).
_TANKS_TARGET = 0.9
# So full they begin a run-up, or a season without one (common practice).
_TANKS_FULL = 0.8
# Water that stands in the pipes of workplaces, beside that of homes: our own choice [-].
_WORK_PLUMBING = 0.2


@dataclass(frozen=True)
class Site:
    """Where a town stands in the network; store numbers, `NONE` where there is none.

    Attributes
    ----------
    source : int
        Store the intake draws from.
    groundwater, well_groundwater : int
        Store under the town, and the one its wells draw from.
    outfall : int
        River store that takes the effluent.
    into : int
        Reservoir store that takes reclaimed water.
    sewers : int
        Store of the sewers, entered before the land.
    has_pond : bool
        True where the effluent must wait for the next step, to cut a loop.
    """

    source: int
    groundwater: int
    well_groundwater: int
    outfall: int
    into: int
    sewers: int
    has_pond: bool


@dataclass(frozen=True)
class _Place:
    """A town, its sizes and where it stands."""

    town: Town
    sizes: Sizes
    site: Site

    def treatment(self, step: str) -> float | None:
        """Volume of a step before the clearwell; none where water does not pass them [m3]."""
        if not has_steps(self.town):
            return None
        return step_volume(
            self.town.plant, step, raw_water(self.town.plant, self.sizes.plant_capacity)
        )

    def wastewater(self, step: str) -> float:
        """Volume of a step of the wastewater plant [m3]."""
        return step_volume(self.town.wastewater, step, self.sizes.design_flow)

    def plumbing(self, use: str) -> float:
        """Water in the pipes of homes that lead to one use [m3]."""
        homes = self.town.homes
        share = _taps(self.town) if use == "taps" else getattr(homes, use)
        return float(share * homes.plumbing * self.town.people)

    def work(self, share: float) -> float | None:
        """The same of a share of the workplaces; none where nothing runs there [m3]."""
        volume = _WORK_PLUMBING * self.town.homes.plumbing * self.town.people
        return share * volume if share > 0.0 else None

    def tanks(self) -> float:
        """Water in the storage tanks where a season, or what comes before it, begins [m3]."""
        start = self.town.tanks.start
        return self.sizes.tanks_volume * (_TANKS_FULL if start is None else start)

    def washes_into_tank(self) -> bool:
        """Whether wash water of the filters waits in a tank for its way back to the rapid mix."""
        plant = self.town.plant
        return has_steps(self.town) and plant.backwash > 0.0 and plant.backwash_to == "plant"

    def reclaimed(self) -> float:
        """Volume of the tank of reclaimed water; 0 for a town that reclaims none [m3]."""
        reuse = self.town.reuse
        routes = reuse.yards + reuse.groundwater + reuse.plant + reuse.reservoir
        return routes if reuse.tank is None or routes <= 0.0 else reuse.tank

    def ends(self, stores: dict[str, int]) -> dict[str, int]:
        """Numbers of the stores that flows may lead to, with those that go by another name."""
        site = self.site
        ends = {
            "intake": site.source,
            "groundwater": site.groundwater,
            "sewers": site.sewers,
            "well groundwater": site.well_groundwater,
            "river": site.outfall,
            "reservoir": site.into,
            **stores,
        }
        ends["discharge"] = stores.get("effluent_pond", site.outfall)
        ends["outlet"] = stores.get("effluent_pond", stores["contact"])
        ends["washing"] = {
            "sewer": site.sewers,
            "river": ends["discharge"],
            "plant": stores.get("washwater", NONE),
        }[self.town.plant.backwash_to]
        return ends


class _Store(NamedTuple):
    """A store that a town may have."""

    part: str
    words: str  # what stands before "of TOWN"
    volume: Callable[[_Place], float | None]  # none where the town does not have it [m3]
    is_full: bool = True  # whether it always holds as much


class _Flow(NamedTuple):
    """A flow that a town may have: drawn where both its ends are there and it can run."""

    field: str  # of the table `TOWN`
    source: str
    target: str
    kind: str
    needs: str = ""  # key of a town without whose number nothing runs


_OUTSIDE = ("solids", "sky", "import")
_HOMES = {
    "toilets": "the toilets",
    "baths": "the showers and baths",
    "taps": "the taps",
    "laundry": "the washing machines",
}

# In the order of the record.
_STORES = (
    _Store("effluent_pond", "the effluent pond", lambda here: (
        here.sizes.dry_weather * _POND_TIME if here.site.has_pond else None), is_full=False),
    *(_Store(step, words, partial(_Place.treatment, step=step)) for step, words in (
        ("rapid_mix", "the rapid mix"), ("flocculation", "the flocculation basins"),
        ("sedimentation", "the settling basins"), ("filters", "the filters"))),
    _Store("washwater", "the wash-water tank",
           lambda here: 0.0 if here.washes_into_tank() else None, is_full=False),
    _Store("clearwell", "the clearwell", lambda here: step_volume(
        here.town.plant, "clearwell", here.sizes.plant_capacity)),
    _Store("tanks", "the storage tanks", _Place.tanks, is_full=False),
    _Store("mains", "the mains", lambda here: here.sizes.mains_volume),
    *(_Store(use, words, partial(_Place.plumbing, use=use)) for use, words in _HOMES.items()),
    _Store("workplaces", "the workplaces",
           lambda here: here.work(1.0 - here.town.workplaces.toilets)),
    _Store("work_toilets", "the toilets at the workplaces",
           lambda here: here.work(here.town.workplaces.toilets)),
    *(_Store(step, words, partial(_Place.wastewater, step=step)) for step, words in (
        ("primary", "the primary settling tanks"), ("aeration", "the aeration basins"),
        ("final_settling", "the final settling tanks"),
        ("contact", "the disinfection contact tank"))),
    _Store("reclaimed", "the reclaimed-water tank",
           lambda here: 0.5 * here.reclaimed() or None, is_full=False),
)  # fmt: skip # a table, read row by row
_FLOWS = (
    _Flow("f_intake", "intake", "rapid_mix", "intake"),
    _Flow("f_mix", "rapid_mix", "flocculation", "treatment"),
    _Flow("f_settle", "flocculation", "sedimentation", "treatment"),
    _Flow("f_filter", "sedimentation", "filters", "treatment"),
    _Flow("f_plant_sludge", "sedimentation", "solids", "sludge", "plant.sludge"),
    _Flow("f_washwater", "washwater", "rapid_mix", "backwash"),
    _Flow("f_backwash", "filters", "washing", "backwash", "plant.backwash"),
    _Flow("f_clear", "filters", "clearwell", "treatment"),
    _Flow("f_wells", "well groundwater", "clearwell", "intake", "wells"),
    _Flow("f_supply_tanks", "clearwell", "tanks", "supply"),
    _Flow("f_supply_mains", "tanks", "mains", "supply"),
    _Flow("f_import", "import", "tanks", "import", "imported"),
    _Flow("f_leak", "mains", "groundwater", "leak", "mains.real_losses"),
    *(flow for use in _HOMES for flow in (
        _Flow(f"f_{use}", "mains", use, "home_use"),
        _Flow(f"f_{use}_sewage", use, "sewers", "sewage"),
        _Flow(f"f_{use}_sky", use, "sky", "evaporation", "homes.consumed"),
        _Flow(f"f_{use}_septic", use, "groundwater", "sewage", "homes.septic"))),
    *(flow for field, part in (("f_work", "workplaces"), ("f_work_toilets", "work_toilets"))
      for flow in (
        _Flow(field, "mains", part, "work_use"),
        _Flow(f"{field}_sewage", part, "sewers", "sewage"),
        _Flow(f"{field}_sky", part, "sky", "evaporation", "workplaces.consumed"))),
    _Flow("f_yards", "mains", "yards", "yard_use"),
    _Flow("f_infiltration", "groundwater", "sewers", "infiltration"),
    _Flow("f_primary", "sewers", "primary", "sewage"),
    _Flow("f_aeration", "primary", "aeration", "treatment"),
    _Flow("f_bypass", "primary", "contact", "bypass"),
    _Flow("f_final", "aeration", "final_settling", "treatment"),
    _Flow("f_contact", "final_settling", "contact", "treatment"),
    _Flow("f_primary_sludge", "primary", "solids", "sludge", "wastewater.sludge"),
    _Flow("f_final_sludge", "final_settling", "solids", "sludge", "wastewater.sludge"),
    _Flow("f_overflow", "sewers", "discharge", "overflow"),
    _Flow("f_pond", "contact", "effluent_pond", "treatment"),
    _Flow("f_outfall", "outlet", "river", "outfall"),
    _Flow("f_reclaimed", "contact", "reclaimed", "reclaimed"),
    _Flow("f_reuse_yards", "reclaimed", "yards", "reclaimed", "reuse.yards"),
    _Flow("f_reuse_groundwater", "reclaimed", "groundwater", "reclaimed", "reuse.groundwater"),
    _Flow("f_reuse_plant", "reclaimed", "rapid_mix", "reclaimed", "reuse.plant"),
    _Flow("f_reuse_reservoir", "reclaimed", "reservoir", "reclaimed", "reuse.reservoir"),
)  # fmt: skip # a table, read row by row


def draw_sewers(ledger: Ledger, place: str, town: Town, sizes: Sizes) -> int:
    """The sewers, as full as an average dry day leaves them."""
    volume = min(sizes.dry_weather * town.sewers.travel_time, sizes.sewer_storage)
    words = f"the sewers of {place_words(place, ledger.names)}"
    return ledger.store(place, "sewers", words, volume)


def draw_town(ledger: Ledger, place: str, town: Town, sizes: Sizes, site: Site) -> np.ndarray:
    """Row of the table `TOWN`, with its stores and flows entered in the ledger."""
    here = _Place(town, sizes, site)
    stores = _draw_stores(ledger, place, here)
    if f"{place}/yards" in ledger.numbers:  # entered with the land
        stores["yards"] = ledger.numbers[f"{place}/yards"]
    ends = here.ends(stores)
    made = _numbers_of(here)
    made["s_sewers"], made["s_outfall"], made["s_discharge"] = (
        ends[name] for name in ("sewers", "river", "discharge")
    )
    for field, part in (
        ("s_pond", "effluent_pond"),
        ("s_washwater", "washwater"),
        ("s_tanks", "tanks"),
        ("s_yards", "yards"),
        ("s_reclaimed", "reclaimed"),
    ):
        made[field] = ends.get(part, NONE)
    for flow in _FLOWS:
        source, target = (
            name if name in _OUTSIDE else ends.get(name, NONE)
            for name in (flow.source, flow.target)
        )
        if NONE not in (source, target) and _runs(flow, town):
            made[flow.field] = ledger.flow(source, target, flow.kind)
    for route in ("yards", "groundwater", "plant", "reservoir"):
        if made[f"f_reuse_{route}"][0] != NONE:
            made[f"reuse_{route}"] = getattr(town.reuse, route)
    return made


def _runs(flow: _Flow, town: Town) -> bool:
    return not flow.needs or bool(attrgetter(flow.needs)(town))


def _draw_stores(ledger: Ledger, place: str, here: _Place) -> dict[str, int]:
    """Numbers of the stores that a town has, by part."""
    stores = {}
    for one in _STORES:
        if (volume := one.volume(here)) is not None:
            words = f"{one.words} of {place_words(place, ledger.names)}"
            given = one.part == "tanks" and here.town.tanks.start is not None
            stores[one.part] = ledger.store(
                place, one.part, words, volume, full=one.is_full, given=given
            )
    return stores


def _taps(town: Town) -> float:
    """Share of a home's use that comes out of its taps [-]."""
    return 1.0 - town.homes.toilets - town.homes.baths - town.homes.laundry


def _numbers_of(here: _Place) -> np.ndarray:
    """A row of the table `TOWN` with the numbers of a town, and no store or flow yet."""
    town, sizes = here.town, here.sizes
    return row(
        TOWN,
        homes_demand=town.people * town.homes.use_per_person,
        work_demand=town.people * town.workplaces.use_per_person,
        plant_capacity=sizes.plant_capacity,
        has_plant=has_steps(town),
        wells_capacity=0.0 if town.wells is None else town.wells.capacity,
        sludge=town.plant.sludge,
        backwash=town.plant.backwash,
        import_limit=town.imported,
        tanks_volume=sizes.tanks_volume,
        tanks_target=_TANKS_TARGET * sizes.tanks_volume,
        refill=town.tanks.refill,
        real_losses=town.mains.real_losses,
        toilets=town.homes.toilets,
        baths=town.homes.baths,
        laundry=town.homes.laundry,
        taps=_taps(town),
        homes_consumed=town.homes.consumed,
        septic=town.homes.septic,
        work_consumed=town.workplaces.consumed,
        work_toilets=town.workplaces.toilets,
        yard_efficiency=town.yards.efficiency,
        sewer_capacity=sizes.sewer_capacity,
        sewer_storage=sizes.sewer_storage,
        sewer_time=town.sewers.travel_time,
        secondary_capacity=sizes.secondary_capacity,
        wastewater_sludge=town.wastewater.sludge,
        reclaimed_volume=here.reclaimed(),
        pond_time=_POND_TIME,
        backwash_to=_BACKWASH[town.plant.backwash_to],
        has_pond=here.site.has_pond,
    )
