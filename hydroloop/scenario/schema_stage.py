"""What a user may write of drought stages."""

from __future__ import annotations

from typing import Literal

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Duration, Length, RiverFlow, Share

_PLANS = "town drought plans: mandatory stages ask for cuts of 10 to over 50 %"
_ENDS = "common practice: a shortest time and a higher mark for the end keep it from flickering"


class Stage(Part):
    """A drought stage: what begins it, what ends it, and what is cut while it is in force."""

    river: str | None = key(
        None, "river whose flow is watched", computed="none if a reservoir is watched"
    )
    at: Length | None = key(
        None,
        "where it is watched, as a distance below the river's head",
        computed="needed with river",
    )
    flow_below: RiverFlow | None = key(
        None, "flow below which the stage begins", computed="needed with river"
    )
    flow_above: RiverFlow | None = key(
        None, "flow above which it may end", computed="1.2 times flow_below"
    )
    reservoir: str | None = key(
        None, "reservoir whose level is watched", computed="none if a river is watched"
    )
    storage_below: Share | None = key(
        None,
        "how full the reservoir is when the stage begins",
        computed="needed with reservoir",
        usual=("20 %", "90 %"),
    )
    storage_above: Share | None = key(
        None, "how full it must be before the stage may end", computed="5 % above storage_below"
    )
    hold: Duration = key(
        "14 day",
        "shortest time for which the stage stays in force",
        usual=("1 day", "90 day"),
        source=_ENDS,
    )
    kind: Literal["voluntary", "mandatory"] = key(
        "voluntary",
        "voluntary (asked for) or mandatory (with fines)",
        source="common practice: first stages ask, later ones bind",
    )
    homes: Share = key(
        "5 %",
        "share of indoor use at homes that is to be cut",
        usual=("0 %", "30 %"),
        source=_PLANS,
    )
    workplaces: Share = key(
        "5 %", "share of use at workplaces that is to be cut", usual=("0 %", "40 %"), source=_PLANS
    )
    yards: Share = key(
        "50 %", "share of yard watering that is to be cut", usual=("0 %", "100 %"), source=_PLANS
    )
    compliance: Share | None = key(
        None,
        "share of these cuts that is truly saved",
        usual=("10 %", "100 %"),
        computed="40 % if voluntary: 15 % asked for then saves 6 %, where 4 to 12 % (Kenney et al. "
        "2004, JAWRA 40:77) and 0 to 7 % (Halich & Stephenson 2009, Land Economics 85:614) were "
        "measured; 90 % if mandatory: California asked for 25 % and saved 23 % in 2015-16 (State "
        "Water Board, 1 Nov 2016)",
    )
    towns: list[str] = key([], "towns that keep to it", source="a local decision; none named: all")
