"""The command that writes the page: one file, whole or not at all, as other commands write."""

from __future__ import annotations

import json

from cli.commands import call, give_pages_two_dials, process
from small_scenarios import ONE_TOWN

SHORT = ("--set", "season.end=2031-04-03")


def test_one_file_is_written(tmp_path):
    """The page is one file under its usual name, with 3 x 2 x 3 x 2 x 2 x 2 runs; it is not written
    over unasked."""
    (tmp_path / "one.toml").write_text(ONE_TOWN, encoding="utf-8")
    words = ("page", "one.toml", "--set", "season.end=2031-05-03")
    done = process(*words, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    text = (tmp_path / "one.html").read_text(encoding="utf-8")
    assert "144 runs" in done.stdout
    assert text.startswith("<!DOCTYPE html>")
    assert len(text) < 5_000_000
    again = process(*words, folder=tmp_path)
    assert again.returncode == 2
    assert "--force" in again.stderr
    assert sorted(one.name for one in tmp_path.iterdir()) == ["one.html", "one.toml"]


def test_only_a_page_is_written(tmp_path):
    """A file of another kind is refused before anything is run."""
    done = process("page", "first_town", "--out", "page.pdf", folder=tmp_path)
    assert done.returncode == 2
    assert ".html" in done.stderr
    assert not list(tmp_path.iterdir())


def test_scripts_are_told_what_was_written(tmp_path, monkeypatch):
    """With --json one object tells the file, its size and how many runs stand in it."""
    monkeypatch.chdir(tmp_path)
    give_pages_two_dials(monkeypatch)
    done = call("page", "first_town", *SHORT, "--out", "a.html", "--json")
    assert done.exit_code == 0, done.stderr
    said = json.loads(done.stdout)
    told = said["facts"]
    assert "a.html" in json.dumps(said["written"])
    assert told["runs"] == 4
    assert told["bytes"] == (tmp_path / "a.html").stat().st_size
