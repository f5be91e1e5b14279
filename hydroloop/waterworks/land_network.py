"""Land and groundwater of towns and catchments as stores and flows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.placenames import place_words
from hydroloop.scenario.schema_river import Aquifer, River
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.drainage import runoff_recession
from hydroloop.waterworks.layout import AQUIFER, LAND, STREAMS
from hydroloop.waterworks.ledger import Ledger, row
from hydroloop.waterworks.sizes import Sizes

# Recharge over rain, from which groundwater begins: 21 +- 3 % of rain over 15,567 basins (Nature
# Geoscience 2024, abstract).
_RECHARGE_OVER_RAIN = 0.21
# Storm drains empty within about an hour (common practice).
_DRAIN_TIME = 1.0 / 24.0
# Soil and yards begin a run-up half full; a year of it forgets that.
_FIRST_SOIL = 0.5
# However much the sewers take, this share of what reaches groundwater goes to the river:
# our own choice, where more is asked of the ground than it has.
LEAST_BASEFLOW = 0.1


@dataclass(frozen=True)
class Ground:
    """How much water lies in the ground and how fast it drains.

    Attributes
    ----------
    open_area : float
        Area that rain can enter [m2].
    storage : float or None
        Groundwater on the first day; none: three times what baseflow drains [m3].
    recession, interflow_recession : float
        Time in which baseflow and interflow fall to 37 % [d].
    interflow_share : float
        Share of the percolation that leaves as interflow [-].
    artificial_recharge, infiltration : float
        Long-run mean of what leaks and on-site systems add, and of what sewers take [m3/d].
    baseflow : float or None
        Baseflow on the first day; none: that of the long-run mean [m3/d].
    """

    open_area: float
    storage: float | None
    recession: float
    interflow_share: float
    interflow_recession: float
    artificial_recharge: float = 0.0
    infiltration: float = 0.0
    baseflow: float | None = None


def draw_ground(
    ledger: Ledger, place: str, ground: Ground, rain_m_per_day: float, river_store: int
) -> np.ndarray:
    """Subsoil and groundwater of a town, of a catchment or shared, and how they reach a river."""
    recharge = _RECHARGE_OVER_RAIN * rain_m_per_day * ground.open_area
    inflow = recharge + ground.artificial_recharge
    mean_baseflow = max(inflow - ground.infiltration, LEAST_BASEFLOW * inflow)
    mean_active = ground.recession * mean_baseflow
    active = mean_active if ground.baseflow is None else ground.recession * ground.baseflow
    storage = 3.0 * active if ground.storage is None else ground.storage
    active = min(active, storage)
    percolation = recharge / max(1.0 - ground.interflow_share, 0.01)
    words = place_words(place, ledger.names)
    subsoil = ledger.store(
        place, "subsoil", f"the subsoil of {words}", percolation * ground.interflow_recession
    )
    store = ledger.store(
        place,
        "groundwater",
        f"the groundwater under {words}",
        storage,
        given=ground.baseflow is not None,
    )
    return row(
        AQUIFER,
        s_store=store,
        s_subsoil=subsoil,
        s_river=river_store,
        recession=ground.recession,
        drained_volume=storage - active,
        mean_active=mean_active,
        infiltration=ground.infiltration,
        artificial=ground.artificial_recharge,
        interflow_share=ground.interflow_share,
        interflow_recession=ground.interflow_recession,
        f_baseflow=ledger.flow(store, river_store, "baseflow"),
        f_interflow=ledger.flow(subsoil, river_store, "interflow"),
        f_recharge=ledger.flow(subsoil, store, "recharge"),
    )


def town_ground(town: Town, sizes: Sizes) -> Ground:
    """Ground under a town that shares none."""
    land = town.land
    return Ground(
        (1.0 - land.paved) * sizes.land_area,
        land.storage / 1000.0 * sizes.land_area,
        land.recession,
        land.interflow_share,
        land.interflow_recession,
        artificial_recharge(town, sizes),
        town.people * town.sewers.infiltration,
        land.baseflow,
    )


def artificial_recharge(town: Town, sizes: Sizes) -> float:
    """Mean of what leaks and on-site systems add to the ground under a town [m3/d]."""
    homes = town.people * town.homes.use_per_person * (1.0 - town.homes.consumed)
    return town.mains.real_losses * sizes.mean_input + town.homes.septic * homes


def shared_ground(aquifer: Aquifer, towns: list[tuple[Town, Sizes]]) -> Ground:
    """Ground that several towns share, under their land and its own."""
    area = aquifer.area * 1e6
    paved = sum(town.land.paved * sizes.land_area for town, sizes in towns)
    return Ground(
        max(0.0, area - paved),
        aquifer.storage / 1000.0 * area,
        aquifer.recession,
        aquifer.interflow_share,
        aquifer.interflow_recession,
        sum(artificial_recharge(town, sizes) for town, sizes in towns),
        sum(town.people * town.sewers.infiltration for town, _ in towns),
        aquifer.baseflow,
    )


def catchment_ground(river: River, area: float) -> Ground:
    """Ground of a catchment whose rain feeds a river; its area in m2."""
    return Ground(
        area,
        None,
        river.recession,
        river.interflow_share,
        river.interflow_recession,
        baseflow=river.baseflow,
    )


def _soil(
    ledger: Ledger, named: tuple[str, str], words: str, start: float | None, held: float
) -> int:
    """Soil that can hold so much, as full as is given or, for the run-up, half full."""
    share = _FIRST_SOIL if start is None else start
    return ledger.store(*named, words, share * held, given=start is not None)


def _snow(ledger: Ledger, place: str, words: str, start_mm: float | None, area: float) -> int:
    volume = (start_mm or 0.0) / 1000.0 * area
    return ledger.store(place, "snow", words, volume, given=start_mm is not None)


def draw_streams(
    ledger: Ledger, place: str, area: float, recession: float | None
) -> tuple[int, np.ndarray]:
    """Streams of open land that gather its water: their store, and their row."""
    words = f"the streams of {place_words(place, ledger.names)}"
    store = ledger.store(place, "streams", words, 0.0)
    taken = runoff_recession(area / 1e6) if recession is None else recession
    return store, row(STREAMS, s_store=store, recession=taken)


def draw_open_land(
    ledger: Ledger, place: str, area: float, cover: River | Aquifer, stores: tuple[int, int]
) -> np.ndarray:
    """Soil and snow of land without a town; `stores` are its subsoil and its streams."""
    subsoil, streams = stores
    words = place_words(place, ledger.names)
    river = cover if isinstance(cover, River) else None
    start, lying = (river.soil_start, river.snow_start) if river else (None, None)
    snow = _snow(ledger, place, f"the snow on the land of {words}", lying, area)
    held = cover.soil_depth / 1000.0 * area
    soil = _soil(ledger, (place, "soil"), f"the soil of {words}", start, held)
    return row(
        LAND,
        total_area=area,
        soil_area=area,
        soil_depth_mm=cover.soil_depth,
        curve_number=cover.curve_number,
        yard_curve_number=cover.curve_number,
        crop_coefficient=1.0,
        s_snow=snow,
        s_soil=soil,
        s_outlet=streams,
        f_snowfall=ledger.flow("rain", snow, "rain"),
        f_rain_soil=ledger.flow("rain", soil, "rain"),
        f_melt_soil=ledger.flow(snow, soil, "melt"),
        f_soil_sky=ledger.flow(soil, "sky", "evaporation"),
        f_soil_drains=ledger.flow(soil, streams, "stormwater"),
        f_soil_percolation=ledger.flow(soil, subsoil, "percolation"),
    )


def draw_town_land(
    ledger: Ledger, place: str, town: Town, sizes: Sizes, stores: tuple[int, int, int]
) -> np.ndarray:
    """Pavement, drains, soil, yards and snow of a town.

    `stores` are its subsoil, its sewers and the river cell of its storm outlet.
    """
    subsoil, sewers, outlet = stores
    paved = town.land.paved * sizes.land_area
    yards = min(town.yards.area_per_person * town.people, sizes.land_area - paved)
    soil = sizes.land_area - paved - yards
    words = place_words(place, ledger.names)
    snow = _snow(ledger, place, f"the snow on {words}", town.land.snow_start, sizes.land_area)
    pavement = ledger.store(place, "pavement", f"the streets and roofs of {words}", 0.0)
    drains = ledger.store(place, "storm_drains", f"the storm drains of {words}", 0.0)
    held = town.land.soil_depth / 1000.0 * soil
    ground = _soil(ledger, (place, "soil"), f"the soil of {words}", town.land.soil_start, held)
    made = row(
        LAND,
        total_area=sizes.land_area,
        paved_area=paved,
        soil_area=soil,
        yard_area=yards,
        soil_depth_mm=town.land.soil_depth,
        yard_depth_mm=town.yards.soil_depth,
        depression_mm=town.land.depression,
        curve_number=town.land.curve_number,
        yard_curve_number=town.land.curve_number,
        crop_coefficient=1.0,
        yard_crop_coefficient=town.yards.crop_coefficient,
        yard_efficiency=town.yards.efficiency,
        storm_share=sizes.storm_share,
        drain_time=_DRAIN_TIME,
        s_snow=snow,
        s_pavement=pavement,
        s_soil=ground,
        s_drains=drains,
        s_outlet=outlet,
        f_snowfall=ledger.flow("rain", snow, "rain"),
        f_rain_pavement=ledger.flow("rain", pavement, "rain"),
        f_rain_soil=ledger.flow("rain", ground, "rain"),
        f_melt_pavement=ledger.flow(snow, pavement, "melt"),
        f_melt_soil=ledger.flow(snow, ground, "melt"),
        f_pavement_sky=ledger.flow(pavement, "sky", "evaporation"),
        f_soil_sky=ledger.flow(ground, "sky", "evaporation"),
        f_pavement_drains=ledger.flow(pavement, drains, "stormwater"),
        f_soil_drains=ledger.flow(ground, drains, "stormwater"),
        f_soil_percolation=ledger.flow(ground, subsoil, "percolation"),
        f_drains_out=ledger.flow(drains, outlet, "stormwater"),
    )
    if sizes.storm_share > 0.0:
        made["f_pavement_sewers"] = ledger.flow(pavement, sewers, "stormwater")
    if yards > 0.0:
        _draw_yards(ledger, place, town, made, subsoil)
    return made


def _draw_yards(ledger: Ledger, place: str, town: Town, made: np.ndarray, subsoil: int) -> None:
    held = town.yards.soil_depth / 1000.0 * float(made["yard_area"][0])
    words = f"the yards of {place_words(place, ledger.names)}"
    yards = _soil(ledger, (place, "yards"), words, town.yards.soil_start, held)
    made["s_yards"] = yards
    made["f_rain_yards"] = ledger.flow("rain", yards, "rain")
    made["f_melt_yards"] = ledger.flow(int(made["s_snow"][0]), yards, "melt")
    made["f_yards_sky"] = ledger.flow(yards, "sky", "evaporation")
    made["f_yards_drains"] = ledger.flow(yards, int(made["s_drains"][0]), "stormwater")
    made["f_yards_percolation"] = ledger.flow(yards, subsoil, "percolation")
