"""The report of a run: whole, self-contained, its pictures drawn, its inputs with their sources."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from fnmatch import fnmatchcase

import numpy as np
import pytest
import textstat
from cli.commands import call, told
from PIL import Image
from pypdf import PdfReader

import hydroloop as hl
from hydroloop.charts.saving import drawn_as
from hydroloop.outputs.document import Picture
from hydroloop.outputs.document.as_pdf import _typeset
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.blocks import every
from hydroloop.outputs.report.report import report_document
from hydroloop.outputs.run.result import result_of
from hydroloop.outputs.scenario.inputs import inputs
from hydroloop.outputs.whatif.changed import changed_run
from hydroloop.scenario.bundled import bundled_scenarios
from hydroloop.whatif import compare


@pytest.fixture(scope="module")
def first():
    return hl.read_scenario("first_town")


@pytest.fixture(scope="module")
def report(first):
    """The report of a run in which a town grew."""
    grown = first.changed({"town.larkmill.people": 30000})
    result = result_of(grown, hl.simulate(grown), "metric")
    return report_document(
        result, "penhollow", changed_run(first, grown, None, "metric"), compare(first, grown)
    )


def test_all_pictures_of_a_report_are_drawn(report):
    """What the changes did, then glass, loop, map, season, parcel, stays and plants."""
    drawn = [one for one in every(report.blocks) if isinstance(one, Picture)]
    names = [one.name.removeprefix("penhollow_") for one in drawn]
    assert names[0] == "compare-season_used_share"
    assert [name for name in names if not name.startswith("compare-")] == [
        "glass",
        "loop",
        "map",
        "season",
        "parcel",
        "stays",
        "capacity",
    ]
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
            for place, (key, tail) in enumerate(
                zip(table.columns[0].values, table.columns[0].words, strict=True)
            ):
                head = table.groups.get(place, head)
                assert key == f"{head}.{tail}"


@pytest.fixture(scope="module", params=bundled_scenarios())
def bundled(request):
    """The report of a bundled scenario as it is."""
    scenario = hl.read_scenario(request.param)
    result = result_of(scenario, hl.simulate(scenario), "us")
    return scenario, report_document(
        result, result.most_used_town, changed_run(scenario, scenario, None, "us")
    )


def test_a_report_begins_with_plain_words_and_keeps_keys_for_the_inputs(bundled):
    """The opening is of reading grade 8 at most; no key stands before the inputs."""
    scenario, document = bundled
    short = document.blocks[0]
    assert short.title == "In short"
    assert textstat.flesch_kincaid_grade("\n".join(one.words for one in short.blocks)) <= 8.0
    lines = as_text(replace(document, cautions=()), full=True)
    before = lines[: lines.index("The inputs")]
    key = re.compile(rf"\b(?:season|weather|{'|'.join(scenario.data)})\.[a-z_]+\b")
    assert not [line for line in before if key.search(line)]


def empty_band(image, foot):
    """The largest band without ink of a picture, above its foot, as a share of its height."""
    grey = np.asarray(Image.open(io.BytesIO(image)).convert("L"))
    end = int(len(grey) * (1 - foot))
    inked = np.flatnonzero((grey[:end] < 240).any(axis=1))
    return np.diff([*inked, end]).max() / len(grey)


def test_a_report_of_a_change_names_keys_behind_its_numbers_alone(report):
    """What was changed is told in words at the head; its keys stand with the tables."""
    lines = as_text(replace(report, cautions=()), full=True)
    words = "\n".join(lines[: lines.index("What the changes did, in numbers")])
    assert "Changed: " in words
    assert "What the changes did, and why" in words
    assert not re.search(r"\b(?:river|town)\.[a-z_]+\.", words)


def test_a_town_whose_water_was_never_used_is_not_told_how_that_comes(first):
    """The opening of a report on the first town says that none had been used, and no more."""
    result = result_of(first, hl.simulate(first), "us")
    (short,) = [
        one
        for one in report_document(result, "larkmill", changed_run(first, first, None, "us")).blocks
        if getattr(one, "title", "") == "In short"
    ]
    said = " ".join(one.words for one in short.blocks)
    assert "In Larkmill none had" in said
    assert "This is how it goes" not in said


def test_no_page_of_a_report_is_half_empty(bundled):
    """The largest empty band of each page but the last is less than two fifths of it; of the map
    and of where a parcel went, drawn as high as what they show, less than a quarter."""
    _, document = bundled
    pages = _typeset(document, "letter", "png", ppi=20)
    assert max(empty_band(page, foot=20 / 279.4) for page in pages[:-1]) < 0.4
    for one in every(document.blocks):
        if isinstance(one, Picture) and (one.name == "map" or one.name.endswith("parcel")):
            figure = document.drawn(one)
            assert empty_band(drawn_as(figure, "png"), foot=0.0) < 0.25, one.name


def test_inputs_tell_nothing_that_a_place_does_without(bundled):
    """What only goes with another key that is not there is not told as worked out."""
    scenario, _ = bundled
    assert not [one.key for one in inputs(scenario) if one.value.startswith("needed")]


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
    text = " ".join(
        " ".join(
            sheet.extract_text() for sheet in PdfReader("first_town-report/report.pdf").pages
        ).split()
    )
    for said in ("Larkmill", "The account", "The inputs", "Cautions", "Capacity against demand"):
        assert said in text
    assert call("report", "first_town").exit_code == 2
    assert told("report", "first_town", "--out", "other")["command"] == "report"
