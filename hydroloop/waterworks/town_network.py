"""A town's water works as stores and flows: treatment, supply, use, sewers, wastewater, reuse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.placenames import place_words
from hydroloop.plants.basins import step_volume
from hydroloop.plants.design import has_steps, raw_water
from hydroloop.scenario.schema_town import Plant, Town, Wastewater
from hydroloop.waterworks.layout import TO_PLANT, TO_RIVER, TO_SEWER, TOWN
from hydroloop.waterworks.ledger import NONE, Ledger, row
from hydroloop.waterworks.sizes import Sizes

_USES = ("toilets", "baths", "taps", "laundry")
_USE_WORDS = {
    "toilets": "the toilets",
    "baths": "the showers and baths",
    "taps": "the taps",
    "laundry": "the washing machines",
}
_STEP_WORDS = {
    "rapid_mix": "the rapid mix",
    "flocculation": "the flocculation basins",
    "sedimentation": "the settling basins",
    "filters": "the filters",
    "clearwell": "the clearwell",
    "primary": "the primary settling tanks",
    "aeration": "the aeration basins",
    "final_settling": "the final settling tanks",
    "contact": "the disinfection contact tank",
}
_BACKWASH = {"sewer": TO_SEWER, "river": TO_RIVER, "plant": TO_PLANT}
# A pond that holds treated wastewater back a day where a town discharges above its own intake.
_POND_TIME = 1.0
# Fuller than this a storage tank is not run, so that it has room for the night (common practice).
_TANKS_TARGET = 0.9
# So full they begin a run-up, or a season without one (common practice).
_TANKS_FULL = 0.8


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


def draw_sewers(ledger: Ledger, place: str, town: Town, sizes: Sizes) -> int:
    """The sewers, as full as an average dry day leaves them."""
    volume = min(sizes.dry_weather * town.sewers.travel_time, sizes.sewer_storage)
    words = f"the sewers of {place_words(place, ledger.names)}"
    return ledger.store(place, "sewers", words, volume)


def draw_town(ledger: Ledger, place: str, town: Town, sizes: Sizes, site: Site) -> np.ndarray:
    """Row of the table `TOWN`, with its stores and flows entered in the ledger."""
    made = row(
        TOWN,
        homes_demand=town.people * town.homes.use_per_person,
        work_demand=town.people * town.workplaces.use_per_person,
        plant_capacity=sizes.plant_capacity,
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
        taps=1.0 - town.homes.toilets - town.homes.baths - town.homes.laundry,
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
        pond_time=_POND_TIME,
        backwash_to=_BACKWASH[town.plant.backwash_to],
        has_pond=site.has_pond,
        s_sewers=site.sewers,
        s_outfall=site.outfall,
        s_discharge=site.outfall,
    )
    if site.has_pond:
        made["s_pond"] = ledger.store(
            place,
            "effluent_pond",
            f"the effluent pond of {place_words(place, ledger.names)}",
            sizes.dry_weather * _POND_TIME,
        )
        made["s_discharge"] = made["s_pond"]
    clearwell = _draw_plant(ledger, place, town, sizes, (made, site))
    mains = _draw_supply(ledger, place, town, sizes, (made, clearwell))
    _draw_homes(ledger, place, town, sizes, (made, mains, site))
    _draw_work(ledger, place, town, (made, mains, site))
    contact = _draw_wastewater(ledger, place, town, sizes, (made, site))
    _draw_reuse(ledger, place, town, (made, site, contact))
    return made


def _basin(ledger: Ledger, place: str, part: str, words: str, volume: float) -> int:
    words = f"{words} of {place_words(place, ledger.names)}"
    return ledger.store(place, part, words, volume, full=True)


def _step(ledger: Ledger, place: str, works: Plant | Wastewater, part: str, flow: float) -> int:
    return _basin(ledger, place, part, _STEP_WORDS[part], step_volume(works, part, flow))


def _draw_plant(
    ledger: Ledger, place: str, town: Town, sizes: Sizes, parts: tuple[np.ndarray, Site]
) -> int:
    made, site = parts
    raw = raw_water(town.plant, sizes.plant_capacity)
    made["has_plant"] = has_steps(town)
    filters = _draw_steps(ledger, place, town, raw, parts) if made["has_plant"][0] else NONE
    clearwell = _step(ledger, place, town.plant, "clearwell", sizes.plant_capacity)
    if filters != NONE:
        made["f_clear"] = ledger.flow(filters, clearwell, "treatment")
    if town.wells is not None:
        made["wells_capacity"] = town.wells.capacity
        made["f_wells"] = ledger.flow(site.well_groundwater, clearwell, "intake")
    return clearwell


def _draw_steps(
    ledger: Ledger, place: str, town: Town, raw: float, parts: tuple[np.ndarray, Site]
) -> int:
    """Rapid mix to filters; returns the filters."""
    made, site = parts
    plant = town.plant
    mix = _step(ledger, place, plant, "rapid_mix", raw)
    floc = _step(ledger, place, plant, "flocculation", raw)
    settling = _step(ledger, place, plant, "sedimentation", raw)
    filters = _step(ledger, place, plant, "filters", raw)
    if site.source != NONE:
        made["f_intake"] = ledger.flow(site.source, mix, "intake")
    made["f_mix"] = ledger.flow(mix, floc, "treatment")
    made["f_settle"] = ledger.flow(floc, settling, "treatment")
    made["f_filter"] = ledger.flow(settling, filters, "treatment")
    if plant.sludge > 0.0:
        made["f_plant_sludge"] = ledger.flow(settling, "solids", "sludge")
    if plant.backwash > 0.0:
        _draw_washing(ledger, place, town, (made, site, mix, filters))
    return filters


def _draw_washing(
    ledger: Ledger, place: str, town: Town, parts: tuple[np.ndarray, Site, int, int]
) -> None:
    made, site, mix, filters = parts
    target = site.sewers if town.plant.backwash_to == "sewer" else int(made["s_discharge"][0])
    if town.plant.backwash_to == "plant":
        words = f"the wash-water tank of {place_words(place, ledger.names)}"
        target = ledger.store(place, "washwater", words, 0.0)
        made["s_washwater"] = target
        made["f_washwater"] = ledger.flow(target, mix, "backwash")
    made["f_backwash"] = ledger.flow(filters, target, "backwash")


def _draw_supply(
    ledger: Ledger, place: str, town: Town, sizes: Sizes, parts: tuple[np.ndarray, int]
) -> int:
    made, clearwell = parts
    words = place_words(place, ledger.names)
    full, start = sizes.tanks_volume, town.tanks.start
    tanks = ledger.store(
        place,
        "tanks",
        f"the storage tanks of {words}",
        full * (_TANKS_FULL if start is None else start),
        given=start is not None,
    )
    mains = ledger.store(place, "mains", f"the mains of {words}", sizes.mains_volume, full=True)
    made["s_tanks"] = tanks
    made["f_supply_tanks"] = ledger.flow(clearwell, tanks, "supply")
    made["f_supply_mains"] = ledger.flow(tanks, mains, "supply")
    if town.imported > 0.0:
        made["f_import"] = ledger.flow("import", tanks, "import")
    return mains


def _draw_homes(
    ledger: Ledger, place: str, town: Town, sizes: Sizes, parts: tuple[np.ndarray, int, Site]
) -> None:
    made, mains, site = parts
    if town.mains.real_losses > 0.0:
        made["f_leak"] = ledger.flow(mains, site.groundwater, "leak")
    for use in _USES:
        share = float(made[use][0])
        store = _basin(
            ledger, place, use, _USE_WORDS[use], share * town.homes.plumbing * town.people
        )
        made[f"f_{use}"] = ledger.flow(mains, store, "home_use")
        made[f"f_{use}_sewage"] = ledger.flow(store, site.sewers, "sewage")
        if town.homes.consumed > 0.0:
            made[f"f_{use}_sky"] = ledger.flow(store, "sky", "evaporation")
        if town.homes.septic > 0.0:
            made[f"f_{use}_septic"] = ledger.flow(store, site.groundwater, "sewage")


def _draw_work(ledger: Ledger, place: str, town: Town, parts: tuple[np.ndarray, int, Site]) -> None:
    made, mains, site = parts
    volume, flushed = 0.2 * town.homes.plumbing * town.people, town.workplaces.toilets
    for name, part, words, share in (
        ("f_work", "workplaces", "the workplaces", 1.0 - flushed),
        ("f_work_toilets", "work_toilets", "the toilets at the workplaces", flushed),
    ):
        if share <= 0.0:
            continue
        work = _basin(ledger, place, part, words, share * volume)
        made[name] = ledger.flow(mains, work, "work_use")
        made[f"{name}_sewage"] = ledger.flow(work, site.sewers, "sewage")
        if town.workplaces.consumed > 0.0:
            made[f"{name}_sky"] = ledger.flow(work, "sky", "evaporation")
    yards = ledger.numbers.get(f"{place}/yards", NONE)
    made["s_yards"] = yards
    if yards != NONE:
        made["f_yards"] = ledger.flow(mains, yards, "yard_use")


def _draw_wastewater(
    ledger: Ledger, place: str, town: Town, sizes: Sizes, parts: tuple[np.ndarray, Site]
) -> int:
    made, site = parts
    works, flow = town.wastewater, sizes.design_flow
    primary = _step(ledger, place, works, "primary", flow)
    aeration = _step(ledger, place, works, "aeration", flow)
    final = _step(ledger, place, works, "final_settling", flow)
    contact = _step(ledger, place, works, "contact", flow)
    made["f_infiltration"] = ledger.flow(site.groundwater, site.sewers, "infiltration")
    made["f_primary"] = ledger.flow(site.sewers, primary, "sewage")
    made["f_aeration"] = ledger.flow(primary, aeration, "treatment")
    made["f_bypass"] = ledger.flow(primary, contact, "bypass")
    made["f_final"] = ledger.flow(aeration, final, "treatment")
    made["f_contact"] = ledger.flow(final, contact, "treatment")
    if works.sludge > 0.0:
        made["f_primary_sludge"] = ledger.flow(primary, "solids", "sludge")
        made["f_final_sludge"] = ledger.flow(final, "solids", "sludge")
    made["f_overflow"] = ledger.flow(site.sewers, int(made["s_discharge"][0]), "overflow")
    outlet = contact
    if site.has_pond:
        outlet = int(made["s_pond"][0])
        made["f_pond"] = ledger.flow(contact, outlet, "treatment")
    made["f_outfall"] = ledger.flow(outlet, site.outfall, "outfall")
    return contact


def _draw_reuse(
    ledger: Ledger, place: str, town: Town, parts: tuple[np.ndarray, Site, int]
) -> None:
    made, site, contact = parts
    reuse = town.reuse
    routes = reuse.yards + reuse.groundwater + reuse.plant + reuse.reservoir
    if routes <= 0.0:
        return
    volume = routes if reuse.tank is None else reuse.tank
    words = f"the reclaimed-water tank of {place_words(place, ledger.names)}"
    tank = ledger.store(place, "reclaimed", words, 0.5 * volume)
    made["s_reclaimed"], made["reclaimed_volume"] = tank, volume
    made["f_reclaimed"] = ledger.flow(contact, tank, "reclaimed")
    targets = {
        "yards": int(made["s_yards"][0]),
        "groundwater": site.groundwater,
        "plant": ledger.numbers.get(f"{place}/rapid_mix", NONE),
        "reservoir": site.into,
    }
    for route, target in targets.items():
        if getattr(reuse, route) > 0.0 and target != NONE:
            made[f"reuse_{route}"] = getattr(reuse, route)
            made[f"f_reuse_{route}"] = ledger.flow(tank, target, "reclaimed")
