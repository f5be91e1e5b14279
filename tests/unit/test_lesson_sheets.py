"""The sheets of a lesson: numbers of the run, answers by another route, words to be read."""

from __future__ import annotations

import io
import math
import re

import numpy as np
import pandas as pd
import pytest
import textstat
from cli.commands import call
from pypdf import PdfReader
from scipy.special import comb

import hydroloop as hl
from hydroloop.outputs.document import Entries, Items, Paragraph
from hydroloop.outputs.document.as_pdf import as_pdf
from hydroloop.outputs.document.blocks import every
from hydroloop.outputs.lesson.facts import DROPS, exact_tally, lesson_of
from hydroloop.outputs.lesson.questions import questions
from hydroloop.outputs.lesson.tally import band
from hydroloop.outputs.lesson.writing import STUDENT, sheets_of
from hydroloop.outputs.run.place import begin_of
from hydroloop.outputs.run.result import result_of
from hydroloop.scenario.bundled import bundled_scenarios
from hydroloop.tracing import drops

GALLON = 3.785411784  # liters, by definition: 231 cubic inches of 2.54 cm


@pytest.fixture(scope="module", params=["us", "metric"])
def lesson(request):
    """A lesson on Penhollow, the second of two towns."""
    scenario = hl.read_scenario("first_town")
    return lesson_of(result_of(scenario, hl.simulate(scenario), request.param), "penhollow")


@pytest.fixture(scope="module")
def sheets(lesson):
    return sheets_of(lesson)


@pytest.fixture(scope="module", params=bundled_scenarios())
def packs(request):
    """Lessons on the most used town of a bundled scenario, in both kinds of units."""
    scenario = hl.read_scenario(request.param)
    record = hl.simulate(scenario)
    made = [result_of(scenario, record, system) for system in ("us", "metric")]
    return [lesson_of(one, one.most_used_town) for one in made]


def words_of(document):
    for one in every(document.blocks):
        if isinstance(one, Paragraph):
            yield one.words
        elif isinstance(one, Items):
            yield from one.items
        elif isinstance(one, Entries):
            yield from (f"{meaning}." for _, meaning in one.entries)


def test_students_can_read_their_sheets(packs):
    """Flesch-Kincaid grade 8 or less, each sheet by itself, of every bundled scenario.

    The counter is held to a printed case first: 11.3 for one sentence of 13 words (encyclopaedia
    entry on Flesch-Kincaid, second-hand).
    """
    sentence = ("The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.")
    assert textstat.flesch_kincaid_grade(sentence) == pytest.approx(11.3, abs=0.05)
    for lesson in packs:
        sheets = sheets_of(lesson)
        grades = {name: textstat.flesch_kincaid_grade("\n".join(words_of(sheets[name])))
                  for name in STUDENT}
        assert max(grades.values()) <= 8.0, grades


def by_record(lesson):
    """Answers from the water record by sums over its flows, unrounded; by the begin of what is
    asked."""
    record, us = lesson.result.record, lesson.result.system == "us"
    kind, place = record["kind"].values, lesson.town
    store_place = dict(zip(record["store"].values, record["place"].values, strict=True))
    rate = record["rate"].values

    def total(kinds, end):
        there = [k in kinds and store_place.get(str(name)) == place
                 for k, name in zip(kind, record[end].values, strict=True)]
        return rate[:, np.array(there)].sum(axis=1).mean()

    liters = total(["home_use"], "source") * 1000.0
    people = lesson.result.scenario.town[place].people
    each = liters / people / (GALLON if us else 1.0)
    taken, back = total(["intake"], "target"), total(["outfall"], "source")
    through = rate[:, record["source"].values == f"{place}/clearwell"].sum(axis=1).mean()
    at, day = begin_of(record, place, backward=True), lesson.day
    step = int(np.searchsorted(record["time"].values, day, side="right")) - 1
    today = rate[step]
    (cell,) = record["source"].values[(kind == "intake") & (
        record["target"].values == f"{place}/rapid_mix")]
    river = today[(record["source"].values == cell) & (kind != "evaporation")].sum()
    above = today[(kind == "outfall") & (record["source"].values != f"{place}/contact")].sum()
    who = hl.because(record, at=at, on=pd.Timestamp(day), by="town")
    used = 100.0 * float(who["share"].sum())
    return {"people live": each, "takes in": 100.0 * back / taken,
            "glass holds 250 milliliters. On": 2.5 * used, "Your class looks": 0.3 * used,
            "had a drop been": used / 100.0, "over river flow": 100.0 * above / river,
            "Counts of chance": math.sqrt(30.0 * used / 100.0 * (1.0 - used / 100.0)),
            "last tank": 24.0 * float(record["volume"].sel(store=f"{place}/clearwell").mean())
            / through,
            "gives back": back / 1000.0 * (1.0 if us else 1.0 / GALLON),
            "One gallon": each * (GALLON if us else 1.0 / GALLON)}


def test_the_answer_key_agrees_with_the_record(lesson):
    """Every answer comes to the same from the record's own flows, from who used the water last, or
    from many drops, within the rounding to three figures of two or three printed numbers."""
    expected = by_record(lesson)
    made = questions(lesson)
    assert len(made) == len(expected) + 1  # molecules are held to many drops
    for begins, value in expected.items():
        (one,) = [each for each in made if begins in each.words and (
            begins != "gives back" or "partner" in each.words) and (
            begins != "One gallon" or each.level == 1)]
        assert one.answer == pytest.approx(value, rel=0.012), one.words


def test_the_answer_key_agrees_with_its_printed_numbers(lesson):
    """Each answer again, from the numbers as they are printed in the question."""
    for one in questions(lesson):
        given = one.given
        if "people live" in one.words:
            again = given["flow"] * 1e6 / given["people"]
        elif "glass holds 250" in one.words:
            again = 2.5 * given["percent"]
        elif "Your class looks" in one.words:
            again = 0.3 * given["percent"]
        elif "takes in" in one.words:
            again = 100.0 / (given["taken"] / given["back"])
        elif "last tank" in one.words:
            again = given["held"] / (given["flow"] / 24.0)
        elif "had a drop been" in one.words:
            again = sum(int(name.split("_")[1]) * share for name, share in given.items()) / 100
        elif "over river flow" in one.words:
            again = given["back"] / (given["flow"] / 100.0)
        elif "molecules" in one.words:
            again = 249.5 / 18.0 * 6.02e21 * given["percent"]
        elif "usual spread" in one.words or "Counts of chance" in one.words:
            again = math.sqrt(30 * (given["share"] - given["share"] ** 2))
        else:
            asked = given.get("asked", given.get("back"))
            us = lesson.result.system == "us"
            again = asked * 3.785 if us else asked / 3.785
        assert one.answer == pytest.approx(again, rel=1e-9), one.words
        printed = f"{again:.2e}" if again >= 1e9 else f"{float(f'{again:.3g}'):,}"
        assert any(printed.split("e")[0].rstrip("0").rstrip(".") in step for step in one.steps
                   ), (printed, one.steps)


@pytest.mark.parametrize(("share", "low", "high", "cover"), [
    (0.20, 2, 11, 0.980), (0.29, 4, 14, 0.975), (0.50, 10, 20, 0.957), (0.64, 14, 24, 0.965)])
def test_thirty_drops_stray_by_the_binomial_law(share, low, high, cover):
    """Central 95 % of 30 draws, summed term by term: the band covers at least that."""
    assert band(30, share) == (low, high)
    inside = sum(comb(30, k) * share**k * (1 - share) ** (30 - k) for k in range(low, high + 1))
    assert inside == pytest.approx(cover, abs=5e-4)


def test_the_tally_agrees_with_many_drops(lesson):
    """20,000 drops of the glass come to the exact shares, and to the share that was in a home
    within 30 days, within five standard deviations."""
    record, count = lesson.result.record, 20_000
    at = begin_of(record, lesson.town, backward=True)
    tally = dict(exact_tally(record, at, lesson.day))
    assert sum(tally.values()) == pytest.approx(1.0, abs=1e-3)
    walks = drops(record, n=count, at=at, on=lesson.day, seed=3, backward=True)
    last = walks.groupby("drop").last()
    (molecules,) = [one for one in questions(lesson) if "molecules" in one.words]
    lately = walks[(walks["uses"] > 0) & (pd.Timestamp(lesson.day) - walks["date"]
                                          <= pd.Timedelta(days=30))]["drop"].nunique() / count
    assert abs(lately - molecules.given["percent"] / 100) <= 5 * math.sqrt(lately / count) + 5e-4
    stored = last["store"].isin(record["store"].values)
    for uses, words in enumerate(("never", "once", "twice")):
        share = tally[words]
        counted = ((last["uses"] == uses) & ~(stored & (uses == 0))).mean()
        assert abs(counted - share) <= 5 * math.sqrt(max(share, 1e-4) / count), words


def test_each_student_has_a_card_and_the_teacher_its_number(sheets, lesson):
    """Thirty cards, no answers on them; the teacher's page has all uses."""
    cards = "\n".join(words_of(sheets["3-drops"]))
    assert cards.count("My drop was") == DROPS == len(lesson.diaries)
    assert "(use" not in cards
    lines = {word: meaning for one in every(sheets["9-teacher"].blocks) if isinstance(one, Entries)
             for word, meaning in one.entries}
    told = {int(number): match[1] for word, numbers in lines.items()
            if (match := re.fullmatch(r"(.+) \(\d+ drops?\)", word)) and numbers != "none"
            for number in numbers.split(", ")}
    words = ("never", "once", "twice")
    stores = set(lesson.result.record["store"].values)
    assert told == {one.number: "not known" if one.end in stores and not one.uses
                    else words[one.uses] for one in lesson.diaries}


def test_sheets_fit_their_pages(packs):
    """Each sheet takes one page, but the cards and the teacher's."""
    for lesson, paper in zip(packs, ("letter", "a4"), strict=True):
        for name, sheet in sheets_of(lesson).items():
            if name not in ("3-drops", "9-teacher"):
                pages = PdfReader(io.BytesIO(as_pdf(sheet, paper))).pages
                assert len(pages) == 1, (name, paper)


def test_lesson_command_writes_a_pack_and_never_overwrites(tmp_path, monkeypatch):
    """The pack and its sheets; the same again is refused; one file where --out names one."""
    monkeypatch.chdir(tmp_path)
    done = call("lesson", "first_town", "--paper", "a4")
    assert done.exit_code == 0, done.output
    pages = PdfReader("first_town-lesson/pack.pdf").pages
    assert float(pages[0].mediabox.height) == pytest.approx(842, abs=1)
    assert len(list((tmp_path / "first_town-lesson" / "sheets").glob("*.html"))) == 9
    again = call("lesson", "first_town")
    assert again.exit_code == 2
    assert "is there already" in again.output
    assert call("lesson", "first_town", "--out", "pack.pdf").exit_code == 0
    assert (tmp_path / "pack.pdf").read_bytes().startswith(b"%PDF")
    nowhere = call("lesson", "first_town", "penhallow")
    assert nowhere.exit_code == 2
    assert 'Did you mean "penhollow"' in nowhere.output
