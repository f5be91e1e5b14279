"""Reference pages written from the program: a page can then never say what the program does not."""

from __future__ import annotations

from pathlib import Path

from writing import (
    climates,
    commands,
    corrected,
    glossary,
    plans,
    python,
    results,
    scenario,
    sciences,
    validation,
)


def write_pages(docs: Path) -> list[Path]:
    """Write every page that comes from the program.

    Parameters
    ----------
    docs : Path
        The folder of the documentation.

    Returns
    -------
    list of Path
        The pages; one that has not changed is left alone, so that builds stay quick.
    """
    pages = {
        "reference/scenario.md": scenario.page(),
        "reference/glossary.md": glossary.page(),
        "reference/plan.md": plans.page(),
        "reference/commands.md": commands.page(),
        "reference/results.md": results.page(),
        "reference/python.md": python.page(),
        "reference/climates.md": climates.page(),
        "explanation/corrected.md": corrected.page(),
        **sciences.pages(),
        "validation.md": validation.page(docs.parent / "tests" / "published"),
    }
    written = []
    for name, text in pages.items():
        path = docs / name
        path.parent.mkdir(exist_ok=True)
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
        written.append(path)
    return written
