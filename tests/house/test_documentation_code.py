"""Code and commands shown in the README and the docs run, and print what stands under them."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest
from house.shown_commands import agrees, call, shown_in
from house.source_tree import ROOT
from sybil import Sybil
from sybil.example import Example
from sybil.parsers.markdown import CodeBlockParser, PythonCodeBlockParser

WRITTEN = {"scenario.md", "glossary.md", "commands.md", "python.md", "climates.md", "validation.md"}
PAGES = [
    path
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md")))
    if path.name not in WRITTEN and "_build" not in path.parts and path.exists()
]


def short(path: Path) -> str:
    return str(path.relative_to(ROOT))


def run_block(example: Example) -> str | None:
    """Run the commands of a console block; the first that differs is told."""
    for shown in shown_in(example.parsed):
        done = call(shown.command)
        printed = done.stdout + done.stderr
        if done.returncode not in (0, 2):
            return f"$ {shown.command}\nends with {done.returncode}:\n{printed}"
        if not agrees(printed, shown.output):
            return f"$ {shown.command}\nis shown to print:\n{shown.output}\nbut prints:\n{printed}"
    return None


PARSERS = (
    PythonCodeBlockParser(doctest_optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE),
    CodeBlockParser("console", run_block),
)


@pytest.mark.parametrize("path", PAGES, ids=short)
def test_code_runs(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Every block of Python and every command of a page runs in order and prints what is shown."""
    for name in ("tests", "scenarios", "docs"):
        (tmp_path / name).symlink_to(ROOT / name)
    monkeypatch.chdir(tmp_path)
    document = Sybil(parsers=PARSERS, encoding="utf-8").parse(path)
    for example in document.examples():
        example.evaluate()


def test_there_is_code_to_run():
    """The README and at least ten pages show code: the test above is not empty."""
    shown = [
        path
        for path in PAGES
        if "```python" in path.read_text(encoding="utf-8")
        or "```console" in path.read_text(encoding="utf-8")
    ]
    assert ROOT / "README.md" in shown
    assert len(shown) >= 10


def test_wrong_output_is_seen():
    """A shown output that differs, or a command that is missing, is told."""
    assert agrees("a\nb\n", "a\n...")
    assert not agrees("a\nb\n", "a\nc")
    assert shown_in("$ one --two\nout\n\n$ three\n") == [("one --two", "out"), ("three", "")]


@pytest.mark.parametrize("path", PAGES, ids=short)
def test_every_block_is_of_a_known_kind(path: Path):
    """Blocks of code name their language, so that none escapes the test by having none."""
    known = {"python", "console", "sh", "powershell", "text", "toml", "csv"}
    opens = False
    for line in path.read_text(encoding="utf-8").splitlines():
        mark = line.strip()
        if not mark.startswith("```"):
            continue
        opens = not opens
        if opens:
            language = mark[3:].strip()
            assert language in known or language.startswith("{"), f"{short(path)}: {line!r}"
