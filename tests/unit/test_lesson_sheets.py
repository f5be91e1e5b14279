"""The sheets of a lesson: numbers of the run, answers by another route, words to be read."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import textstat
from cli.commands import call
from pypdf import PdfReader
from scipy.special import comb

import hydroloop as hl
from hydroloop.charts.words import percent
from hydroloop.outputs.document import Entries, Items, Paragraph, Section, TableBlock
from hydroloop.outputs.document.as_pdf import as_pdf
from hydroloop.outputs.document.blocks import every
from hydroloop.outputs.lesson.facts import DROPS, exact_tally, lesson_of, power_words
from hydroloop.outputs.lesson.questions import questions
from hydroloop.outputs.lesson.tally import band, journeys
from hydroloop.outputs.lesson.writing import STUDENT, sheets_of
from hydroloop.outputs.run.diary import diaries
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
    sentence = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
    assert textstat.flesch_kincaid_grade(sentence) == pytest.approx(11.3, abs=0.05)
    for lesson in packs:
        sheets = sheets_of(lesson)
        grades = {
            name: textstat.flesch_kincaid_grade("\n".join(words_of(sheets[name])))
            for name in STUDENT
        }
        assert max(grades.values()) <= 8.0, grades


ABOVE = {
    "penhollow": ["larkmill"],
    "ottermarsh": ["velderby"],
    "marlbeck": ["galderwick"],
    "osselby": ["quillford", "larkmill", "brackenhythe", "tamberly"],
}
"""Towns whose outfall lies upstream of a town's intake, read off the scenario files."""


def by_record(lesson):
    """Answers from the water record by sums over its flows, unrounded; by the begin of what is
    asked; the used share is rounded as a run tells it, before anything is worked out from it."""
    record, us = lesson.result.record, lesson.result.system == "us"
    kind, place = record["kind"].values, lesson.town
    store_place = dict(zip(record["store"].values, record["place"].values, strict=True))
    rate = record["rate"].values

    def total(kinds, end):
        there = [
            k in kinds and store_place.get(str(name)) == place
            for k, name in zip(kind, record[end].values, strict=True)
        ]
        return rate[:, np.array(there)].sum(axis=1).mean()

    liters = total(["home_use"], "source") * 1000.0
    people = lesson.result.scenario.town[place].people
    each = liters / people / (GALLON if us else 1.0)
    taken, back = total(["intake"], "target"), total(["outfall"], "source")
    through = rate[:, record["source"].values == f"{place}/clearwell"].sum(axis=1).mean()
    at, day = begin_of(record, place, backward=True), lesson.day
    (cell,) = {
        str(name)
        for name in record["source"].values[
            (kind == "intake") & (record["target"].values == f"{place}/rapid_mix")
        ]
    }
    river = rate[:, (record["source"].values == cell) & (kind != "evaporation")].sum(axis=1).mean()
    table, towns = lesson.result.table, lesson.result.scenario.town
    above = sum(
        float((table["effluent"] + table["overflowed"]).sel(town=name).mean())
        for name in towns
        if name in ABOVE[place]
    )
    who = hl.because(record, at=at, on=pd.Timestamp(day), by="town")
    used = float(percent(float(who["share"].sum())).removesuffix(" %"))  # as a run prints it
    return {
        "people live": each,
        "takes in": 100.0 * back / taken,
        "glass holds 250 milliliters. On": 2.5 * used,
        "Your class looks": 0.3 * used,
        "over river flow": 100.0 * above / river,
        "Counts of chance": math.sqrt(30.0 * used / 100.0 * (1.0 - used / 100.0)),
        "last tank": 24.0
        * float(record["volume"].sel(store=f"{place}/clearwell").mean())
        / through,
        "gives back": back / 1000.0 * (1.0 if us else 1.0 / GALLON),
        "One gallon": each * (GALLON if us else 1.0 / GALLON),
    }


def test_the_answer_key_agrees_with_the_record(packs):
    """Of every bundled scenario every answer comes to the same from the record's own flows, from
    who used the water last, or from many drops, within the rounding to three figures of two or
    three printed numbers."""
    for lesson in packs:
        expected = by_record(lesson)
        made = questions(lesson)
        assert len(made) == len(expected) + 2  # molecules and mean uses: by many drops, below
        for begins, value in expected.items():
            (one,) = [
                each
                for each in made
                if begins in each.words
                and (begins != "gives back" or "partner" in each.words)
                and (begins != "One gallon" or each.level == 1)
            ]
            assert one.answer == pytest.approx(value, rel=0.012), one.words


POWER = re.compile(r" × 10([⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
DIGITS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
STEP = re.compile(r"((?:square root of )?[−\d][\d.,e]*(?: [×÷+−] [\d.,e]+)*) = ([−\d][\d.,e]*)")


def worked_out(words):
    """Both sides of each step of arithmetic in a line, the left one worked out as it is printed."""
    plain = POWER.sub(lambda found: f"e{found[1].translate(DIGITS)}", words)
    for left, right in STEP.findall(plain):
        is_root = left.startswith("square root of ")
        code = left.removeprefix("square root of ").replace(",", "")
        for sign, ours in (("×", "*"), ("÷", "/"), ("−", "-")):
            code = code.replace(sign, ours)
        value = eval(code)
        yield math.sqrt(value) if is_root else value, right.replace("−", "-").replace(",", "")


def test_the_steps_shown_give_the_printed_results(packs):
    """Each line of arithmetic, worked out from its printed numbers, rounds to the number behind its
    equals sign, in three figures or in four; numbers on the way are those of the line before; the
    answer is that of a line. Converted there and back, the number is the one that was given."""
    for lesson in packs:
        for one in questions(lesson):
            results = []
            for step in one.steps:
                for value, printed in worked_out(step):
                    number = float(printed)
                    at = math.floor(math.log10(abs(value))) if value else 0
                    figures = len(printed.split("e")[0].lstrip("-0.").replace(".", ""))
                    half = 0.5 * 10.0 ** (at - (3 if figures > 3 else 2))
                    assert abs(value - number) <= half * (1 + 1e-9), (step, value)
                    results.append(number)
            assert any(number == pytest.approx(one.answer, rel=0.005) for number in results)
            if "asked" in one.given or "partner" in one.words:
                assert results[-1] == pytest.approx(one.given.get("asked", one.given.get("back")))


def test_a_lesson_has_one_used_share(packs):
    """What the sheets say of the glass is what its cards, its tally and its questions come to: the
    share of the run's measure, in whatever place it is told."""
    for lesson in packs:
        share = lesson.daily("used_share")
        assert lesson.used == pytest.approx(share, abs=2e-6)
        assert sum(part for _, part in lesson.tally) == pytest.approx(1.0, abs=1e-6)
        told = {
            one.given["percent"]
            for one in questions(lesson)
            if "A glass holds" in one.words or "Your class" in one.words
        }
        assert [f"{one:g} %" for one in told] == [percent(share)]


def test_the_used_share_is_rounded_as_a_run_rounds_it(packs):
    """Every sheet and question that tells the used share prints what `run` prints, and none prints
    it in other figures; what is expected of thirty drops is one number too, in tenths."""
    for lesson in packs:
        share = lesson.daily("used_share")
        sheets = sheets_of(lesson)
        said = {name: " ".join(words_of(sheet)) for name, sheet in sheets.items()}
        said["questions"] = " ".join(one.words for one in questions(lesson))
        for name in ("4-tally", "7-same-water", "9-teacher", "questions"):
            assert f"{percent(share)} of" in said[name] or f"is {percent(share)}, so" in said[name]
        fine = f"{100 * share:.3g} %"
        assert fine == percent(share) or not any(fine in words for words in said.values())
        for name, words in (("4-tally", "we expect {}."), ("9-teacher", "so {} are expected")):
            assert words.format(f"{30 * share:.1f}") in said[name]


def test_all_sheets_print_the_same_numbers(packs):
    """The tally's printed parts add up to 100 and to 30, and its used ones to the used share; the
    molecules of the sheet are those of the answers; the season's share is told to both; what is
    pumped back to the town's own plant is told."""
    for lesson in packs:
        sheets = sheets_of(lesson)
        said = {name: " ".join(words_of(sheet)) for name, sheet in sheets.items()}
        (table,) = [
            one.table for one in every(sheets["4-tally"].blocks) if isinstance(one, TableBlock)
        ]
        for column, whole in ((3, 100), (4, 30)):
            printed = [float(words) for words in table.columns[column].words]
            assert sum(printed) == pytest.approx(whole)
            assert sum(printed[1:]) == pytest.approx(whole * lesson.used, abs=0.0501)
        molecules = [one for one in questions(lesson) if one.unit == "molecules"]
        assert molecules
        for one in molecules:
            assert power_words(one.answer) in said["7-same-water"]
        season = lesson.result.table["season_used_share"].sel(town=lesson.town)
        for name in ("4-tally", "9-teacher"):
            assert f"of the season {percent(float(season))} had" in said[name]
        pumped = lesson.result.scenario.town[lesson.town].reuse.plant > 0
        assert ("pumped back to its own water plant" in said["1-town"]) == pumped


def test_the_answer_key_agrees_with_its_printed_numbers(packs):
    """Each answer again, from the numbers as they are printed in the question, but for what numbers
    on the way lose in four figures."""
    for lesson in packs:
        for one in questions(lesson):
            again = by_given(one, us=lesson.result.system == "us")
            assert one.answer == pytest.approx(again, rel=7e-4), one.words


def by_given(one, *, us):
    given = one.given
    if "people live" in one.words:
        return given["flow"] * 1e6 / given["people"]
    if "glass holds 250" in one.words:
        return 2.5 * given["percent"]
    if "Your class looks" in one.words:
        return 0.3 * given["percent"]
    if "takes in" in one.words:
        return 100.0 / (given["taken"] / given["back"])
    if "last tank" in one.words:
        return given["held"] / (given["flow"] / 24.0)
    if "had a drop been" in one.words:
        return sum(int(name.split("_")[1]) * share for name, share in given.items()) / 100
    if "over river flow" in one.words:
        return given["back"] / (given["flow"] / 100.0)
    if "molecules" in one.words:
        return 249.5 / 18.0 * 6.02e21 * given["percent"]
    if "Counts of chance" in one.words:
        return math.sqrt(30 * (given["share"] - given["share"] ** 2))
    asked = given.get("asked", given.get("back"))
    return asked * 3.785 if us else asked / 3.785


@pytest.mark.parametrize(
    ("share", "low", "high", "cover"),
    [(0.20, 2, 11, 0.980), (0.29, 4, 14, 0.975), (0.50, 10, 20, 0.957), (0.64, 14, 24, 0.965)],
)
def test_thirty_drops_stray_by_the_binomial_law(share, low, high, cover):
    """Central 95 % of 30 draws, summed term by term: the band covers at least that."""
    assert band(30, share) == (low, high)
    inside = sum(comb(30, k) * share**k * (1 - share) ** (30 - k) for k in range(low, high + 1))
    assert inside == pytest.approx(cover, abs=5e-4)


def test_the_tally_agrees_with_many_drops(packs):
    """20,000 drops of the glass come to the exact shares, and to the share that was in a home
    within 30 days, within five standard deviations."""
    lesson, count = packs[0], 20_000
    record = lesson.result.record
    at = begin_of(record, lesson.town, backward=True)
    tally = dict(exact_tally(record, at, lesson.day))
    walks = drops(record, n=count, at=at, on=lesson.day, seed=3, backward=True, used=0)
    last = walks.groupby("drop").last()
    (molecules,) = [one for one in questions(lesson) if "molecules" in one.words]
    lately = (
        walks[
            (walks["uses"] > 0)
            & (pd.Timestamp(lesson.day) - walks["date"] <= pd.Timedelta(days=30))
        ]["drop"].nunique()
        / count
    )
    assert abs(lately - molecules.given["percent"] / 100) <= 5 * math.sqrt(lately / count) + 5e-4
    (uses,) = [one for one in questions(lesson) if "had a drop been" in one.words]
    mean, half = uses.answer, 0.0  # each share is printed to a whole percent, or to a tenth
    for name, share in uses.given.items():
        half += int(name.removeprefix("percent_")) * (0.005 if share >= 10 else 0.0005)
    times = last["uses"] + last["before"]
    assert abs(times.mean() - mean) <= 5 * times.std() / math.sqrt(count) + 5e-4 + half
    for uses, words in enumerate(("never", "once", "twice")):
        share = tally[words]
        counted = (times == uses).mean()
        assert abs(counted - share) <= 5 * math.sqrt(max(share, 1e-4) / count), words


def test_each_student_has_a_card_and_the_teacher_its_number(sheets, lesson):
    """Thirty cards, no answers on them; the teacher's page has all uses."""
    cards = "\n".join(words_of(sheets["3-drops"]))
    assert cards.count("My drop was") == DROPS == len(lesson.diaries)
    assert "(use" not in cards
    lines = {
        word: meaning
        for one in every(sheets["9-teacher"].blocks)
        if isinstance(one, Entries)
        for word, meaning in one.entries
    }
    told = {
        int(number): match[1]
        for word, numbers in lines.items()
        if (match := re.fullmatch(r"(.+) \(\d+ drops?\)", word)) and numbers != "none"
        for number in numbers.split(", ")
    }
    words = ("never", "once", "twice", "three times or more")
    assert told == {one.number: words[min(one.uses, 3)] for one in lesson.diaries}


def test_a_use_above_the_map_stands_on_the_card():
    """Where half of the river was used once above the map, cards say so of about half of the drops,
    the sheet says to count it, and the count is that of the glass."""
    scenario = hl.read_scenario("first_town").changed({"river.wren.used_before": "50 %"})
    lesson = lesson_of(result_of(scenario, hl.simulate(scenario), "us"), "larkmill")
    cards = list(words_of(sheets_of(lesson)["3-drops"]))
    said = sum(
        "has been used once before" in line
        for line in cards
        if "the map" in line or "when the record begins" in line
    )
    assert said == sum(one.uses > 0 for one in lesson.diaries)
    low, high = band(DROPS, lesson.used)
    assert low <= said <= high
    assert any("Count that too" in line for line in cards)
    assert lesson.used == pytest.approx(lesson.daily("used_share"), abs=2e-6)


EASY = {"drawn", "final", "flushes"}  # so they are to those who are asked


def test_hard_words_on_the_cards_are_told(packs):
    """Every word of two hundred cards that is not among those which textstat takes for easy, in
    whatever form, is told on the sheet, or is a place."""
    lesson = packs[0]
    record, town = lesson.result.record, lesson.town
    walks = drops(
        record,
        n=200,
        at=begin_of(record, town, backward=True),
        on=lesson.day,
        seed=9,
        backward=True,
        used=0,
    )
    many = replace(lesson, diaries=diaries(record, walks, backward=True))
    sheet = journeys(many)
    said = " ".join(line.text for one in many.diaries for line in one.lines)
    words = set(re.findall(r"\b[a-z]{3,}(?:-[a-z]+)?\b", said)) - EASY
    told = " ".join(
        word
        for one in sheet.blocks
        if isinstance(one, Section)
        for part in one.blocks
        for word, _ in part.entries
    )
    forms = {
        word: {
            word,
            *(
                word.removesuffix(end) + more
                for end in ("s", "es", "ed", "ing")
                for more in ("", "e")
            ),
        }
        for word in words
    }
    hard = {
        word
        for word, own in forms.items()
        if own <= set(textstat.difficult_words_list(" ".join(own), 1))
    }
    assert not {word for word in hard if not any(form in told for form in forms[word])}


def test_sheets_fit_their_pages(packs):
    """Each sheet takes one page, but the cards and the teacher's."""
    for lesson, paper in zip(packs, ("letter", "a4"), strict=True):
        for name, sheet in sheets_of(lesson).items():
            if name not in ("3-drops", "9-teacher"):
                pages = PdfReader(io.BytesIO(as_pdf(sheet, paper))).pages
                assert len(pages) == 1, (name, paper)


def test_no_card_goes_over_a_page(packs):
    """Each page has as many ends of cards as heads, of usual drops and of one that is three times
    as long as the longest."""
    lesson, _ = packs
    longest = max(lesson.diaries, key=lambda one: len(one.lines))
    for drawn, paper in (
        (lesson.diaries, "letter"),
        ([lesson.diaries[0], longest._replace(lines=longest.lines * 3)], "a4"),
    ):
        pages = [
            page.extract_text()
            for page in PdfReader(
                io.BytesIO(as_pdf(journeys(replace(lesson, diaries=drawn)), paper))
            ).pages
        ]
        heads, ends = (
            [len(re.findall(words, page)) for page in pages]
            for words in (r"\bDrop \d+\b", "My drop was")
        )
        assert heads == ends
        assert sum(heads) == len(drawn)


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
