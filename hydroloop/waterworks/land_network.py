"""Land and groundwater of towns and catchments as stores and flows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.scenario.schema_river import Aquifer, River
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.layout import AQUIFER, LAND
from hydroloop.waterworks.ledger import Ledger, row
from hydroloop.waterworks.river_network import in_words
from hydroloop.waterworks.sizes import Sizes

# Recharge that feeds the baseflow of the first day: 150 mm a year (common practice).
_FIRST_RECHARGE = 0.150 / 365.25
# Storm drains empty within about an hour (common practice).
_DRAIN_TIME = 1.0 / 24.0
# Soil and yards begin a run-up half full; a year of it forgets that.
_FIRST_SOIL = 0.5


@dataclass(frozen=True)
class Ground:
    """How much water lies in the ground and how fast it drains.

    Attributes
    ----------
    area : float
        Area [m2].
    volume : float
        Water on the first day [m3].
    baseflow : float
        Baseflow on the first day [m3/d].
    recession : float
        Time in which it falls to 37 % [d].
    given : bool
        Whether the scenario gives the baseflow of the first day.
    """

    area: float
    volume: float
    baseflow: float
    recession: float
    given: bool = False


def draw_aquifer(ledger: Ledger, place: str, ground: Ground, river_store: int) -> np.ndarray:
    """Groundwater of a town, of a catchment or shared, and its baseflow to a river."""
    active = min(ground.baseflow * ground.recession, ground.volume)
    words = f"the groundwater under {in_words(place)}"
    store = ledger.store(place, "groundwater", words, ground.volume, given=ground.given)
    return row(
        AQUIFER,
        s_store=store,
        s_river=river_store,
        recession=ground.recession,
        drained_volume=ground.volume - active,
        first_active=active,
        f_baseflow=ledger.flow(store, river_store, "baseflow"),
    )


def town_ground(town: Town, sizes: Sizes) -> Ground:
    """Groundwater under a town that shares none."""
    area, given = sizes.land_area, town.land.baseflow
    baseflow = _FIRST_RECHARGE * area if given is None else given
    volume = town.land.storage / 1000.0 * area
    return Ground(area, volume, baseflow, town.land.recession, given is not None)


def shared_ground(aquifer: Aquifer) -> Ground:
    """Groundwater that several towns share."""
    area = aquifer.area * 1e6
    baseflow = _FIRST_RECHARGE * area if aquifer.baseflow is None else aquifer.baseflow
    volume = aquifer.storage / 1000.0 * area
    return Ground(area, volume, baseflow, aquifer.recession, aquifer.baseflow is not None)


def catchment_ground(river: River, recharge_m_per_day: float) -> Ground:
    """Groundwater of a catchment whose rain feeds a river."""
    assert river.catchment is not None
    area = river.catchment * 1e6
    baseflow = recharge_m_per_day * area if river.baseflow is None else river.baseflow
    given = river.baseflow is not None
    return Ground(area, 3.0 * baseflow * river.recession, baseflow, river.recession, given)


def _soil(
    ledger: Ledger, named: tuple[str, str], words: str, start: float | None, held: float
) -> int:
    """Soil that can hold so much, as full as is given or, for the run-up, half full."""
    share = _FIRST_SOIL if start is None else start
    return ledger.store(*named, words, share * held, given=start is not None)


def _snow(ledger: Ledger, place: str, words: str, start_mm: float | None, area: float) -> int:
    volume = (start_mm or 0.0) / 1000.0 * area
    return ledger.store(place, "snow", words, volume, given=start_mm is not None)


def draw_catchment(
    ledger: Ledger, place: str, river: River, stores: tuple[int, int], aquifer: int
) -> np.ndarray:
    """Soil and snow of a catchment; `stores` are its groundwater and the head of its river."""
    assert river.catchment is not None
    area = river.catchment * 1e6
    groundwater, head = stores
    words = f"the catchment of the {in_words(place)}"
    snow = _snow(ledger, place, f"the snow on {words}", river.snow_start, area)
    held = river.soil_depth / 1000.0 * area
    soil = _soil(ledger, (place, "soil"), f"the soil of {words}", river.soil_start, held)
    return row(
        LAND,
        total_area=area,
        soil_area=area,
        soil_depth_mm=river.soil_depth,
        curve_number=river.curve_number,
        yard_curve_number=river.curve_number,
        crop_coefficient=1.0,
        aquifer=aquifer,
        s_snow=snow,
        s_soil=soil,
        s_outlet=head,
        f_snowfall=ledger.flow("rain", snow, "rain"),
        f_rain_soil=ledger.flow("rain", soil, "rain"),
        f_melt_soil=ledger.flow(snow, soil, "melt"),
        f_soil_sky=ledger.flow(soil, "sky", "evaporation"),
        f_soil_drains=ledger.flow(soil, head, "stormwater"),
        f_soil_recharge=ledger.flow(soil, groundwater, "recharge"),
    )


def draw_town_land(
    ledger: Ledger, place: str, town: Town, sizes: Sizes, stores: tuple[int, int, int]
) -> np.ndarray:
    """Pavement, drains, soil, yards and snow of a town.

    `stores` are its groundwater, its sewers and the river cell of its storm outlet.
    """
    groundwater, sewers, outlet = stores
    paved = town.land.paved * sizes.land_area
    yards = min(town.yards.area_per_person * town.people, sizes.land_area - paved)
    soil = sizes.land_area - paved - yards
    words = in_words(place)
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
        f_soil_recharge=ledger.flow(ground, groundwater, "recharge"),
        f_drains_out=ledger.flow(drains, outlet, "stormwater"),
    )
    if sizes.storm_share > 0.0:
        made["f_pavement_sewers"] = ledger.flow(pavement, sewers, "stormwater")
    if yards > 0.0:
        _draw_yards(ledger, place, town, made, groundwater)
    return made


def _draw_yards(ledger: Ledger, place: str, town: Town, made: np.ndarray, groundwater: int) -> None:
    held = town.yards.soil_depth / 1000.0 * float(made["yard_area"][0])
    words = f"the yards of {in_words(place)}"
    yards = _soil(ledger, (place, "yards"), words, town.yards.soil_start, held)
    made["s_yards"] = yards
    made["f_rain_yards"] = ledger.flow("rain", yards, "rain")
    made["f_melt_yards"] = ledger.flow(int(made["s_snow"][0]), yards, "melt")
    made["f_yards_sky"] = ledger.flow(yards, "sky", "evaporation")
    made["f_yards_drains"] = ledger.flow(yards, int(made["s_drains"][0]), "stormwater")
    made["f_yards_recharge"] = ledger.flow(yards, groundwater, "recharge")
