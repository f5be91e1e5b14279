"""Refresh what the README and the docs show: outputs of commands, and pictures of a run.

    python docs/refresh.py

Runs every command of every console block and writes what it prints under it; what is shown
shortened, with ``...`` as its last line, is cut after as many lines. Then draws the pictures anew.
The house tests fail when what is shown and what is printed differ: run this then, and read what
has changed.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from house.shown_commands import agrees, run, shown_in  # noqa: E402

_BLOCK = re.compile(r"(^```console\n)(.*?)(^```$)", flags=re.MULTILINE | re.DOTALL)

# Picture in docs/pictures, and the file of a run's folder that it is.
PICTURES = {
    "glass.svg": "pictures/osselby_glass.svg",
    "loop.svg": "pictures/osselby_loop.svg",
}


def cut_alike(printed: str, shown: str) -> str:
    """Output cut as it is shown: whole, or as many lines and then ``...``; else nothing."""
    lines = shown.splitlines()
    if lines and lines[-1] == "..." and "..." not in "\n".join(lines[:-1]):
        return "\n".join([*printed.splitlines()[:len(lines) - 1], "..."])
    return "" if "..." in shown else printed


def refreshed(text: str, folder: Path) -> str:
    """A page with the outputs of its commands as they are printed today."""

    def block(found: re.Match[str]) -> str:
        body = found.group(2)
        for shown in shown_in(body):
            done = run(shown.command, folder)
            fresh = cut_alike((done.stdout + done.stderr).strip(), shown.output)
            if not shown.output and fresh:
                line = re.compile(rf"^\$ {re.escape(shown.command)}$", flags=re.MULTILINE)
                body = line.sub(lambda found, fresh=fresh: f"{found.group(0)}\n{fresh}", body, 1)
            elif fresh and not agrees(done.stdout + done.stderr, shown.output):
                body = body.replace(shown.output, fresh, 1)
        return found.group(1) + body + found.group(3)

    return _BLOCK.sub(block, text)


def main() -> None:
    """Refresh pages, then pictures."""
    pages = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
    for page in pages:
        text = page.read_text(encoding="utf-8")
        if "_build" in page.parts or "```console" not in text:
            continue
        with tempfile.TemporaryDirectory() as folder:
            for name in ("tests", "scenarios", "docs"):
                (Path(folder) / name).symlink_to(ROOT / name)
            fresh = refreshed(text, Path(folder))
        if fresh != text:
            page.write_text(fresh, encoding="utf-8")
            print(f"{page.relative_to(ROOT)}: outputs refreshed")
    draw_pictures()


def draw_pictures() -> None:
    """Draw the pictures that the README and the docs show, from a run of the five towns."""
    with tempfile.TemporaryDirectory() as folder:
        done = run("hydroloop run five_towns --out five_towns", Path(folder))
        if done.returncode:
            raise SystemExit(done.stderr)
        for name, source in PICTURES.items():
            shutil.copy(Path(folder) / "five_towns" / source, ROOT / "docs" / "pictures" / name)
            print(f"docs/pictures/{name}: drawn")


if __name__ == "__main__":
    main()
