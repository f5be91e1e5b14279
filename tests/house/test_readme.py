"""The README: two commands that a newcomer copies, links that lead somewhere, the cautions."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from house.source_tree import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "CHANGELOG.md",
    *sorted(path for path in (ROOT / "docs").rglob("*.md") if "_build" not in path.parts),
]
WRITTEN = {
    "scenario.md",
    "plan.md",
    "glossary.md",
    "commands.md",
    "python.md",
    "climates.md",
    "validation.md",
    "weather.md",
    "plants.md",
}


def commands() -> list[str]:
    """Lines of the README's blocks of shell commands."""
    return [
        line
        for block in re.findall(r"^```sh\n(.*?)^```", README, re.DOTALL | re.MULTILINE)
        for line in block.splitlines()
    ]


def test_two_commands():
    """One command runs the main job and one runs the tests, each from a bare Python."""
    run, test = commands()
    assert run.startswith("python3 -m venv .venv && ")
    assert run.endswith("hydroloop run five_towns")
    assert test.startswith("python3 -m venv .venv && ")
    assert re.search(r"\.venv/bin/pytest( -n auto)?$", test)


def test_windows_has_its_lines():
    """Beside each command stands the same for PowerShell: its own folder of programs, its own
    separator, and nothing that PowerShell 5 does not know."""
    blocks = re.findall(r"^```powershell\n(.*?)^```", README, re.DOTALL | re.MULTILINE)
    lines = [line for block in blocks for line in block.splitlines()]
    assert len(lines) == len(commands())
    for line, unix in zip(lines, commands(), strict=True):
        assert "&&" not in line
        assert line == unix.replace(" && ", "; ").replace(".venv/bin/", ".venv\\Scripts\\").replace(
            "python3", "py"
        )


def test_the_shell_knows_the_environment_before_a_command_is_shown():
    """What the README shows as `hydroloop ...`, and what an answer offers next, runs as printed:
    the environment is activated first, in either shell."""
    before = README[: README.index("$ hydroloop ")]
    assert ". .venv/bin/activate" in before
    assert r".venv\Scripts\Activate.ps1" in before


def test_ci_runs_the_commands_of_the_readme():
    """CI takes its commands from the README, so that the two cannot drift apart."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "README.md" in script
    assert "pytest" not in re.sub(r"#.*", "", script).replace("'tests'", "")


def test_the_answer_is_shown():
    """What the first command prints stands in the README; the test of shown code compares it."""
    block = re.search(
        r"^```console\n\$ hydroloop run five_towns\n(.+?)^```", README, re.DOTALL | re.MULTILINE
    )
    assert block
    shown = block.group(1).strip().splitlines()
    assert len(shown) >= 8
    assert not [line for line in shown[:-1] if "..." in line]


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(page: Path):
    """Every relative link and picture of a page is there, or is written when the docs are built."""
    text = re.sub(r"^```.*?^```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL | re.M)
    lost = []
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if target.startswith(("http", "#", "mailto")):
            continue
        path = (page.parent / target.split("#")[0]).resolve()
        if not path.exists() and path.name not in WRITTEN:
            lost.append(target)
    assert not lost


def test_nothing_points_at_a_workplace():
    """Pages name no path of somebody's machine."""
    for page in PAGES:
        assert not re.search(r"/(work|tmp|home|root)/", page.read_text(encoding="utf-8")), page


def test_python_version_is_told():
    """The README asks for the Python that the package asks for."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    least = settings["project"]["requires-python"].removeprefix(">=")
    assert f"Python {least} or newer" in README


def test_cautions_and_licence():
    """The README says that it is a teaching model, and names its licence."""
    assert "teaching model" in README
    assert settings_licence() in README.replace(" ", "-")


def settings_licence() -> str:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return settings["project"]["license"]
