"""Speed of the plants' reports, as ratios within one run.

    python benchmarks/plants.py

All five towns' plants held against demand, with what each step takes out, against simulating the
year; what it saves to follow the materials once for all towns; growth over thirty years for a
thousand members drawn from ranges; and a year run by the hour for one week of it. Times depend on
the machine; ratios are what to watch.
"""

from __future__ import annotations

from main_job import least_time

import hydroloop as hl
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.studies.capacity_years import MEMBERS
from hydroloop.studies.hourly_week import hourly_week
from hydroloop.studies.separation import separations

RANGES = {
    "town.*.homes.use_per_person": "45 gal/person/day to 70 gal/person/day",
    "town.*.mains.real_losses": "8 % to 20 %",
    "town.*.growth.people_per_year": "0.5 % to 2 %",
    "town.*.growth.use_falls_per_year": "0 % to 1 %",
}


def main() -> None:
    """Print the figures."""
    scenario = hl.read_scenario("five_towns").changed(RANGES)
    record, towns = hl.simulate(scenario), list(scenario.town)
    simulating = least_time(lambda: hl.simulate(scenario))
    studies = least_time(lambda: [capacity_study(scenario, record, town) for town in towns])
    together = least_time(lambda: separations(scenario, record, towns))
    alone = least_time(lambda: [separations(scenario, record, [town]) for town in towns], 3)
    by_hour = least_time(lambda: hourly_week(scenario, towns[0]), 3)
    years = scenario.town[towns[0]].growth.years
    print(f"five towns, a year: simulated in {simulating:.3f} s")
    print(
        f"their plants over {years} years, {MEMBERS:,} members each: {studies:.3f} s, "
        f"{studies / simulating:.1f} times that"
    )
    print(
        f"with what each step takes out: {studies + together:.3f} s, "
        f"{(studies + together) / simulating:.1f} times; town by town the second part takes "
        f"{alone / together:.1f} times as long"
    )
    print(
        f"the year by the hour and one week of it: {by_hour:.3f} s, "
        f"{by_hour / simulating:.1f} times, with 24 times the steps"
    )


if __name__ == "__main__":
    main()
