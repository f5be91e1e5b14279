"""A small challenge of the tests: two towns, two months, a few plans."""

from __future__ import annotations

from pathlib import Path

from hydroloop.scenario.bundled import bundled_path

BRIEF = """\
[challenge]
title = "Two towns, less lost"
scenario = "towns.toml"
points = 60

[drought]
about = "Half the river."
scale = { "river.wren.inflow" = 0.5 }

[allow.mains]
what = "Mend leaking mains"
measure = "repair_leaks"
option = "to"
least = "11 %"
most = "3 %"
points = [10, 30]

[allow.yards]
what = "Water less yard"
key = "town.*.yards.area_per_person"
least = "40 m2"
most = "10 m2"
towns = ["larkmill"]
points = [6, 12]

[target.glass]
measure = "used_share"
town = "penhollow"
at_most = "30 %"
during = "drought"
weight = 3

[target.enough]
measure = "shortage"

[target.river]
measure = "minimum_flow"
at_most = 100
"""


def plan(*steps: str, by: str = "Herons") -> str:
    """A plan with steps, each as lines of TOML."""
    return f'[plan]\ntitle = "A plan"\nby = "{by}"\n' + "".join(
        f'[[step]]\nwhat = "Step {k}"\nwhy = "it helps"\n{step}\n' for k, step in enumerate(steps)
    )


MAINS = 'measure = "repair_leaks"\ntown = "larkmill"\nto = "7 %"'
YARDS = 'set = { "town.larkmill.yards.area_per_person" = "10 m2" }'


def write(folder: Path, brief: str = BRIEF, **plans: str) -> Path:
    """A folder with a brief, its scenario and plans; low lines in names become dashes."""
    folder.mkdir(exist_ok=True)
    bundled = bundled_path("first_town")
    assert bundled is not None
    text = bundled.read_text().replace("end = 2031-09-30", "end = 2031-05-31")
    (folder / "towns.toml").write_text(text)
    (folder / "brief.toml").write_text(brief)
    for name, words in plans.items():
        (folder / f"{name.replace('_', '-')}.toml").write_text(words)
    return folder
