"""Commands shown in the docs: read from `console` blocks, run, compared with what they print."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

from click.testing import CliRunner

from hydroloop.cli.main import main


class Shown(NamedTuple):
    """One command of a console block, and what the block prints under it."""

    command: str
    output: str


def shown_in(block: str) -> list[Shown]:
    """Commands of a block: lines that begin with ``$``, each with the lines below it."""
    found: list[Shown] = []
    for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
        command, _, output = part.partition("\n")
        while command.endswith("\\"):
            more, _, output = output.partition("\n")
            command = command[:-1].rstrip() + " " + more.removeprefix("> ").strip()
        found.append(Shown(command.strip(), output.rstrip()))
    return found


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a shown command in a folder, with this environment's programs first on the path."""
    words = shlex.split(command)
    here = Path(sys.executable).parent
    if (here / words[0]).exists():
        words[0] = str(here / words[0])
    settings = {
        **os.environ,
        "PATH": f"{here}{os.pathsep}{os.environ['PATH']}",
        "COLUMNS": "100",
        "NO_COLOR": "1",
        "PYTHONIOENCODING": "utf-8",
    }
    return subprocess.run(
        words, cwd=folder, env=settings, capture_output=True, text=True, timeout=300, check=False
    )


def call(command: str) -> subprocess.CompletedProcess[str]:
    """Run a shown command of hydroloop inside this process, in the folder where it is; errors that
    are nobody's fault surface."""
    program, *words = shlex.split(command)
    assert program == "hydroloop", command
    settings = {"COLUMNS": "100", "NO_COLOR": "1"}
    done = CliRunner().invoke(main, words, prog_name=program, env=settings)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return subprocess.CompletedProcess(words, done.exit_code, done.stdout, done.stderr)


def agrees(printed: str, shown: str) -> bool:
    """Whether output is what is shown; ``...`` stands for anything, also for many lines."""
    pattern = ".*".join(re.escape(part) for part in _even(shown).split("..."))
    return re.fullmatch(pattern, _even(printed), flags=re.DOTALL) is not None


def _even(text: str) -> str:
    return "\n".join(line.rstrip() for line in text.strip().splitlines())
