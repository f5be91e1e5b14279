"""The rows of the glossary: name, symbol, unit, meaning, formula, and where the word comes from."""

from __future__ import annotations

from typing import NamedTuple

OURS = "defined here"

_SHOWN = {"1": "share", "m3 d-1": "flow", "m3": "volume", "d": "duration", "mm": "depth"}


class Term(NamedTuple):
    """One quantity in words.

    Attributes
    ----------
    name : str
        As in records, tables and the program; words with a space where it is no variable.
    symbol : str
        As in equations; empty where there is none.
    units : str
        As in the `units` attribute of arrays: ``m3``, ``m3 d-1``, ``d``, ``1``, ``mm``.
    meaning : str
        One line.
    source : str
        Who uses the word so.
    dims : str, optional
        Of a measure, its dims beside the member, ``"time town"``; None for what is no measure.
    plain : str
        Its plain name: in tables, under pictures, and to `hydroloop explain`.
    shown : str
        What it is shown as: ``number`` or a dimension of `hydroloop.units`; by
        default what its unit says.
    formula : str
        Its equation, as ``docs/measures.md`` has it; empty where the meaning says it all.
    """

    name: str
    symbol: str
    units: str
    meaning: str
    source: str
    dims: str | None = None
    plain: str = ""
    shown: str = ""
    formula: str = ""

    @property
    def with_symbol(self) -> str:
        """Its plain name with its symbol."""
        return f"{self.plain} ({self.symbol})"

    @property
    def dimension(self) -> str:
        """What it is shown as."""
        return self.shown or _SHOWN.get(self.units, "number")


_USGS = "U.S. Geological Survey, water-use glossary"
_BALANCE = "water balance of IWA and AWWA"
_BOLIN = "Bolin & Rodhe 1973, Tellus 25:58"
_NRC = "National Research Council 2012, Water Reuse"
_HASHIMOTO = "Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18:14"
_FINN = "Finn 1980, Journal of Theoretical Biology 87:433"

TERMS = (
    Term("volume", "V", "m3", "water in a store at an instant between steps", OURS),
    Term("rate", "q", "m3 d-1", "water that moves along a flow, constant within a step", OURS),
    Term("demand", "", "m3 d-1", "water asked for by homes, workplaces and yards", _BALANCE),
    Term("cut", "", "m3 d-1", "use that a drought stage has stopped before it was asked for", OURS),
    Term("unmet", "", "m3 d-1", "water asked for that did not come", OURS, "time town purpose"),
    Term("delivered", "", "m3 d-1", "water that reaches homes", _BALANCE, "time town",
         plain="tap water to homes"),
    Term("withdrawn", "W", "m3 d-1", "water taken from a river or reservoir by a town's intake",
         _USGS, "time town", plain="taken from river or reservoir"),
    Term("pumped", "", "m3 d-1", "water taken from the ground by a town's wells", _USGS,
         "time town", plain="pumped from wells"),
    Term("effluent", "R", "m3 d-1", "treated wastewater that leaves by a town's outfall", _USGS,
         "time town", plain="treated wastewater"),
    Term("overflowed", "", "m3 d-1", "wastewater that sewers could not carry, to the river",
         "40 CFR 35.2005", "time town", plain="overflowed untreated"),
    Term("bypassed", "", "m3 d-1", "wastewater that went round aeration in the wet", OURS,
         "time town", plain="bypassed aeration"),
    Term("overflowed_volume", "", "m3", "overflow of the season", OURS, "town",
         plain="overflowed untreated, season"),
    Term("overflowed_days", "", "d", "time in which anything overflowed", OURS, "town",
         plain="overflowed untreated, time"),
    Term("overflowed_largest", "", "m3 d-1", "largest overflow of a step", OURS, "town",
         plain="overflowed untreated, largest"),
    Term("bypassed_volume", "", "m3", "bypass of the season", OURS, "town",
         plain="bypassed aeration, season"),
    Term("bypassed_days", "", "d", "time in which anything bypassed aeration", OURS, "town",
         plain="bypassed aeration, time"),
    Term("bypassed_largest", "", "m3 d-1", "largest bypass of a step", OURS, "town",
         plain="bypassed aeration, largest"),
    Term("reclaimed_to_supply", "", "m3 d-1", "reclaimed water that goes straight to a water plant",
         OURS, "time town"),
    Term("season_reclaimed_share", "", "1",
         "part of the water taken in that is reclaimed water, straight from its tank", OURS, "town",
         plain="reclaimed water straight to the plant"),
    Term("river_flow_at_intake", "Q", "m3 d-1", "flow that arrives at an intake", OURS, "time town",
         plain="river flow at the intake", shown="river_flow"),
    Term("used_before", "", "1", "share of an inflow by uses above the record", OURS),
    Term("stage_days", "", "d", "time for which a drought stage has been in force", OURS),
    Term("rain_mm", "P", "mm", "rain and snow in a step", "common practice"),
    Term("tmean_c", "T", "degC", "mean air temperature of a step", "common practice"),
    Term("et0_mm", "ET0", "mm", "evaporation of well-watered short grass in a step",
         "Allen et al. 1998, FAO Irrigation and Drainage Paper 56"),
    Term("gap_relative", "", "1", "largest gap of the account over the throughput", OURS, ""),
    Term("gap", "", "1", "storage change minus in plus out, over the throughput", OURS,
         formula="gap = change − in + out"),
    Term("withdrawal", "W", "m3 d-1", "water taken from river, reservoir or ground", _USGS),
    Term("system input", "", "m3 d-1", "water put into the mains", _BALANCE),
    Term("authorised consumption", "", "m3 d-1", "water that reaches customers", _BALANCE),
    Term("real losses", "", "1", "share of the system input that leaks out of mains", _BALANCE),
    Term("consumptive use", "c", "1", "share that evaporates or leaves in products", _USGS),
    Term("return flow", "R", "m3 d-1", "water that comes back to the river after use", _USGS),
    Term("infiltration", "", "m3 d-1", "groundwater that seeps into sewers", "40 CFR 35.2005"),
    Term("inflow to sewers", "", "m3 d-1", "rain water from roofs and drains in sewers",
         "40 CFR 35.2005"),
    Term("firm capacity", "", "m3 d-1", "what a plant can do with its largest unit out of service",
         "Recommended Standards for Water Works"),
    Term("uses", "k", "1", "completed passes through homes, or through another gate", OURS,
         plain="uses", shown="number"),
    Term("use_share", "", "1", "share of the water delivered to homes, by number of earlier uses",
         OURS, "time town use"),
    Term("unknown_share", "", "1", "share of delivered water whose past lies before the record",
         OURS, "time town", plain="share whose past is not known"),
    Term("used_share", "f", "1", "share of the water delivered to homes that was used before", OURS,
         "time town", plain="used share", formula="f = sum of the use shares from one use on"),
    Term("season_used_share_in_river", "", "1",
         "used share of the water that leaves a reach or reservoir, season", OURS, "store"),
    Term("mean_uses", "m", "1", "mean number of earlier uses of water delivered to homes", OURS,
         "time town", plain="times used, on average", shown="number",
         formula="m = sum of k times the share used k times"),
    Term("return_ratio", "S", "1",
         "sum of all return flows upstream of an intake over the flow there; can pass 1",
         f'de facto reuse of national studies, {_NRC}', "time town",
         plain="return flow over river flow", shown="share",
         formula="S = return flow that has joined above / river flow"),
    Term("toilet_share", "", "1", "used share when toilets count as a use, at home and at work",
         OURS, "time town", plain="through a toilet before"),
    Term("share_as", "", "1", "used share by each of the things that may count as a use", OURS,
         "time town count_as"),
    Term("used_share_by_way", "", "1",
         "used share in parts, by the town that used the water last and the way it came back", OURS,
         "time town used_in way", plain="share of the tap water"),
    Term("used_share_by_use", "", "1",
         "used share in parts, by the town that used the water last and the end use", OURS,
         "time town used_in used_for"),
    Term("effluent_share_at_intake", "", "1",
         "share of the water at an intake that left a wastewater plant before", _NRC, "time town"),
    Term("last_use_share", "", "1", "share of a glass by days since its last use", OURS,
         "town days_ago"),
    Term("last_use_never", "", "1", "share of a glass that was never used", OURS, "town"),
    Term("last_use_before_record", "", "1",
         "share of a glass last used above the head of a river, at a time nobody knows", OURS,
         "town"),
    Term("last_use_unknown", "", "1", "share of a glass that was there when the record begins",
         OURS, "town"),
    Term("glass_date", "", "date", "day with the most used water whose past is known", OURS,
         "town"),
    Term("within_7", "", "1", "part of a glass's used water that was used within 7 days", OURS,
         "town"),
    Term("within_30", "", "1", "part of a glass's used water that was used within 30 days", OURS,
         "town"),
    Term("within_90", "", "1", "part of a glass's used water that was used within 90 days", OURS,
         "town"),
    Term("last_use_median", "", "d", "days since the last use of the used part of a glass, median",
         OURS, "town", plain="time since last use, median"),
    Term("molecules_in_a_glass", "", "1", "water molecules in 250 mL",
         "Avogadro constant, SI brochure 2019; molar mass of water 18.015 g/mol", "",
         shown="number",
         formula="250 mL × 0.998 g/mL ÷ 18.015 g/mol × 6.022 × 10²³ /mol = 8.3 × 10²⁴"),
    Term("molecules_in_homes_last_month", "", "1",
         "molecules of a glass that were in a home within the last 30 days", OURS, "town",
         shown="number"),
    Term("glass_homes_last_month", "", "1",
         "molecules of the glass of a date that were in a home within the last 30 days", OURS,
         "glass town", shown="number"),
    Term("parcel_pass_share", "", "1", "share of a parcel by its uses at season's end", OURS,
         "town use"),
    Term("parcel_end_share", "", "1", "share of a parcel by where it is at season's end", OURS,
         "town end"),
    Term("parcel_passes", "", "1", "mean uses by season's end of a parcel released at an intake",
         OURS, "town", plain="times that water taken in on the first day is used", shown="number"),
    Term("parcel_date", "", "date", "day on which the parcel is released", OURS, "town"),
    Term("turnover_time", "tau", "d", "mean volume of a store over its mean throughflow", _BOLIN,
         "store", plain="turnover",
         formula="mean volume ÷ the larger of mean inflow and mean outflow"),
    Term("age", "a", "d", "time since water entered, for water that is still inside", _BOLIN),
    Term("transit time", "T", "d", "age of water on leaving", _BOLIN),
    Term("water_age", "", "d", "time since the water at a tap left the plant, mean of a step",
         "U.S. EPA & AWWA 2002 (title from memory)", "time town", plain="water age at the tap"),
    Term("season_water_age", "", "d", "time since tap water left the plant, mean of the season",
         "U.S. EPA & AWWA 2002 (title from memory)", "town", plain="water age at the tap, mean"),
    Term("season_water_age_oldest", "", "d", "water age that a tenth of the tap water exceeds",
         OURS, "town", plain="water age, oldest tenth over"),
    Term("rain_age_median", "", "d", "median time since tap water came onto the map", OURS, "town",
         plain="since it came onto the map, median"),
    Term("rain_age_young", "", "1", "share of tap water that came onto the map within 30 days",
         OURS, "town", plain="came onto the map within 30 days"),
    Term("intake_to_outfall_time", "", "d",
         "transit time from a town's intake to its outfall by the surface, by part of the water",
         _BOLIN, "part town", plain="intake to outfall"),
    Term("intake_to_outfall_share", "", "1",
         "share of what a town takes in that reaches its outfall by the surface, by days", OURS,
         "town days_between"),
    Term("intake_to_outfall_ground", "", "1",
         "share of what a town takes in that goes into the ground on its way", OURS, "town",
         plain="of the water taken in, into the ground"),
    Term("intake_to_outfall_pending", "", "1",
         "share of what a town takes in that has not arrived yet", OURS, "town",
         plain="of the water taken in, not yet arrived"),
    Term("outfall_to_tap_time", "", "d",
         "transit time from one town's outfall to another's tap by the surface", _BOLIN,
         "part town town_to"),
    Term("outfall_to_tap_share", "", "1",
         "share of one town's tap water that came out of another's outfall", OURS, "town town_to",
         plain="share of that tap water"),
    Term("outfall_to_tap_ground", "", "1",
         "part of it that came through the ground, or took longer than it was followed", OURS,
         "town town_to", plain="of it through the ground"),
    Term("outfall_to_tap_pending", "", "1",
         "share of a town's effluent that is still on its way to a tap", OURS, "town"),
    Term("outfall_to_tap_spread", "", "1",
         "share of a town's effluent at the next town's tap, by days", OURS, "town days_between"),
    Term("path_length", "", "1", "stores that a drop passes on average before it leaves", _FINN,
         "", shown="number", formula="sum T_i ÷ inflow"),
    Term("cycling_index", "CI", "1", "long-run share of the throughflow that is recycled", _FINN,
         "", formula="sum T_i (N_ii − 1)/N_ii ÷ sum T_i"),
    Term("lifetime_passes", "", "1", "expected uses of a drop, from mean flows, before it leaves",
         "absorbing Markov chain, fundamental matrix", "town", shown="number"),
    Term("reliability", "", "1", "share of steps in which demand is met", _HASHIMOTO, "town",
         plain="time with enough water", formula="steps without shortage / steps"),
    Term("resilience", "", "1", "chance that a step after a failure is no failure", _HASHIMOTO,
         "town", plain="share of short days that end a shortage",
         formula="steps after which supply recovers / steps that fail"),
    Term("vulnerability", "", "m3 d-1", "worst shortage of a failure, mean over failures",
         _HASHIMOTO, "town", plain="worst day of a shortage, on average",
         formula="mean over failures of max(short)"),
    Term("largest_shortage", "", "m3 d-1", "worst shortage of all failures",
         f'the largest variant of vulnerability, {_HASHIMOTO}', "town", plain="largest shortage",
         formula="max(short)"),
    Term("volume_reliability", "", "1", "share of the water asked for that is delivered",
         "common practice", "town", plain="share delivered of the water asked for",
         formula="1 − sum(short dt) / sum(demand dt)"),
    Term("longest_failure", "", "d", "longest run of steps in which water is short", OURS, "town",
         plain="longest time with too little water",
         formula="longest run of steps with shortage × dt"),
    Term("unmet_total", "", "m3", "water asked for and not delivered in the season", OURS,
         "town purpose", plain="water short over the season"),
    Term("cut_share", "", "1", "share of use that drought stages cut in the season", OURS, "town",
         plain="share of the use that drought stages cut",
         formula="sum of cut / sum of (demand + cut)"),
    Term("days_in_stage", "", "d", "days for which a drought stage was in force", OURS, "stage",
         plain="time in force", formula="sum of dt over steps in which the stage stands"),
    Term("minimum_flow", "Qmin", "m3 d-1", "flow that an intake must leave in the river",
         "common practice; Tennant 1976, Fisheries 1", plain="minimum flow at the intake",
         shown="river_flow"),
    Term("days_under_minimum_flow", "", "d",
         "days on which less than the minimum flow passes an intake", OURS, "town",
         plain="time with the river below its minimum flow",
         formula="sum of dt where flow left below the intake < minimum flow"),
    Term("dilution", "", "1", "river flow over effluent and overflow where they meet",
         "common practice", "time town", plain="river flow over effluent and overflow",
         shown="number",
         formula="flow that comes down the river to the outfall / (effluent + overflow there)"),
    Term("lowest_dilution", "", "1", "lowest river flow over effluent and overflow of the season",
         "common practice", "town", plain="lowest river flow over effluent and overflow",
         shown="number",
         formula="flow that comes down the river to the outfall / (effluent + overflow there)"),
    Term("low flow", "7Q10", "m3 d-1",
         "lowest 7-day mean flow that comes once in 10 years, on average",
         "U.S. EPA, as given in a university exercise on low flow"),
    Term("balance", "", "m3", "water in, out, change in store and gap of a place", OURS,
         "place term", formula="gap = change − in + out"),
    # rivers and reservoirs, as `run --full` prints them
    Term("baseflow index", "BFI", "1", "part of a river's flow that comes from stored water",
         "Institute of Hydrology 1980 (title from memory)"),
    Term("flashiness", "", "1", "sum of the changes from day to day over the sum of the flows",
         "Baker, Richards, Loftus & Kramer 2004, J. American Water Resources Association 40"),
    Term("low flow of 95 days", "Q95", "m3 d-1", "flow that a river has on 95 of 100 days",
         "common practice", plain="flow on 95 of 100 days"),
    Term("yield", "", "m3 d-1", "draft that a reservoir could give in every step of the season",
         "sequent peak, Thomas & Burden 1963", plain="yield"),
    Term("runoff", "", "m3 d-1", "rain and melt that run off the land at once", "common practice",
         plain="runoff"),
    Term("runoff ratio", "Q/P", "1", "flow of a river over the rain on its catchment",
         "common practice"),
    Term("interflow", "", "m3 d-1", "water that reaches a river through the subsoil, within days",
         "common practice"),
    Term("recharge", "", "m3 d-1", "water that seeps through the soil into the groundwater",
         _USGS),
    Term("baseflow", "", "m3 d-1", "groundwater that feeds a river", _USGS),
    Term("land_balance", "", "mm",
         "where the rain on a piece of land went in the season, as depth over its area",
         "common practice", "land land_term",
         formula="rain + watering = evaporation + runoff and interflow + recharge + change of "
                 "soil and snow"),
    Term("unexplained_storage", "", "mm",
         "change of what soil, snow and ground hold that the weather does not explain", OURS,
         "land"),
)  # fmt: skip # a table, read row by row
