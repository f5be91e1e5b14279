"""What a user may write of growth, for the study of capacity over the years."""

from __future__ import annotations

from hydroloop.scenario.key import Part, key
from hydroloop.scenario.quantities import Share, YearlyGrowth


class Growth(Part):
    """How a town grows; the study begins in the season's first year."""

    people_per_year: YearlyGrowth = key(
        "1 %",
        "growth of the number of people in a year; below zero it shrinks",
        usual=("-3 %", "5 %"),
        source="a local forecast; 1 % is common practice where there is none",
    )
    jobs_per_year: YearlyGrowth | None = key(
        None,
        "growth of water use at workplaces in a year; below zero it shrinks",
        usual=("-3 %", "5 %"),
        computed="that of the people",
    )
    use_falls_per_year: Share = key(
        "0.5 %",
        "fall of indoor use per person in a year, as fixtures are replaced",
        usual=("0 %", "2 %"),
        source="DeOreo et al. 2016: 177 to 138 gal a household and day from 1999 to 2016, 1.5 % a "
        "year; 0.5 % to be on the safe side",
    )
    years: int = key(30, "years to look ahead", usual=(10, 60), source="common practice")
