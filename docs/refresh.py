"""Refresh what the README and the docs show: outputs of commands, and pictures of a run.

    python docs/refresh.py

Runs every command of every console block and writes what it prints under it; what is shown
shortened (with ``...``) stays as it is. Then draws the pictures anew. The house tests fail when
what is shown and what is printed differ, so run this when they say so, and read what has changed.
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
PICTURES: dict[str, str] = {}


def refreshed(text: str, folder: Path) -> str:
    """A page with the outputs of its commands as they are printed today."""

    def block(found: re.Match[str]) -> str:
        body = found.group(2)
        for shown in shown_in(body):
            done = run(shown.command, folder)
            printed = (done.stdout + done.stderr).strip()
            if shown.output and not agrees(printed, shown.output) and "..." not in shown.output:
                body = body.replace(shown.output, printed, 1)
            elif not shown.output and printed:
                body = re.sub(rf"^\$ {re.escape(shown.command)}$",
                              lambda m, p=printed: f"{m.group(0)}\n{p}", body, count=1,
                              flags=re.MULTILINE)
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
