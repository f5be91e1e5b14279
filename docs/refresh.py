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

# Command that draws, the picture in docs/pictures, and the file of its folder that it is. Those of
# what-ifs are drawn by the commands that the page of what-ifs shows.
PICTURES = {
    "hydroloop run five_towns": {"glass.svg": "osselby_glass.svg", "loop.svg": "osselby_loop.svg"},
    "hydroloop compare first_town --plan grow.toml": {"contributions.svg": "season_used_share.svg"},
    "hydroloop spread first_town --members 60 "
    "--set 'river.wren.inflow=12 cfs to 25 cfs' "
    "--set 'town.*.homes.use_per_person=45 gal/person/day to 70 gal/person/day'": {
        "bands.svg": "penhollow_bands.svg"
    },
    "hydroloop sweep first_town --over town.larkmill.people=20000,24000,30000,40000 "
    "--factors river.wren.inflow=1,0.8,0.6,0.4": {"heat_map.svg": "season_used_share.svg"},
}
_PLAN = re.compile(r"^```toml\n(\[plan\]\n.*?)^```$", flags=re.MULTILINE | re.DOTALL)


def cut_alike(printed: str, shown: str) -> str:
    """Output cut as it is shown: whole, or as many lines and then ``...``; else nothing."""
    lines = shown.splitlines()
    if lines and lines[-1] == "..." and "..." not in "\n".join(lines[:-1]):
        return "\n".join([*printed.splitlines()[: len(lines) - 1], "..."])
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
    """Draw the pictures that the README and the docs show."""
    plan = _PLAN.search((ROOT / "docs" / "howto" / "what-if.md").read_text(encoding="utf-8"))
    for command, wanted in PICTURES.items():
        with tempfile.TemporaryDirectory() as folder:
            if plan:
                (Path(folder) / "grow.toml").write_text(plan.group(1), encoding="utf-8")
            done = run(f"{command} --out drawn", Path(folder))
            if done.returncode:
                raise SystemExit(done.stderr)
            for name, source in wanted.items():
                shutil.copy(
                    Path(folder) / "drawn" / "pictures" / source, ROOT / "docs" / "pictures" / name
                )
                print(f"docs/pictures/{name}: drawn")


if __name__ == "__main__":
    main()
