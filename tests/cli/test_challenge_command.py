"""``hydroloop challenge``: a class of plans, good and broken, graded and printed."""

from __future__ import annotations

import os
from dataclasses import replace
from functools import partial

import pytest
import xarray as xr
from challenge_folders import BRIEF, MAINS, YARDS, plan, write
from cli.commands import call, told
from pypdf import PdfReader

from hydroloop.judging import grade, handed_in, read_brief
from hydroloop.judging.grading import Board, Graded
from hydroloop.outputs.challenge.rubric import rubric_document
from hydroloop.outputs.document import Items, Section, TableBlock
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.whatif.compare_words import town_words
from hydroloop.whatif import compare

LEAST = 'measure = "repair_leaks"\ntown = "penhollow"\nto = "11 %"'
BROKEN = {
    "not_toml": "[plan",
    "no_steps": '[plan]\ntitle = "x"\n',
    "ten_thousand": plan(*[MAINS] * 10_000),
    "unknown_key": plan(MAINS).replace("why", "wyh"),
    "not_allowed": plan('set = { "river.wren.inflow" = "90 cfs" }'),
    "too_far": plan(MAINS.replace("7 %", "1 %")),
    "too_dear": plan(MAINS.replace('"larkmill"', '"*"').replace("7 %", "3 %"), YARDS),
    "no_town": plan(MAINS.replace("larkmill", "../../etc")),
    "wrong_unit": plan(MAINS.replace("7 %", "9 m3")),
    "twice": plan(MAINS, MAINS),
}
MARKUP = "<b>Otters</b> & *#panic()* ../../x"


@pytest.fixture
def folder(tmp_path):
    """Good plans of two teams, and ten files broken in ten ways."""
    made = write(
        tmp_path / "class",
        heron_1=plan(MAINS),
        heron_2=plan(MAINS, YARDS),
        otter_1=plan(LEAST, by=MARKUP),
        **BROKEN,
    )
    (made / "latin.toml").write_bytes("[plan]\ntitle = 'é'".encode("latin-1"))
    return made


@pytest.fixture
def board(folder):
    brief = read_brief(folder / "brief.toml")
    return grade(brief, *handed_in(brief, folder))


def test_bad_plans_never_stop_the_others(folder):
    """Ten broken files are told of, each with what to do; three plans are on the board."""
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = call("challenge", str(folder), "--full", "--workers", "1")
    assert done.exit_code == 0, done.output
    assert "3 plans of 2 teams graded, 11 files not." in " ".join(done.output.split())
    for name in BROKEN:
        assert f"{name.replace('_', '-')}.toml" in done.output
    made = folder / "board"
    assert {
        "board.html",
        "board.pdf",
        "board.txt",
        "judging.pdf",
        "judging.html",
        "tables",
        "pictures",
    } <= {path.name for path in made.iterdir()}
    assert before == {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    page = (made / "board.html").read_text()
    assert "&lt;b&gt;Otters&lt;/b&gt;" in page
    assert "<b>Otters" not in page
    sheets = PdfReader(made / "judging.pdf").pages
    assert len(sheets) >= 2
    assert any("*#panic()*" in sheet.extract_text() for sheet in sheets)
    again = call("challenge", str(folder), "--workers", "1")
    assert (folder / "board-2").is_dir()
    assert again.exit_code == 0
    refused = call("challenge", str(folder), "--out", str(made))
    assert refused.exit_code == 2
    assert "is there already" in refused.output


def test_the_board_agrees_with_single_runs(board):
    """A value on the board is that of the scenario with the plan, run by itself."""
    import hydroloop as hl

    for one in board.graded:
        record = hl.simulate(one.attempt.drought)
        table = hl.measures(record, one.attempt.drought)
        share = float(table["season_used_share"].sel(town="penhollow"))
        assert one.values["glass"] == pytest.approx(share, abs=1e-12)
        assert one.met["glass"] == (share <= 0.3)
    weights = {"glass": 3.0, "enough": 1.0, "river": 1.0}
    for one in board.graded:
        met = sum(weights[name] for name, is_met in one.met.items() if is_met)
        assert one.score == pytest.approx(met / 5.0)


def test_what_a_team_changed_is_split_as_compare_splits_it(board):
    """The parts of a redesign add up to what it did, and are those of a comparison of the two."""
    (one,) = board.redesigns
    assert one.changes == ("Water less yard (Larkmill): new, 10 m2",)
    parts = one.found.contributions["season_used_share"].sum("change")
    first, last = one.before.attempt.drought, one.after.attempt.drought
    other = compare(first, last).difference["season_used_share"]
    assert abs(parts - other).max() < 1e-12
    moved = one.after.values["glass"] - one.before.values["glass"]
    assert float(parts.sel(town="penhollow")) == pytest.approx(moved, abs=1e-12)


def test_best_trade_offs_are_those_that_nothing_beats(board):
    """By hand: (10, 40 %) and (30, 80 %) stay; (20, 40 %) costs more for the same, (40, 70 %)
    reaches less for more; as it is costs nothing."""
    made = partial(Graded, values={}, met={})
    plans = [(10.0, 0.4), (30.0, 0.8), (20.0, 0.4), (40.0, 0.7)]
    marks = [_Priced(None, score=score, **made.keywords, price=points) for points, score in plans]
    nothing = _Priced(None, score=0.1, **made.keywords, price=0.0)
    found = Board(board.brief, nothing, marks, [], []).front
    assert [(one.points, one.score) for one in found] == [(0.0, 0.1), (10.0, 0.4), (30.0, 0.8)]


class _Priced(Graded):
    """A plan with a price of the test's own."""

    def __init__(self, attempt, values, met, score, price):
        super().__init__(attempt, values, met, score)
        object.__setattr__(self, "price", price)

    @property
    def points(self):
        return self.price


def test_processes_change_nothing(folder):
    """Two processes give the same board as one."""
    brief = read_brief(folder / "brief.toml")
    found, _ = handed_in(brief, folder)
    many = grade(brief, found * 1, workers=2)
    one = grade(brief, found)
    assert [each.values for each in many.graded] == [each.values for each in one.graded]


def test_a_challenge_is_begun_in_a_new_folder(tmp_path, monkeypatch):
    """The bundled one is a beginning: task, brief and plans; what is there is never overwritten."""
    monkeypatch.chdir(tmp_path)
    done = call("challenge", "dry_summer", "--begin", "mine")
    assert done.exit_code == 0, done.output
    assert {"brief.toml", "task.pdf", "task.html", "heron-1.toml"} <= set(os.listdir("mine"))
    assert call("challenge", "dry_summer", "--begin", "mine").exit_code == 2
    read_brief(tmp_path / "mine" / "brief.toml")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("nowhere",), "there is no such folder"),
        ((".",), "has no brief.toml"),
        (("file.txt",), "is a file"),
    ],
)
def test_a_folder_that_is_no_challenge_is_refused(tmp_path, monkeypatch, words, says):
    """One line, exit code 2, nothing written."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file.txt").write_text("x")
    done = call("challenge", *words)
    assert done.exit_code == 2
    assert says in done.output
    assert os.listdir() == ["file.txt"]


def test_an_empty_folder_says_what_to_put_there(tmp_path):
    """A brief without plans: what their files are called."""
    done = call("challenge", str(write(tmp_path / "class")))
    assert done.exit_code == 2
    assert "heron-1.toml" in done.output


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_a_folder_without_rights_is_told_before_any_run(folder):
    """Where nothing can be written, nothing is run."""
    folder.chmod(0o500)
    try:
        done = call("challenge", str(folder))
    finally:
        folder.chmod(0o700)
    assert done.exit_code == 2
    assert "cannot be written" in done.output


def test_a_script_gets_values_and_units(folder):
    """--json: every plan with its values by stable keys."""
    found = told("challenge", str(folder), "--workers", "1")
    assert found["facts"]["graded"] == 3
    rows = found["tables"]["board"]
    assert {"plan", "points", "score", "glass", "glass_met"} <= set(rows[0])
    assert BRIEF.count("[target.") == sum(key.endswith("_met") for key in rows[0])


def test_a_class_of_thirty_of_which_ten_are_broken(tmp_path):
    """Twenty plans are graded, each of ten broken ones is told of, and nothing of theirs is
    changed."""
    good = {
        f"team{number}_1": plan(
            f'set = {{ "town.larkmill.yards.area_per_person" = "{11 + number} m2" }}'
        )
        for number in range(20)
    }
    made = write(tmp_path / "class", **good, **BROKEN)
    brief = read_brief(made / "brief.toml")
    attempts, refused = handed_in(brief, made)
    assert len(attempts) == 20
    assert len(refused) == len(BROKEN) == 10
    board = grade(brief, attempts, refused)
    assert len(board.graded) == 20
    told = {one.file: one.problems[0] for one in board.refused}
    assert set(told) == {f"{name.replace('_', '-')}.toml" for name in BROKEN}
    assert all(problem.cure for problem in told.values())
    assert len({problem.what for problem in told.values()}) >= 9


def test_a_class_without_a_good_plan_is_told_so(tmp_path):
    """No sentence is made of plans that are not there."""
    made = write(tmp_path / "class", a="[plan", b="[plan]\ntitle = 1")
    done = call("challenge", str(made), "--workers", "1")
    assert done.exit_code == 0, done.output
    assert "0 plans of 0 teams graded, 2 files not." in " ".join(done.output.split())
    assert "no plan met" not in done.output


def test_what_a_class_reads_last_and_first(tmp_path):
    """A name without hyphen is told of, doing nothing is no trade-off, the newest board is named;
    the task is written anew where it is asked for, and replaces nothing."""
    made = write(tmp_path / "class", otter2=plan(MAINS, by="Otters"))
    first = " ".join(call("challenge", str(made), "--workers", "1").output.split())
    assert "otter2.toml: no hyphen and number at the end of the name, so it counts as" in first
    assert "Doing nothing costs no points" in first
    assert "As it is," not in first
    assert "newest" not in first
    again = " ".join(call("challenge", str(made), "--workers", "1").output.split())
    assert "board-2/: board.pdf, judging.pdf" in again
    assert "It is the newest board; the one before is board." in again
    task = str(tmp_path / "task.pdf")
    assert call("challenge", str(made), "--task", task).exit_code == 0
    assert "Mend leaking mains" in PdfReader(task).pages[0].extract_text()
    assert call("challenge", str(made), "--task", task).exit_code == 2


def test_a_sheet_says_which_attempt_its_evidence_holds_for(board):
    """A trade-off of attempt 1 is not told of attempt 2, and not kept from the team either."""
    first, last = (one for one in board.graded if one.attempt.team == "heron")
    if first.attempt.number > last.attempt.number:
        first, last = last, first
    for score, says in ((0.1, "attempt 2 is not:"), (0.9, "attempt 2 is too")):
        marks = [
            _Priced(one.attempt, one.values, one.met, each, price)
            for one, each, price in ((first, 0.4, 5.0), (last, score, 20.0))
        ]
        nothing = _Priced(None, {}, {}, 0.0, 0.0)
        sheet = rubric_document(Board(board.brief, nothing, marks, [], []), "us")
        said = "\n".join(as_text(sheet, full=True))
        assert "attempt 1 was among the best trade-offs" in " ".join(said.split())
        assert says in " ".join(said.split())


def test_a_team_without_a_graded_plan_has_a_sheet_too(tmp_path):
    """Its files and what to mend stand there, with all that a person judges; a team with a graded
    plan has no second sheet."""
    made = write(
        tmp_path / "class", otter_1=plan(MAINS), otter_2="[plan", rat_1="[plan", rat_2="[[step"
    )
    brief = read_brief(made / "brief.toml")
    sheet = rubric_document(grade(brief, *handed_in(brief, made)), "us")
    sections = [one for one in sheet.blocks if isinstance(one, Section)]
    assert [one.title for one in sections[1:]] == ["Team of rat-1.toml and rat-2.toml"]
    told = next(one for one in sections[1].blocks if isinstance(one, Items)).items
    assert {one.partition(":")[0] for one in told} == {"rat-1.toml", "rat-2.toml"}
    tables = [
        next(one.table for one in each.blocks if isinstance(one, TableBlock)) for each in sections
    ]
    assert tables[0].columns[0].values == tables[1].columns[0].values


def test_a_small_difference_is_never_told_as_none(board):
    """Where the table of parts shows something, the sentence of the town does: in digits that
    differ, or as changes that cancel out."""
    (one,) = board.redesigns
    for (before, after), parts, says in (
        ((0.0074, 0.0090), (0.0029, -0.0013), "0.9 % of its tap water was used before, not 0.7 %"),
        ((0.0090, 0.0090), (0.0020, -0.0020), "changes: what they add and take away cancels out"),
        ((0.0090, 0.0090), (0.0, 0.0), "with and without the changes."),
    ):
        table = one.found.table.copy(deep=True)
        table["season_used_share"].loc[{"run": "before"}] = before
        table["season_used_share"].loc[{"run": "after"}] = after
        split = one.found.contributions.copy(deep=True)
        split = xr.concat([split, split], "change")
        for place, part in enumerate(parts):
            split["season_used_share"][{"change": place}] = part
        found = replace(one.found, table=table, contributions=split)
        assert says in town_words(found, "penhollow", "us")


def test_a_student_is_told_what_to_write(tmp_path):
    """Quantities stand in quotes, a nameless step has its number, only what the brief allows is
    offered, and the reader's own words for broken TOML are not passed on."""
    nameless = plan(MAINS.replace('"7 %"', '"7"'), YARDS.replace("10 m2", "90 m2"))
    made = write(
        tmp_path / "class",
        a_1=nameless.replace('what = "Step 0"', 'what = ""').replace('what = "Step 1"\n', ""),
        b_1=plan('measure = "plant"\ntown = "larkmill"'),
        c_1=plan(MAINS.replace('"7 %"', "7 %")),
    )
    _, refused = handed_in(read_brief(made / "brief.toml"), made)
    told = {one.file: "\n".join(map(str, one.problems)) for one in refused}
    assert '"7" is more than the whole, and has no percent sign. Write "7 %".' in told["a-1.toml"]
    assert 'Choose between to = "11 %" and to = "3 %".' in told["a-1.toml"]
    assert ": step 1: to:" in told["a-1.toml"]
    assert ": step 2: town.larkmill.yards.area_per_person:" in told["a-1.toml"]
    assert "repair_leaks" in told["b-1.toml"]
    assert "storage_tank" not in told["b-1.toml"]
    assert "Expected" not in told["c-1.toml"]
    assert "other mistakes can be seen only after that" in told["c-1.toml"]
