"""A town's part of a step worked out anew; see `step_by_hand`."""

from __future__ import annotations

from step_by_hand import USES, Steps, ground


def last_day(steps: Steps, t: int) -> range:
    """The steps of the last day up to this one, as far as the season has them."""
    return range(max(0, t - steps.per_day + 1), t + 1)


def yards_ask(steps: Steps, place: str, t: int, by_hour: float, areas) -> float:
    """Water that yards want [m3/d]: what dry lawns used in the last day, less the rain, where it is
    8 degC or more and as far as the soil has room."""
    town, (area, total) = steps.scenario.town[place], areas
    yards, store = town.yards, f"{place}/yards"
    if steps.mean_c[t] < 8.0:
        return 0.0
    capacity = yards.soil_depth / 1000.0 * area
    used = [
        yards.crop_coefficient * steps.reference[s]
        if steps.mean_c[s] >= 8.0 and steps.held(store, s) < 0.5 * capacity
        else 0.0
        for s in last_day(steps, t)
    ]
    lacks = sum(used) / len(used) - sum(steps.wet_mm(place, total, t)[1:])
    numbers = (yards.soil_depth, town.land.curve_number, yards.crop_coefficient)
    room = capacity - steps.soil(store, t, area, total, numbers)["after"]
    wanted = by_hour * lacks / 1000.0 * area
    return max(0.0, min(wanted, room)) / yards.efficiency / steps.dt


def supply(steps: Steps, place: str, t: int, demand, drawn) -> dict[str, float]:
    """Plan of the plant and its tanks, treatment, wells, imports and mains.

    `demand` are homes, workplaces and yards of each step so far, drought cuts taken off, with the
    mean of indoor use; `drawn` tells of a flow that is wanted how much may be taken [m3/d]."""
    town, dt = steps.scenario.town[place], steps.dt
    plant, reuse, losses = town.plant, town.reuse, town.mains.real_losses
    homes, work, yards, indoors = demand[t]
    left = steps.held(f"{place}/reclaimed", t) / dt
    sent = {"yards": min(left, reuse.yards, yards)}
    piped = [
        each - min(steps.held(f"{place}/reclaimed", s) / dt, reuse.yards, each)
        for s in last_day(steps, t)
        for each in [demand[s][2]]
    ]
    mean_demand = indoors + sum(piped) / len(piped)
    leaks = losses / (1.0 - losses) * mean_demand
    need = homes + work + piped[-1] + leaks
    volume = town.tanks.volume
    tanks = [steps.held(f"{place}/tanks", s) for s in last_day(steps, t)]
    lacks = (0.9 * volume - max(tanks)) / max(1.0, town.tanks.refill)
    aim = max(mean_demand + leaks + lacks, need - tanks[-1] / dt, 0.0)
    aim = min(aim, need + (volume - tanks[-1]) / dt)
    kept = (1.0 - plant.sludge) * (1.0 - plant.backwash)
    raw = min(aim, plant.capacity) / kept if town.intake else 0.0
    left -= sent["yards"]
    for way, most in (("plant", raw), ("reservoir", left), ("groundwater", left)):
        sent[way] = min(left, getattr(reuse, way), most)
        left -= sent[way]
    washed = min(steps.held(f"{place}/washwater", t) / dt, raw - sent["plant"])
    intake = drawn(max(0.0, raw - sent["plant"] - washed))
    mixed = intake + sent["plant"] + washed
    made = mixed * kept
    below = steps.held(f"{place}/groundwater", t) / dt
    below -= sum(ground(steps, place, t, ground_of(steps, place))[k] for k in _LEAVES)
    capacity = town.wells.capacity if town.wells else 0.0
    wells = min(capacity, max(0.0, aim - made), max(0.0, below))
    imported = min(town.imported, max(0.0, aim - made - wells))
    supplied = min(need, made + wells + imported + tanks[-1] / dt)
    return {
        **{f"reuse_{way}": flow for way, flow in sent.items()},
        "washwater": washed,
        "intake": intake,
        "mixed": mixed,
        "sludge": plant.sludge * mixed,
        "backwash": (1.0 - plant.sludge) * mixed * plant.backwash,
        "made": made,
        "wells": wells,
        "imported": imported,
        "supplied": supplied,
        "leak": supplied * leaks / need,
        "yards asked": piped[-1],
    }


_LEAVES = ("baseflow", "infiltration")


def ground_of(steps: Steps, place: str):
    """Land, drained volume, mean infiltration, and what stands above the drained level in the mean,
    without a run-up: recharge is 21 % of the rain."""
    town = steps.scenario.town[place]
    land, people, losses = town.land, town.people, town.mains.real_losses
    open_area = (1.0 - land.paved) * land.area * 1e6
    rain = steps.record.attrs["usual_rain_mm"] / 1000.0
    on_site = town.homes.septic * (1.0 - town.homes.consumed) * town.homes.use_per_person
    comes = 0.21 * rain * open_area + people * on_site + losses * town.built_for.demand
    infiltration = people * town.sewers.infiltration
    mean = land.recession * max(comes - infiltration, 0.1 * comes)
    return land, land.storage / 1000.0 * land.area * 1e6 - mean, infiltration, mean


def use(steps: Steps, place: str, supplied: dict[str, float], demand) -> dict[str, float]:
    """Who gets what [m3/d]: homes before workplaces before yards; and where it goes."""
    town = steps.scenario.town[place]
    homes, work = demand[:2]
    left = supplied["supplied"] - supplied["leak"]
    homes = min(homes, left)
    work = min(work, left - homes)
    yards = min(supplied["yards asked"], left - homes - work)
    share = {use: getattr(town.homes, use) for use in USES if use != "taps"}
    share["taps"] = 1.0 - sum(share.values())
    found = {"yards": yards}
    for part in USES:
        used = share[part] * homes
        kept = (1.0 - town.homes.consumed) * used
        found |= {part: used, f"{part} sky": town.homes.consumed * used}
        found |= {f"{part} ground": town.homes.septic * kept}
        found |= {f"{part} sewers": (1.0 - town.homes.septic) * kept}
    toilets = town.workplaces.toilets
    for part, used in (("workplaces", (1.0 - toilets) * work), ("work_toilets", toilets * work)):
        found |= {part: used, f"{part} sky": town.workplaces.consumed * used}
        found |= {f"{part} sewers": (1.0 - town.workplaces.consumed) * used}
    return found


def wastewater(steps: Steps, place: str, t: int) -> dict[str, float]:
    """Sewers and wastewater plant [m3/d]."""
    town, dt = steps.scenario.town[place], steps.dt
    held, comes = steps.held(f"{place}/sewers", t), steps.into(f"{place}/sewers", t)
    carried = min(town.sewers.capacity, (held + dt * comes) / (town.sewers.travel_time + dt))
    over = max(0.0, held + dt * (comes - carried) - town.sewers.storage) / dt
    sludge = town.wastewater.sludge * carried / 2.0
    full = min(carried - sludge, town.wastewater.capacity)
    bypass = carried - sludge - full
    effluent = full - min(sludge, full) + bypass
    tank = f"{place}/reclaimed"
    room = 0.0
    if town.reuse.tank:
        room = (town.reuse.tank - steps.held(tank, t)) / dt + steps.out(tank, t, "reclaimed")
    reclaimed = min(effluent, max(0.0, room))
    return {
        "carried": carried,
        "overflow": over,
        "primary sludge": sludge,
        "aeration": full,
        "bypass": bypass,
        "final sludge": min(sludge, full),
        "contact": full - min(sludge, full),
        "reclaimed": reclaimed,
        "effluent": effluent - reclaimed,
    }
