"""How soon paper is there: a lesson, a report, and a challenge of thirty plans, on the five towns.

    python benchmarks/on_paper.py [PLANS]

Each is a command of its own, as a teacher starts it, the second time; beside it stand what it is to
take at most, what it took of the processors, how many seasons, simulated and traced in the same
run, that is, and how busy the machine is. Where other work runs beside it, the processors' time on
two of them is what a quiet machine would need. Times depend on the machine; ratios are what to
watch.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import hydroloop as hl
from hydroloop.errors import InputError
from hydroloop.judging import Brief, charged, read_brief
from hydroloop.scenario.bundled import bundled_folder
from hydroloop.whatif import read_plan_text

TEAMS_OF = 3  # attempts that each team makes
STEPS = {
    "repair_leaks": ("by", "%", 10, 60),
    "efficient_fixtures": ("homes", "%", 10, 100),
    "yard_rules": ("cut", "%", 10, 80),
}


def seconds(act: Callable[[], object]) -> float:
    """How long something takes [s]."""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def season() -> None:
    """One season of the five towns, simulated and traced."""
    hl.count_uses(hl.simulate(hl.read_scenario("five_towns")))


def command(*words: str) -> tuple[float, float]:
    """How long a command takes in a process of its own, and what it takes of the processors [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    took = seconds(
        lambda: subprocess.run(
            [sys.executable, "-m", "hydroloop", *words], check=True, capture_output=True
        )
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return took, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def steps_by_lot(brief: Brief, lot: random.Random) -> list[str]:
    """Steps of a plan that the brief allows and its points pay for."""
    towns = list(brief.season.town)
    wanted = [(measure, town) for measure in STEPS for town in towns]
    taken: list[str] = []
    for measure, town in lot.sample(wanted, k=lot.randint(2, 5)):
        option, unit, low, high = STEPS[measure]
        step = (
            f'[[step]]\nwhat = "{measure} in {town}"\nwhy = "by lot"\nmeasure = "{measure}"\n'
            f'town = "{town}"\n{option} = "{lot.randint(low, high)} {unit}"\n'
        )
        try:
            charged(brief, read_plan_text(plan("x", [*taken, step])))
        except InputError:
            continue  # more than there are points for
        taken.append(step)
    return taken


def plan(team: str, steps: list[str]) -> str:
    """A plan file."""
    return f'[plan]\ntitle = "By lot"\nby = "{team}"\n' + "".join(steps)


def class_of(folder: Path, plans: int) -> None:
    """The bundled challenge with so many plans by lot."""
    folder.mkdir()
    shutil.copy(bundled_folder() / "dry_summer" / "brief.toml", folder)
    brief, lot = read_brief(folder / "brief.toml"), random.Random(1)
    for number in range(plans):
        team, attempt = number // TEAMS_OF + 1, number % TEAMS_OF + 1
        path = folder / f"team{team}-{attempt}.toml"
        path.write_text(plan(f"Team {team}", steps_by_lot(brief, lot)), encoding="utf-8")


def main() -> None:
    """Make each twice, and print how long the second took."""
    plans = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    season()
    one = statistics.median(seconds(season) for _ in range(5))
    print(
        f"one season, simulated and traced: {one:.2f} s; load {os.getloadavg()[0]:.1f} on "
        f"{os.cpu_count()} processors"
    )
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "class"
        class_of(folder, plans)
        for name, most, words in (
            ("lesson", 10, ("lesson", "five_towns")),
            ("report", 10, ("report", "five_towns")),
            (f"challenge of {plans} plans", 30, ("challenge", str(folder))),
        ):
            *_, (took, worked) = [
                command(*words, "--out", str(Path(place) / f"{words[0]}{run}")) for run in (1, 2)
            ]
            print(
                f"{name}: {took:.1f} s the second time (at most {most} s), {worked:.1f} s of the "
                f"processors, {worked / one:.0f} seasons; load {os.getloadavg()[0]:.1f}"
            )


if __name__ == "__main__":
    main()
