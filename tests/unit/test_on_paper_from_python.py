"""Reports, lessons and challenges from Python: what the commands write, and nothing overwritten."""

from __future__ import annotations

import pytest
from challenge_folders import MAINS, YARDS, plan, write
from cli.commands import call
from pypdf import PdfReader

import hydroloop as hl
from hydroloop.files.seal import unsealed


@pytest.fixture(scope="module")
def first():
    return hl.read_scenario("first_town")


def height_of(path):
    return float(PdfReader(path).pages[0].mediabox.height) / 72 * 25.4


def test_a_lesson_is_that_of_the_command(first, tmp_path, monkeypatch):
    """The pack from Python and the one of the command are the same, to the byte."""
    monkeypatch.chdir(tmp_path)
    hl.lesson(first, "ours", "penhollow", seed=4)
    done = call("lesson", "first_town", "penhollow", "--seed", "4", "--out", "theirs")
    assert done.exit_code == 0, done.output
    ours, theirs = (
        unsealed((tmp_path / name / "pack.pdf").read_bytes(), ".pdf") for name in ("ours", "theirs")
    )
    assert ours == theirs


def test_a_report_of_a_change_tells_what_it_did(first, tmp_path):
    """With the towns before, the report says what was changed and why the answer differs."""
    grown = first.changed({"town.larkmill.people": 30000})
    path = hl.report(grown, tmp_path / "grown.html", before=first)
    page = path.read_text(encoding="utf-8")
    assert "What the changes did, and why" in page
    assert "What the changes did" not in hl.report(first, tmp_path / "first.html").read_text(
        encoding="utf-8"
    )
    with pytest.raises(hl.OutputError, match="is there already"):
        hl.report(first, path)
    assert path.read_text(encoding="utf-8") == page


@pytest.mark.parametrize(("paper", "millimetres"), [("a4", 297.0), ("letter", 279.4)])
def test_the_paper_asked_for_is_that_of_one_file_too(first, tmp_path, paper, millimetres):
    """--paper and `paper` hold for a folder and for one file, whatever the units."""
    hl.lesson(first, tmp_path / "pack.pdf", paper=paper)
    assert height_of(tmp_path / "pack.pdf") == pytest.approx(millimetres, abs=0.1)
    out = str(tmp_path / "report.pdf")
    assert call("report", "first_town", "--paper", paper, "--out", out).exit_code == 0
    assert height_of(out) == pytest.approx(millimetres, abs=0.1)


def test_a_challenge_hands_back_its_board(tmp_path):
    """A row for each plan and one for the towns as they are; reasons of what was not graded."""
    folder = write(
        tmp_path / "class", heron_1=plan(MAINS), heron_2=plan(MAINS, YARDS), otter_1="[plan"
    )
    board = hl.challenge(folder, tmp_path / "board")
    assert sorted(board.index) == ["Herons, attempt 1", "Herons, attempt 2", "as it is"]
    assert board["points"].to_dict() == pytest.approx(
        {"Herons, attempt 1": 20.0, "Herons, attempt 2": 32.0, "as it is": 0.0}
    )
    assert list(board.attrs["not_graded"]) == ["otter-1.toml"]
    assert (tmp_path / "board" / "board.pdf").is_file()
    before = sorted(tmp_path.rglob("*"))
    hl.challenge(folder)
    assert sorted(tmp_path.rglob("*")) == before


def test_what_is_not_there_is_told_before_any_run(first, tmp_path):
    """Units and paper at once; a town; the ending of a file; nothing is written."""
    with pytest.raises(hl.InputError) as told:
        hl.report(first, tmp_path / "x.pdf", units="imperial", paper="a3")
    assert len(told.value.problems) == 2
    with pytest.raises(hl.InputError, match='Did you mean "penhollow"'):
        hl.lesson(first, tmp_path / "x", "penhallow")
    with pytest.raises(hl.InputError, match="ends as a file does that is not written here"):
        hl.report(first, tmp_path / "x.docx")
    with pytest.raises(hl.InputError, match="there is no such folder"):
        hl.challenge("dry_sumer")
    assert not list(tmp_path.iterdir())
