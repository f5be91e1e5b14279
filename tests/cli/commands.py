"""Running the command line in tests: inside the process, or as a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from hydroloop.cli.main import main
from hydroloop.outputs.page import every_setting


def call(*words: str, typed: str | None = None) -> Result:
    """Run a command inside the test's own process; errors that are nobody's fault surface."""
    result = CliRunner().invoke(main, list(words), input=typed)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def process(*words: str, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run a command as a user does."""
    return subprocess.run(
        [sys.executable, "-m", "hydroloop", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


def give_pages_two_dials(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the pages that are written inside this process have four runs: what is not of their
    number is of all."""
    every = every_setting.dials_of
    monkeypatch.setattr(
        every_setting,
        "dials_of",
        lambda scenario: [dial for dial in every(scenario) if dial.name in ("leaks", "fixtures")],
    )


def told(*words: str) -> dict[str, Any]:
    """What a command tells a script."""
    done = call(*words, "--json")
    assert done.exit_code == 0, done.output
    return dict(json.loads(done.stdout))


def row(document: dict[str, Any], table: str, **at: str) -> dict[str, Any]:
    """The one row of a table of a document in which columns have these values."""
    (found,) = [
        one
        for one in document["tables"][table]
        if all(one[key] == value for key, value in at.items())
    ]
    return dict(found)
