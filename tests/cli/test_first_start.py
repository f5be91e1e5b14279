"""The first start says that it compiles; later ones do not."""

from __future__ import annotations

from pathlib import Path

import pytest

from hydroloop.cli import progress
from hydroloop.cli.progress import Progress, announce_compiling

SAID = "Compiling for the first time"


def test_a_cold_cache_is_said(tmp_path, monkeypatch, capsys):
    """Where nothing has been compiled yet, stderr says so; stdout stays clean."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    announce_compiling()
    out, err = capsys.readouterr()
    assert not out
    assert err.startswith(SAID)


def test_a_warm_cache_is_silent(tmp_path, monkeypatch, capsys):
    """Where machine code is kept already, nothing is said."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    kept = tmp_path / "waterworks_abc"
    kept.mkdir()
    (kept / "season.run_season.nbi").write_bytes(b"")
    announce_compiling()
    assert capsys.readouterr() == ("", "")


def test_a_chosen_folder_that_cannot_be_written_is_passed_over(tmp_path, monkeypatch):
    """As the compiler does, the next folder counts where the chosen one cannot be written."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file" / "cache"))
    package = Path(progress.__file__).parents[1]
    assert progress._cache_folders() == [package / "waterworks" / "__pycache__"]


def test_steps_are_told_only_when_asked_for(capsys):
    """Without a terminal a step is silent; with verbose it is announced and timed on stderr."""
    with Progress().step("counting"):
        pass
    assert capsys.readouterr() == ("", "")
    with Progress(verbose=True).step("counting"):
        pass
    out, err = capsys.readouterr()
    assert not out
    assert err.splitlines() == ["counting ...", "counting: 0.00 s"]


def test_a_step_that_fails_still_ends(capsys):
    """An error in a step goes on, and no announcement comes after it."""
    with pytest.raises(ValueError, match="wrong"), Progress(verbose=True).step("counting"):
        raise ValueError("wrong")
    assert "counting" in capsys.readouterr().err
