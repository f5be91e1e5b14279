"""What is handed out, from Python: a report of a run, a lesson for a class, a team challenge."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from hydroloop.arguments import check_scenario
from hydroloop.errors import AskError, Problem
from hydroloop.judging import Board, grade, handed_in, read_brief
from hydroloop.judging.brief import NAME
from hydroloop.outputs.challenge.board import board_document, name_of
from hydroloop.outputs.challenge.writing import challenge_folder, write_board
from hydroloop.outputs.document.as_pdf import PAPERS, Paper
from hydroloop.outputs.document.writing import check_target
from hydroloop.outputs.lesson.facts import lesson_of
from hydroloop.outputs.lesson.writing import write_pack
from hydroloop.outputs.report.report import report_document
from hydroloop.outputs.report.writing import write_report
from hydroloop.outputs.run.place import town_of
from hydroloop.outputs.run.result import Result, result_of
from hydroloop.outputs.whatif.changed import changed_run
from hydroloop.scenario import Scenario
from hydroloop.scenario.nearest import offer
from hydroloop.units.printing import System
from hydroloop.waterworks import simulate
from hydroloop.whatif import compare


def report(
    scenario: Scenario,
    out: str | Path,
    town: str | None = None,
    *,
    before: Scenario | None = None,
    units: System = "us",
    paper: Paper | None = None,
    force: bool = False,
) -> Path:
    """A run told to a reader who was not there.

    Runs a scenario and writes the answer with its pictures, plants, account, inputs and cautions.
    It tells what the model says of the inputs that it lists, and no more.

    Parameters
    ----------
    scenario : Scenario
        Towns, as `read_scenario` gives them.
    out : str or Path
        New folder for report.html and report.pdf, or one file that ends in .html, .pdf or .txt.
    town : str, optional
        Town of the pictures; by default the one whose tap water was used most.
    before : Scenario, optional
        The same towns before something was changed: what that did, and why, is told too.
    units : str
        "us" or "metric".
    paper : str, optional
        "a4" or "letter"; by default letter with US units, else A4.
    force : bool
        Whether what hydroloop wrote there before may be replaced.

    Returns
    -------
    pathlib.Path
        What was written.

    Raises
    ------
    AskError
        There is no such town, paper or kind of units, or the ending is not one of these.
    OutputError
        Something is there that may not be replaced, or nothing can be written there.
    ScenarioError
        What is given is no scenario, but the name of one.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> hl.report(scenario, "penhollow.pdf", "penhollow", units="metric").name
    'penhollow.pdf'
    """
    check_scenario("report", scenario, *([] if before is None else [before]))
    _check(units, paper)
    name = town_of(list(scenario.town), town, scenario.names) if town else None
    there = check_target(str(out), force=force)
    result, first = _run(scenario, units), before or scenario
    document = report_document(
        result,
        name or result.most_used_town,
        changed_run(first, scenario, None, units),
        compare(before, scenario) if before else None,
    )
    write_report(document, str(out), paper, force=force, before=there)
    return Path(out)


def lesson(
    scenario: Scenario,
    out: str | Path,
    town: str | None = None,
    *,
    seed: int = 1,
    units: System = "us",
    paper: Paper | None = None,
    force: bool = False,
) -> Path:
    """A print pack for a class.

    Thirty drops with a card each, a tally, worksheets with their answers, pages for the teacher.
    All numbers come from a run of the scenario; thirty drops stray from the share of all the water,
    and the sheet says how far they may.

    Parameters
    ----------
    scenario : Scenario
        Towns, as `read_scenario` gives them.
    out : str or Path
        New folder for pack.pdf and the sheets, or one file that ends in .pdf, .html or .txt.
    town : str, optional
        Town that it is about; by default the one whose tap water was used most.
    seed : int
        The same seed draws the same drops.
    units : str
        "us" or "metric".
    paper : str, optional
        "a4" or "letter"; by default letter with US units, else A4.
    force : bool
        Whether what hydroloop wrote there before may be replaced.

    Returns
    -------
    pathlib.Path
        What was written.

    Raises
    ------
    AskError
        There is no such town, paper or kind of units, or the ending is not one of these.
    OutputError
        Something is there that may not be replaced, or nothing can be written there.
    ScenarioError
        What is given is no scenario, but the name of one.

    Examples
    --------
    >>> import hydroloop as hl
    >>> pack = hl.lesson(hl.read_scenario("first_town"), "class", "penhollow", seed=2)
    >>> sorted(path.name for path in pack.iterdir())
    ['pack.pdf', 'sheets', 'written_by_hydroloop.txt']
    """
    check_scenario("lesson", scenario)
    _check(units, paper)
    name = town_of(list(scenario.town), town, scenario.names) if town else None
    there = check_target(str(out), force=force)
    result = _run(scenario, units)
    chosen = name or result.most_used_town
    write_pack(
        lesson_of(result, chosen, seed=seed),
        changed_run(scenario, scenario, None, units, chosen),
        str(out),
        paper,
        force=force,
        before=there,
    )
    return Path(out)


def challenge(
    folder: str | Path,
    out: str | Path | None = None,
    *,
    units: System = "us",
    paper: Paper | None = None,
    workers: int = 1,
    force: bool = False,
) -> pd.DataFrame:
    """Plans of teams, graded against a brief.

    Each plan is checked, priced and run; one that cannot be graded never stops the others. A plan
    that does well here is an argument, not a design.

    Parameters
    ----------
    folder : str or Path
        Folder with brief.toml and a plan a file, or the name of a challenge that comes with
        hydroloop.
    out : str or Path, optional
        New folder for the board and the sheets for judging; without it nothing is written.
    units : str
        "us" or "metric": units of what is written.
    paper : str, optional
        "a4" or "letter"; by default letter with US units, else A4.
    workers : int
        Processes that run the plans.
    force : bool
        Whether what hydroloop wrote there before may be replaced.

    Returns
    -------
    pandas.DataFrame
        A row for each plan, best first, and one for the towns as they are: ``points`` [-],
        ``score``, the weight of the targets that are met [-], for each target its worst value
        (share [-], flow [m3/d], days [d] or year [a]) and whether it is met.
        ``attrs["not_graded"]`` has the reasons by file.

    Raises
    ------
    AskError
        There is no such paper or kind of units.
    InputError
        The folder or its brief cannot be read.
    OutputError
        Something is there that may not be replaced, or nothing can be written there.

    Examples
    --------
    >>> import hydroloop as hl
    >>> board = hl.challenge("dry_summer")
    >>> board.loc["Team Heron, attempt 2", ["points", "score"]].round(2).to_dict()
    {'points': 33.92, 'score': 0.6}
    """
    _check(units, paper)
    place = challenge_folder(str(folder))
    brief = read_brief(place / NAME)
    attempts, refused = handed_in(brief, place)
    there = None if out is None else check_target(str(out), force=force)
    board = grade(brief, attempts, refused, workers=workers)
    if out is not None:
        write_board(board, board_document(board, units), str(out), paper, force=force, before=there)
    return _rows(board)


def _rows(board: Board) -> pd.DataFrame:
    rows = [*board.graded, board.as_it_is]
    table = pd.DataFrame(
        {"points": [one.points for one in rows], "score": [one.score for one in rows]},
        index=pd.Index([name_of(one) for one in rows], name="plan"),
    )
    for name in board.brief.target:
        table[name] = [one.values[name] for one in rows]
        table[f"{name}_met"] = [one.met[name] for one in rows]
    table.attrs["not_graded"] = {
        one.file: [str(problem) for problem in one.problems] for one in board.refused
    }
    return table


def _run(scenario: Scenario, units: System) -> Result:
    return result_of(scenario, simulate(scenario), units)


def _check(units: str, paper: str | None) -> None:
    problems = [
        Problem(name, f'"{given}" is not one of the choices.', offer(str(given), choices))
        for name, given, choices in (
            ("units", units, ("us", "metric")),
            ("paper", paper, tuple(PAPERS)),
        )
        if given is not None and given not in choices
    ]
    if problems:
        raise AskError(problems)
