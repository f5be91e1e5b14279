"""Scenarios of one folder whose places have the same keys and other names, in one process."""

from __future__ import annotations

import json
import re
import threading

import pytest
from cli.test_the_server_is_safe import FIRST, Server

NAMES = {"hill": "St. Mary's on the Hill", "sea": "Løvens Ø & Sons", "plain": "Penhollow"}


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    for file, name in NAMES.items():
        named = "" if file == "plain" else f'name = "{name}"\n'
        text = FIRST.replace("[town.penhollow]\n", f"[town.penhollow]\n{named}", 1)
        (folder / f"{file}.toml").write_text(text, encoding="utf-8")
    made = Server(folder)
    with made.begun:
        yield made


def told(server, file, **question):
    """All that a page and a run say of places, as one text each."""
    status, page, _ = server.ask("GET", f"/scenarios/{file}")
    assert status == 200
    frame = json.loads(re.search(r'id="frame">(.*?)</script>', page.decode())[1])
    status, run = server.run(file, **question)
    assert status == 200
    lines = [line[1] for walk in run["towns"]["penhollow"]["walks"] for line in walk["lines"]]
    places = [place for place, *_ in run["account"]["rows"]]
    return json.dumps(frame, ensure_ascii=False), "\n".join([*lines, *places])


def right(file, frame, run):
    """The town is called by its own name everywhere, and by no other."""
    for name in NAMES.values():
        assert (f'"label": "{name}"' in frame) == (name == NAMES[file])
        assert (f"Reuse in {name}" in frame) == (name == NAMES[file])
        assert (name in run) == (name == NAMES[file])


def test_each_scenario_has_its_own_names_in_turns(server):
    """Asked one after the other, in any order, each says its own names."""
    for at, file in enumerate(("hill", "sea", "plain", "sea", "hill", "plain")):
        right(file, *told(server, file, dials={"people": at % 3}))


def test_each_scenario_has_its_own_names_at_once(server):
    """Asked at the same moment by many, each says its own names."""
    found = []
    asked = [
        threading.Thread(
            target=lambda file=file, at=at: found.append(
                (file, told(server, file, dials={"leaks": 1, "dryness": at}))
            )
        )
        for at in range(3)
        for file in NAMES
    ]
    for one in asked:
        one.start()
    for one in asked:
        one.join()
    assert len(found) == len(asked)
    for file, texts in found:
        right(file, *texts)
