"""Time and memory at the limits of what is read: the most that is taken, and more than that.

    python tests/at_the_limits.py

Each in a process of its own; the time is the processor's, so that it holds on a busy machine too.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np
from small_scenarios import ONE_TOWN

from hydroloop import measures, simulate
from hydroloop.errors import InputError
from hydroloop.scenario import Scenario, read_toml
from hydroloop.weather import read_flow, read_weather
from hydroloop.weather.csv_text import MOST_LINES
from hydroloop.whatif.plan import read_plan_text

CENTURIES = ONE_TOWN.replace("2031-05-01", "1850-01-01").replace("2031-08-31", "2049-12-31")
TOWN = ONE_TOWN[ONE_TOWN.index("[town") :]
STEP = '[[step]]\nwhat = "y"\nmeasure = "repair_leaks"\ntown = "larkmill"\nto = "7 %"\n'


def towns(count: int) -> str:
    """So many towns on one river, over a month."""
    rest = "".join(TOWN.replace("larkmill", f"town{k}") for k in range(count - 1))
    return ONE_TOWN.replace("2031-08-31", "2031-05-31").replace("3 m3/s", "3000 m3/s") + rest


def rivers(count: int) -> str:
    """So many rivers, each of which flows into the next."""
    rest = "\n".join(f'[river.r{k}]\nlength = "1 km"\njoins = "r{k + 1}"' for k in range(count))
    return (
        f'{ONE_TOWN}{rest}\n[river.r{count}]\nlength = "2 km"\n[river.spring]\n'
        'length = "1 km"\ninflow = "1 m3/s"\njoins = "r0"\n'
    )


def table(head: str, cells: str, hours: int) -> Path:
    """A table of so many hours."""
    first, path = np.datetime64("1850-01-01T00:00"), Path("table.csv")
    with path.open("w") as file:
        file.write(f"date,{head}\n")
        file.writelines(f"{first + 60 * k},{cells}\n" for k in range(hours))
    return path


def run(scenario: Scenario) -> object:
    """The season and all its measures."""
    return measures(simulate(scenario), scenario)


def take(plan: str) -> object:
    """The scenario that a plan makes of one town."""
    return read_plan_text(plan).taken(read_toml(ONE_TOWN))


HOURS = 200 * 8766
CASES = {
    "a flow by the hour over 200 years": lambda: partial(
        read_flow, table("flow [m3/s]", "1.5", HOURS)
    ),
    "a table with more lines than are read": lambda: partial(
        read_flow, table("flow [m3/s]", "1.5", MOST_LINES + 1)
    ),
    "a table of 2 million lines that are all wrong": lambda: partial(
        read_weather, table("rain [mm],tmin [C],tmax [C]", "bad,bad,bad", 2_000_000)
    ),
    "1,000 towns, checked": lambda: partial(read_toml, towns(1000)),
    "1,001 towns": lambda: partial(read_toml, towns(1001)),
    "100 towns, run over a month": lambda: partial(run, read_toml(towns(100))),
    "5,000 rivers, checked": lambda: partial(read_toml, rivers(4997)),
    "5,001 rivers": lambda: partial(read_toml, rivers(4998)),
    "19,000 keys that are none": lambda: partial(
        read_toml, "\n".join(f"k{k} = 1" for k in range(19_000)) + ONE_TOWN
    ),
    "lists in lists, 400 deep": lambda: partial(
        read_toml, f"x = {'[' * 400}{']' * 400}\n{ONE_TOWN}"
    ),
    "a key of 40 words": lambda: partial(read_toml, f"{'a.' * 40}a = 1\n{ONE_TOWN}"),
    "a plan of 200 steps, taken": lambda: partial(take, f'[plan]\ntitle = "x"\n{STEP * 200}'),
    "one town over 200 years by the day, run": lambda: partial(run, read_toml(CENTURIES)),
}


def measured(name: str) -> str:
    """One case, here: whether it was taken, with the time and the memory."""
    act = CASES[name]()
    before, begun = _memory(), time.process_time()
    try:
        act()
    except InputError as error:
        end = f"refused: {str(error).splitlines()[0][:150]}"
    else:
        end = "taken"
    return (
        f"{name:48} {time.process_time() - begun:7.1f} s {_memory():8,.0f} MB "
        f"(of {before:.0f} before)  {end}"
    )


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    if sys.argv[2:]:
        print(measured(sys.argv[2]))
    else:
        for case in [name for name in CASES if not sys.argv[1:] or sys.argv[1] in name]:
            with tempfile.TemporaryDirectory() as place:
                subprocess.run(
                    [sys.executable, Path(__file__).resolve(), "one", case], cwd=place, check=False
                )
