"""The report of a run: whole, self-contained, its pictures drawn, its inputs with their sources."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase

import pytest
from cli.commands import call, told
from pypdf import PdfReader

import hydroloop as hl
from hydroloop.outputs.document import Picture
from hydroloop.outputs.document.blocks import every
from hydroloop.outputs.report.report import report_document
from hydroloop.outputs.run.result import result_of
from hydroloop.outputs.scenario.inputs import inputs
from hydroloop.outputs.whatif.changed import changed_run
from hydroloop.whatif import compare


@pytest.fixture(scope="module")
def first():
    return hl.read_scenario("first_town")


@pytest.fixture(scope="module")
def report(first):
    """The report of a run in which a town grew."""
    grown = first.changed({"town.larkmill.people": 30000})
    result = result_of(grown, hl.simulate(grown), "metric")
    return report_document(result, "penhollow", changed_run(first, grown, None, "metric"),
                           compare(first, grown))


def test_all_pictures_of_a_report_are_drawn(report):
    """What the changes did, then glass, loop, map, season, parcel, stays and plants."""
    drawn = [one for one in every(report.blocks) if isinstance(one, Picture)]
    names = [one.name.removeprefix("penhollow_") for one in drawn]
    assert names[0] == "compare-season_used_share"
    assert [name for name in names if not name.startswith("compare-")] == [
        "glass", "loop", "map", "season", "parcel", "stays", "capacity"]
    for one in drawn:
        assert report.drawn(one).caption


def test_all_inputs_are_told_with_their_sources(report, first):
    """Every key that is given stands there; every default does with its value and source, under
    its own key or, alike for most, under a star."""
    tables = {table.name: table for table in report.tables()}
    given = dict(zip(*(column.values for column in tables["given"].columns[:2]), strict=True))
    rest = list(zip(*(column.values for column in tables["defaults"].columns), strict=True))
    grown = first.changed({"town.larkmill.people": 30000})
    for one in inputs(grown, "metric"):
        if one.origin == "given":
            assert one.key in ("title", "about") or given[one.key] == one.value
        else:
            found = [row for row in rest if fnmatchcase(one.key, row[0])]
            own = min(found, key=lambda row: row[0].count("*"))
            assert own[1:] == (one.value, one.source), one.key
    assert len(rest) < len(inputs(grown, "metric")) * 0.6


def test_inputs_stand_under_the_part_of_the_town_that_they_are_of(report):
    """A heading over each group, and each once: its keys are the heading and what stands in the
    row."""
    for table in report.tables():
        if table.name in ("given", "defaults"):
            heads = list(table.groups.values())
            assert len(heads) == len(set(heads)) >= 5
            head = ""
            for place, (key, tail) in enumerate(zip(table.columns[0].values,
                                                    table.columns[0].words, strict=True)):
                head = table.groups.get(place, head)
                assert key == f"{head}.{tail}"


def test_stays_are_the_turnover_times_of_the_run(report, first):
    """From minutes to years on one scale; a river's reaches add up."""
    (stays,) = [one for one in every(report.blocks) if getattr(one, "name", "") == "stays"]
    figure = report.drawn(stays)
    scales = [axes for axes in figure.axes if axes.get_xscale() == "log"]
    assert len(scales) == 1
    low, high = scales[0].get_xlim()
    assert low <= 1 / 1440
    assert high >= 365


def test_report_command_writes_a_page_and_a_print(tmp_path, monkeypatch):
    """One page without outside files, and the same for print; the same again is refused."""
    monkeypatch.chdir(tmp_path)
    done = call("report", "first_town", "larkmill", "--paper", "a4")
    assert done.exit_code == 0, done.output
    page = (tmp_path / "first_town-report" / "report.html").read_text()
    assert not re.search(r'(src|href)="(?!#)', page)
    text = " ".join(" ".join(sheet.extract_text() for sheet in PdfReader(
        "first_town-report/report.pdf").pages).split())
    for said in ("Larkmill", "The account", "The inputs", "Cautions", "Capacity against demand"):
        assert said in text
    assert call("report", "first_town").exit_code == 2
    assert told("report", "first_town", "--out", "other")["command"] == "report"
