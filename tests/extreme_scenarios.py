"""Extreme scenarios that `check` lets pass, and what must hold of each of them all the same.

A place with anything from one river to all that a scenario may hold; then some keys are put at, or
next to, the ends of their bounds. A change that `check` refuses is left out. The long form, which
counts what was tried and what held; measures and the report, which take most of the time, are
asked of every fifth scenario here, and not of those with very many stores:

    python tests/extreme_scenarios.py 0 10000 5
"""

from __future__ import annotations

import re
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from pathlib import Path

import numpy as np
import tomlkit
from conserves import assert_closes, assert_conserves

from hydroloop import count_uses, measures, read_scenario, simulate
from hydroloop.bounds import bound_of
from hydroloop.errors import InputError
from hydroloop.outputs.document.as_json import as_json
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run.document import run_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.scenario import Scenario, all_keys
from hydroloop.scenario.explain import NAME
from hydroloop.scenario.tree import find

_LONG = ("season.run_up", "season.start", "season.end", "dry_season.")  # have a turn of their own
_KEYS = [note for note in all_keys() if not note.is_table and not note.key.startswith(_LONG)]
_HOLDING = ("river", "reservoir", "aquifer", "town", "stage")
_SKIES = {
    "nothing": (0.0, 0.0, 0.0),
    "frost": (0.0, -60.0, -60.0),
    "heat": (0.0, 45.0, 55.0),
    "deluge": (1500.0, 5.0, 5.0),
    "slush": (40.0, -1.0, 1.0),
}


def extreme_scenario(seed: int, folder: Path) -> Scenario:
    """An extreme scenario that passes `check`; the same for the same seed."""
    rng = np.random.default_rng(seed)
    while True:
        sky = str(rng.choice(list(_SKIES))) if rng.random() < 0.3 else ""
        text = tomlkit.dumps(_place(rng, sky))
        (folder / "extreme.toml").write_text(text, encoding="utf-8")
        if sky:
            _write_sky(folder, _SKIES[sky])
        try:
            scenario = read_scenario(folder / "extreme.toml")
        except InputError:
            continue
        for _ in range(rng.integers(0, 16)):
            key, value = _extreme_value(rng, scenario)
            try:
                scenario = scenario.changed({key: value})
            except InputError:
                continue
        return scenario


def _write_sky(folder: Path, sky: tuple[float, float, float]) -> None:
    days = np.arange(np.datetime64("2024-01-01"), np.datetime64("2033-01-01"))
    rows = (f"{day},{sky[0]},{sky[1]},{sky[2]}" for day in days)
    (folder / "sky.csv").write_text("date,rain [mm],tmin [C],tmax [C]\n" + "\n".join(rows) + "\n")


def _one_of(rng: np.random.Generator, *choices: object) -> object:
    return choices[int(rng.integers(len(choices)))]


def _place(rng: np.random.Generator, sky: str) -> dict:
    """A main river with or without all else."""
    start = np.datetime64(str(_one_of(rng, "2031-01-01", "2031-05-01", "2031-07-15")))
    rivers = {"main": _river(rng, 100.0)}
    for number in range(rng.integers(0, 3)):
        rivers[f"side{number}"] = _river(rng, 30.0) | {
            "joins": "main",
            "joins_at": f"{rng.integers(1, 100)} km",
        }
    dams = {f"dam{k}": _dam(rng, 10.0 + 40.0 * k) for k in range(rng.integers(0, 3))}
    aquifers = (
        {}
        if rng.random() < 0.4
        else {"gravel": {"area": f"{_size(rng, 1e-3, 1e4)} km2", "river": "main", "at": "60 km"}}
    )
    many = int(_one_of(rng, 1, 1, 2, 3))
    towns = {f"town{k}": _town(rng, list(rivers), list(dams), list(aquifers)) for k in range(many)}
    made: dict = {
        "title": "extreme",
        "season": {
            "start": start.item(),
            "end": (start + int(_one_of(rng, 0, 3, 20))).item(),
            "step": _one_of(rng, "1 day", "1 day", "6 hour", "1 hour"),
            "run_up": _one_of(rng, "0 day", "1 year", "1 year", "3 year"),
            "warm_up": _one_of(rng, "repeat", "repeat", "repeat", "steady", "none"),
        },
        "weather": {"file": "sky.csv"}
        if sky
        else {
            "seed": int(rng.integers(1, 100)),
            "climate": _one_of(rng, "wet_winter", "dry_plateau"),
            "rain_scale": _one_of(rng, 0.0, 1.0, 1.0, 20.0),
        },
        "river": rivers,
        "reservoir": dams,
        "aquifer": aquifers,
        "town": towns,
    }
    if rng.random() < 0.2:
        watched = (
            {"reservoir": "dam0", "storage_below": "60 %"}
            if dams
            else {"river": "main", "at": "50 km", "flow_below": f"{_size(rng, 1e-3, 1e3)} m3/s"}
        )
        made["stage"] = {"dry": watched | {"kind": _one_of(rng, "voluntary", "mandatory")}}
    return made


def _size(rng: np.random.Generator, low: float, high: float) -> float:
    """A size of any order of magnitude."""
    return float(f"{10 ** rng.uniform(np.log10(low), np.log10(high)):.4g}")


def _river(rng: np.random.Generator, length: float) -> dict:
    made: dict = {"length": f"{length} km", "cell": _one_of(rng, "20 km", "80 km", "5 km")}
    if rng.random() < 0.4:
        made["catchment"] = f"{_size(rng, 1e-3, 1e6)} km2"
    if "catchment" not in made or rng.random() < 0.2:
        made["inflow"] = _one_of(rng, "0 m3/s", "1e-9 m3/s", "1 m3/s", "3 m3/s", "100000 m3/s")
    if rng.random() < 0.3:
        made["minimum_flow"] = f"{_size(rng, 1e-6, 1e3)} m3/s"
    if rng.random() < 0.2:
        made["used_before"] = _one_of(rng, "100 %", "30 %", 0)
    return made


def _dam(rng: np.random.Generator, at: float) -> dict:
    return {
        "river": "main",
        "at": f"{at} km",
        "capacity": f"{_size(rng, 1e-6, 1e11)} m3",
        "area": f"{_size(rng, 1e-9, 1e3)} km2",
    }


def _town(rng: np.random.Generator, rivers: list, dams: list, aquifers: list) -> dict:
    def place() -> dict:
        river = _one_of(rng, *rivers)
        return {"river": river, "at": f"{rng.integers(0, 101 if river == 'main' else 31)} km"}

    people = int(_one_of(rng, 1, 7, 20_000, 20_000, 10_000_000))
    made: dict = {"people": people, "outfall": place()}
    if rng.random() < 0.8:
        made["intake"] = (
            {"reservoir": _one_of(rng, *dams)} if dams and rng.random() < 0.4 else (place())
        )
    if rng.random() < 0.4 or "intake" not in made:
        made["wells"] = {"capacity": f"{_size(rng, 1e-9, 1.0) * people} m3/day"}
        if aquifers and rng.random() < 0.6:
            made["wells"]["aquifer"] = aquifers[0]
    if rng.random() < 0.3:
        made["imported"] = f"{_size(rng, 1e-9, 1.0) * people} m3/day"
    if rng.random() < 0.4:
        made["storm_outlet"] = place()
    if rng.random() < 0.4:
        made["sewers"] = {"kind": "combined"}
    if aquifers and rng.random() < 0.5:
        made["land"] = {"aquifer": aquifers[0], "area": f"{_size(rng, 1e-3, 1e3)} km2"}
    if rng.random() < 0.4:
        made["reuse"] = {
            route: f"{_size(rng, 1e-9, 10.0) * people} m3/day"
            for route in ("yards", "groundwater", "plant")
            if rng.random() < 0.7
        }
        if dams and rng.random() < 0.7:
            made["reuse"] |= {"reservoir": f"{people * 0.1} m3/day", "into": dams[0]}
    if rng.random() < 0.15:  # a town that uses next to nothing, or nothing
        little = _one_of(rng, "0 m3/person/day", "1e-12 m3/person/day")
        made |= {"homes": {"use_per_person": little}, "yards": {"area_per_person": "0 m2"}}
        if rng.random() < 0.5:
            made["workplaces"] = {"use_per_person": little}
    return made


def _extreme_value(rng: np.random.Generator, scenario: Scenario) -> tuple[str, object]:
    """A key with the name of a place of the scenario, and a value at or near its ends."""
    while True:
        note = _KEYS[int(rng.integers(len(_KEYS)))]
        words = note.key.split(".")
        names = list(getattr(scenario, words[0])) if words[0] in _HOLDING else [""]
        if not names:
            continue
        key = note.key.replace(NAME, str(_one_of(rng, *names)))
        if choices := re.findall(r'"(\w+)"', note.takes):
            return key, _one_of(rng, *choices)
        bound = bound_of(words, find(words).dimension)
        if bound is None:
            continue
        return key, _written(_near_an_end(rng, bound), note.held)


def _near_an_end(rng: np.random.Generator, bound: object) -> float | int:
    low, high = bound.low, bound.high
    if isinstance(high, int):
        return int(_one_of(rng, low, high, min(high, 10), min(high, 100)))
    tiny = max(abs(low), 1.0) * _one_of(rng, 1e-15, 1e-12, 1e-9, 1e-6, 1e-3)
    least = low + tiny if low else tiny
    between = (
        10 ** rng.uniform(np.log10(least), np.log10(high)) if least > 0 else rng.uniform(low, high)
    )
    return float(
        _one_of(
            rng, least if bound.above else low, least, high, high * (1 - 1e-12), between, between
        )
    )


def _written(value: float | int, held: str) -> object:
    return value if held in ("", "0 to 1", "people") else f"{value!r} {held}"


_MOST_MEASURED = 400
"""Stores of a record that the long form still measures."""


def faults_of(scenario: Scenario, *, most_stores: int = 10**9) -> list[str]:
    """What does not hold of a scenario that passed `check`; empty if all is well.

    Measures and the report are not asked of a record with more stores than that.
    """
    found: list[str] = []

    def holds(name: str, act, *given):
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", RuntimeWarning)
                return act(*given)
        except Exception as error:  # whatever it is, it is counted and the others are tried
            where = traceback.extract_tb(error.__traceback__)[-1]
            place = f"{Path(where.filename).name}:{where.lineno}"
            found.append(f"{name}: {type(error).__name__} {str(error)[:160]} ({place})")
            return None

    record = holds("simulate", simulate, scenario)
    if record is None:
        return found
    holds("closes", assert_closes, record, 1e-12)
    holds("labels", _assert_labels, record)
    if record.sizes["store"] > most_stores:
        return found
    table = holds("measures", measures, record, scenario)
    if table is not None:
        holds("finite or none", _assert_finite_or_nan, table)
        holds("text", _assert_text, Result(scenario, record, table))
    return found


def _assert_labels(record) -> None:
    warm_up = str(record.attrs.get("warm_up", "repeat"))
    uses = count_uses(record, "home_use", most=5, warm_up=warm_up)
    assert all(np.isfinite(uses[name].values).all() for name in ("share", "unknown"))
    assert not np.isinf(uses["mean_uses"].values).any()
    assert np.isfinite(uses.attrs["warm_up_change"])
    assert_conserves(record, uses, "home_use")


def _assert_finite_or_nan(table) -> None:
    for name, values in table.data_vars.items():
        if values.dtype.kind == "f":
            assert not np.isinf(values.values).any(), f"{name} is without end"
            if "share" in str(name) and values.attrs.get("units") == "1":
                known = values.values[np.isfinite(values.values)]
                assert (known >= 0).all(), f"{name} is negative"
                assert (known <= 1 + 1e-9).all(), f"{name} is more than all"


def _assert_text(result: Result) -> None:
    document = run_document(result, as_it_is(result.scenario))
    words = re.findall(r"[a-z]+", "\n".join(as_text(document, full=True)).lower())
    assert not {"nan", "inf", "nat"} & set(words), "a number that is none is printed"
    as_json(document)


def main(first: int, last: int, every: int) -> None:
    """Try all seeds from `first` to before `last`, measure some, and tell what was found."""
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, last):
            scenario = extreme_scenario(seed, Path(folder))
            faults = faults_of(scenario, most_stores=0 if seed % every else _MOST_MEASURED)
            found["held" if not faults else "fell"] += 1
            found.update({fault.split(":")[0] for fault in faults})
            for fault in faults:
                print(f"{seed}: {fault}", flush=True)
            if seed % 100 == 99:
                print(f"-- {seed + 1 - first} tried: {dict(found)}", flush=True)
    print(dict(found))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), int((*sys.argv, 1)[3]))
