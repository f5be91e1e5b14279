"""A scenario as it was run, and the files it reads, beside what came of it."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path, PureWindowsPath

from hydroloop.scenario import Scenario


def write_scenario(scenario: Scenario, folder: Path, name: str = "scenario.toml") -> None:
    """Write a scenario with its changes, so that it can be run again, and the files it reads beside
    it under plain names, wherever they were."""
    folder.mkdir(exist_ok=True)
    there = {
        key: _copied(scenario.folder / file, folder)
        for key, file in sorted(_files_of(scenario).items())
    }
    inside = replace(scenario, source=replace(scenario.source, folder=folder))
    moved = {key: file for key, file in there.items() if file != _files_of(scenario)[key]}
    text = (inside.changed(moved) if moved else scenario).to_toml()
    (folder / name).write_text(text, encoding="utf-8")


def _files_of(scenario: Scenario) -> dict[str, str]:
    """Files that a scenario reads, by their keys."""
    named = {"weather.file": scenario.weather.file} if scenario.weather.file else {}
    return named | {
        f"river.{name}.inflow.file": river.inflow.file
        for name, river in scenario.river.items()
        if river.inflow is not None and not isinstance(river.inflow, float)
    }


def _copied(file: Path, folder: Path) -> str:
    """Copy a file under its own name, or the next that is free; wherever it lies, it stays in."""
    content = file.read_bytes()
    plain = Path(PureWindowsPath(file).name)  # which knows both kinds of slashes
    for number in itertools.count(1):
        target = folder / (plain if number == 1 else f"{plain.stem}_{number}{plain.suffix}")
        if not target.exists():
            target.write_bytes(content)
        if target.read_bytes() == content:
            break
    return target.name
