"""A headless browser for the tests of the page: Debian's, or the one that playwright brought."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

NEEDED = "HYDROLOOP_BROWSER"
"""Set this, and a missing browser fails the tests instead of passing them over."""


@contextmanager
def browser() -> Iterator[Any]:
    """A headless Chromium; the test is passed over where there is none and none is needed."""
    sync = pytest.importorskip("playwright.sync_api")
    with sync.sync_playwright() as play:
        found = (
            shutil.which("chromium")
            or shutil.which("google-chrome")
            or (play.chromium.executable_path)
        )
        if not Path(found).exists():
            assert not os.environ.get(NEEDED), "no browser is there, and one is needed"
            pytest.skip("no Chromium on this machine: apt-get install chromium")
        made = play.chromium.launch(executable_path=found, args=["--no-sandbox"])
        try:
            yield made
        finally:
            made.close()


def words_at(spot: Any) -> str:
    """What stands there, with plain spaces."""
    return str(spot.inner_text()).replace("\u00a0", " ")


def all_words(spots: Any) -> list[str]:
    """What stands in each, with plain spaces, also in pictures."""
    return [
        str(one).replace("\u00a0", " ")
        for one in spots.evaluate_all("all => all.map((one) => one.innerText ?? one.textContent)")
    ]


def settle(page: Any) -> None:
    """Wait until what was asked for is shown."""
    page.wait_for_selector("main[aria-busy='false']", timeout=60_000)


SIZES = {"desktop": (1280, 900), "tablet": (768, 1024), "phone": (360, 780)}
"""Width and height of a screen."""


def breaches(axe: Any, page: Any) -> list[Any]:
    """Rules of accessible pages that are broken, and where."""
    return [
        (one["id"], [node["html"][:90] for node in one["nodes"][:3]])
        for one in axe.run(page).response["violations"]
    ]


def watched(page: Any) -> list[str]:
    """What goes wrong on a page while it is used: errors, and all that the network is asked for."""
    seen: list[str] = []
    page.on("pageerror", lambda error: seen.append(f"error: {error}"))
    page.on(
        "console",
        lambda said: (
            seen.append(f"console: {said.text}") if said.type in ("error", "warning") else None
        ),
    )
    page.on(
        "request",
        lambda asked: (
            seen.append(f"asked: {asked.url}")
            if not asked.url.startswith(("file:", "blob:", "data:", "http://127.0.0.1:"))
            else None
        ),
    )
    return seen
