"""The brief of a challenge: everything that is wrong is told at once, with its line."""

from __future__ import annotations

import re

import pytest
from challenge_folders import BRIEF, MAINS, YARDS, plan, write

from hydroloop.errors import InputError
from hydroloop.judging import Graded, charged, handed_in, read_brief
from hydroloop.judging.handed_in import unnumbered
from hydroloop.outputs.challenge.task import task_document
from hydroloop.outputs.challenge.words import evidence_words, step_lines, target_words
from hydroloop.outputs.document import Listing
from hydroloop.outputs.document.blocks import every
from hydroloop.scenario.bundled import bundled_folder
from hydroloop.whatif import read_plan_text


def problems_of(folder, brief):
    with pytest.raises(InputError) as refused:
        read_brief(write(folder, brief) / "brief.toml")
    return [str(problem) for problem in refused.value.problems]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("points = 60", "points = -1", "challenge.points: -1 is out of bounds"),
        ("points = [10, 30]", "points = [10, -30]", "is out of bounds. Write 0 or more"),
        ("points = [6, 12]", "points = [6]", "allow.yards.points"),
        ("weight = 3", "weight = 0", "Write more than 0"),
        ("weight = 3", "wieght = 3", 'wieght: there is no such key. Did you mean "weight"'),
        ("[drought]", "[draught]", 'draught: there is no such key. Did you mean "drought"'),
        ('measure = "used_share"', 'measure = "used"', 'Did you mean "used_share"'),
        ('measure = "repair_leaks"', 'measure = "mend"', 'there is no ready-made measure "mend"'),
        ('option = "to"', 'option = "too"', 'has no option "too"'),
        ('town = "penhollow"', 'town = "penhallow"', 'Did you mean "penhollow"'),
        ('towns = ["larkmill"]', 'towns = ["larkmil"]', 'Did you mean "larkmill"'),
        ("yards.area_per_person", "yards.area", "cannot be made in larkmill"),
        ('at_most = "30 %"', 'at_most = "-3 %"', "brief.toml:29"),
        ('at_most = "30 %"', 'at_most = "100 %"', "everybody meets it"),
        ('at_most = "30 %"', 'at_most = "30 ML"', "target.glass.at_most"),
        ("at_most = 100", "at_most = -1", "nobody can meet it"),
        ("at_most = 100", "until = 2040", "does not go with minimum_flow"),
        ('measure = "shortage"', 'measure = "capacity"', "until: is missing"),
        (
            'measure = "shortage"',
            'measure = "capacity"\nuntil = 1999',
            "nobody can meet or miss it",
        ),
        ('least = "40 m2"\n', "", "has no range"),
        ('scenario = "towns.toml"', 'scenario = "five_town"', 'Did you mean "five_towns"'),
        (
            'scale = { "river.wren.inflow" = 0.5 }',
            'scale = { "river.wrenn.inflow" = 0.5 }',
            'there is no river "wrenn"',
        ),
        ("[challenge]", "[challenge", "is not valid TOML"),
    ],
)
def test_what_is_wrong_in_a_brief_is_told_where_it_stands(tmp_path, old, new, says):
    """One clear message for each mistake: place, what was given, what to do."""
    assert old in BRIEF
    lines = problems_of(tmp_path, BRIEF.replace(old, new, 1))
    assert any(line.startswith("brief.toml") and says in line for line in lines), lines


def test_all_mistakes_are_told_at_once(tmp_path):
    """Three mistakes in three tables give three lines."""
    brief = (
        BRIEF.replace('option = "to"', 'option = "too"')
        .replace('town = "penhollow"', 'town = "x"')
        .replace("at_most = 100", "at_most = -1")
    )
    assert len(problems_of(tmp_path, brief)) == 3


def test_prices_go_up_evenly_between_the_ends(tmp_path):
    """7 % is half way from 11 % to 3 %: 20 of 10 to 30 points; the end of a range costs its end."""
    brief = read_brief(write(tmp_path) / "brief.toml")
    charges = charged(brief, read_plan_text(plan(MAINS, YARDS)))
    assert [(one.name, one.place) for one in charges] == [
        ("mains", "larkmill"),
        ("yards", "larkmill"),
    ]
    assert [one.points for one in charges] == pytest.approx([20.0, 12.0])
    scaled = read_plan_text(plan('scale = { "town.larkmill.yards.area_per_person" = 0.5 }'))
    now = brief.season.town["larkmill"].yards.area_per_person
    (one,) = charged(brief, scaled)
    assert one.points == pytest.approx(6.0 + 6.0 * (40.0 - 0.5 * now) / 30.0)


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ('set = { "town.larkmill.people" = 3 }', "not among the changes that the brief allows"),
        ('set = { "town.*.yards.area_per_person" = "20 m2" }', "is not allowed in Penhollow"),
        (MAINS.replace("7 %", "2 %"), "outside of what the brief allows in Larkmill"),
        (MAINS.replace("larkmill", "larkmil"), 'there is no town "larkmil"'),
        (MAINS.replace("to =", "by ="), "outside of what the brief allows"),
        (
            f'{MAINS}\n[[step]]\nwhat = "Again"\n{MAINS}',
            "changes town.larkmill.mains.real_losses, which",
        ),
        (MAINS.replace('"larkmill"', '"*"').replace("7 %", "3 %"), "no points"),
    ],
)
def test_what_is_not_allowed_is_told_step_by_step(tmp_path, step, says):
    """A student reads which step it is, and what may be chosen instead."""
    brief = BRIEF.replace("points = 60", "points = 59") if says == "no points" else BRIEF
    says = "more than the 59 that there are" if says == "no points" else says
    with pytest.raises(InputError) as refused:
        charged(read_brief(write(tmp_path, brief) / "brief.toml"), read_plan_text(plan(step)))
    assert any(says in str(problem) for problem in refused.value.problems), refused.value


def test_attempts_are_in_the_order_of_their_numbers(tmp_path):
    """The file's name says whose plan it is and which attempt; 10 comes after 2."""
    brief = read_brief(write(tmp_path) / "brief.toml")
    for name in ("otter-10", "otter-2", "heron", "heron-3"):
        (tmp_path / f"{name}.toml").write_text(plan(MAINS))
    found, refused = handed_in(brief, tmp_path)
    assert [(one.file, one.team, one.number) for one in found] == [
        ("heron.toml", "heron", 1),
        ("heron-3.toml", "heron", 3),
        ("otter-2.toml", "otter", 2),
        ("otter-10.toml", "otter", 10),
    ]
    assert not refused


def test_a_limit_is_told_as_the_brief_has_it(tmp_path):
    """A target of 10.5 % is not told as 10 %: what teams read is what their plans are held to."""
    brief = read_brief(write(tmp_path, BRIEF.replace('"30 %"', '"10.5 %"')) / "brief.toml")
    assert "At most 10.5 % of the tap water" in target_words(brief.target["glass"], "us", {})


def test_a_plan_that_was_saved_as_plain_text_is_named(tmp_path):
    """An editor that adds .txt loses no team's work: the file is listed, with the name it needs."""
    brief = read_brief(write(tmp_path) / "brief.toml")
    (tmp_path / "lynx-1.toml.txt").write_text(plan(MAINS))
    (tmp_path / "notes.txt").write_text("Bring pencils.")
    with pytest.raises(InputError, match=r"lynx-1\.toml\.txt: looks like a plan.*Name it lynx-1"):
        handed_in(brief, tmp_path)
    (tmp_path / "otter-1.toml").write_text(plan(MAINS))
    found, refused = handed_in(brief, tmp_path)
    assert [one.team for one in found] == ["otter"]
    assert [one.file for one in refused] == ["lynx-1.toml.txt"]


def test_a_mistake_of_form_hides_no_other(tmp_path):
    """A key that is not there, a table with a wrong town and a wrong limit are told in one go."""
    brief = (
        BRIEF.replace("weight = 3", "wieght = 3")
        .replace('towns = ["larkmill"]', 'towns = ["larkmil"]')
        .replace("at_most = 100", "at_most = -1")
    )
    lines = problems_of(tmp_path, brief)
    assert len(lines) == 3, lines
    assert all(any(word in line for line in lines) for word in ("wieght", "larkmil", "less than 0"))


SLIPS = {
    "no title": ("[plan]", 'titel = "x"', "plan.titel"),
    "no measure": ("", 'measure = "repair_leeks"', 'Did you mean "repair_leaks"'),
    "no town": ("", 'measure = "repair_leaks"\ntown = "larkmil"\nto = "7 %"', '"larkmil"'),
    "no unit": ("", 'measure = "repair_leaks"\ntown = "penhollow"\nto = "9 m3"', "9 m3"),
    "two in one": (
        "",
        'measure = "repair_leaks"\ntown = ["larkmill", "x"]\nto = "1 %"',
        "outside of what the brief allows in Larkmill",
    ),
    "a list": ("", 'measure = "repair_leaks"\ntown = ["larkmill", "y"]\nto = "7 %"', '"y"'),
    "why": ("", f'wyh = "x"\n{YARDS}', 'Did you mean "why"'),
    "not there": ("", 'set = { "town.larkmill.yards.aera" = 1 }', "yards.aera"),
    "too far": (
        "",
        'set = { "town.larkmill.yards.area_per_person" = "1 m2" }',
        'area_per_person" = "40 m2" and',
    ),
    "elsewhere": (
        "",
        'set = { "town.penhollow.yards.area_per_person" = "20 m2" }',
        "not allowed in Penhollow",
    ),
    "not among": ("", 'scale = { "river.wren.inflow" = 2 }', "not among the changes"),
}
"""Slips of a plan: of its head or of one of its steps, and a word of what is told of it."""


def test_all_mistakes_of_a_plan_are_told_at_once(tmp_path):
    """What each slip is told alone is told when all of them are in one plan, in the order of their
    lines, and nothing else: to mend what is told leaves nothing new."""
    folder = write(tmp_path)
    brief = read_brief(folder / "brief.toml")

    def told(slips):
        head = "".join(f"{line}\n" for begin, line, _ in slips if begin)
        steps = "".join(f'[[step]]\nwhat = "s"\n{line}\n' for begin, line, _ in slips if not begin)
        (folder / "otter-1.toml").write_text(f'[plan]\ntitle = "T"\n{head}{steps}{GOOD}')
        (folder / "heron-1.toml").write_text(plan(LEAST))
        _, refused = handed_in(brief, folder)
        return [str(problem) for one in refused for problem in one.problems]

    alone = [told([slip]) for slip in SLIPS.values()]
    for lines, (_, _, says) in zip(alone, SLIPS.values(), strict=True):
        assert any(says in line for line in lines), (says, lines)
    together = told(list(SLIPS.values()))
    bare = sorted(re.sub(r":\d+", "", line) for lines in alone for line in lines)
    assert sorted(re.sub(r":\d+", "", line) for line in together) == bare
    numbers = [int(found[1]) for line in together if (found := re.search(r":(\d+)", line))]
    assert numbers == sorted(numbers)


GOOD = f'[[step]]\nwhat = "good"\n{MAINS}\n'
LEAST = 'measure = "repair_leaks"\ntown = "penhollow"\nto = "11 %"'


def test_a_name_without_hyphen_counts_by_itself_and_is_told(tmp_path):
    """The number behind a hyphen is the attempt; without one a file is the first of a team of its
    own, which the board says. Two files of one attempt: the second is not graded, and told so."""
    brief = read_brief(write(tmp_path) / "brief.toml")
    for name in ("falcon-1", "Falcon2", "Falcon-3", "heron", "heron-1"):
        (tmp_path / f"{name}.toml").write_text(plan(MAINS, by="Team F"))
    found, refused = handed_in(brief, tmp_path)
    assert [(one.file, one.team, one.number) for one in found] == [
        ("falcon-1.toml", "falcon", 1),
        ("Falcon-3.toml", "falcon", 3),
        ("Falcon2.toml", "falcon2", 1),
        ("heron-1.toml", "heron", 1),
    ]
    assert [one.file for one in refused] == ["heron.toml"]
    assert "is attempt 1 of team heron, as heron-1.toml is" in str(refused[0].problems[0])
    assert [one.file for one in unnumbered(found)] == ["Falcon2.toml"]
    assert len({one.name for one in found}) == len(found)


@pytest.mark.parametrize(
    ("limit", "value", "says"),
    [
        ("12 %", 0.12004, "12.004 %: not met"),
        ("12 %", 0.1199, "12 %: met"),
        ("10.5 %", 0.1201, "12 %: not met"),
        ("12 %", 0.1234, "12.3 %: not met"),
        ("12 %", 0.0, "0 %: met"),
    ],
)
def test_a_near_miss_is_seen(tmp_path, limit, value, says):
    """A value is told in three figures, or in as many as it takes to see that it misses; a limit
    that it meets may be what it is rounded to."""
    target = read_brief(
        write(tmp_path, BRIEF.replace('"30 %"', f'"{limit}"')) / "brief.toml"
    ).target["glass"]
    graded = Graded(None, {"glass": value}, {"glass": target.is_met(value)}, 0.0)
    assert evidence_words(target, graded, "glass", "us") == says


@pytest.mark.parametrize(
    "change",
    [
        ("", ""),
        ("points = 60", "points = 10"),
        ("[allow.mains]", "[allow.more_mains]"),
        ('key = "town.*.yards.area_per_person"', 'key = "river.wren.inflow"'),
        (
            'measure = "repair_leaks"\noption = "to"\nleast = "11 %"\nmost = "3 %"',
            'measure = "recharge"\noption = "flow"\nleast = "0.1 Mgal/day"\nmost = "0.2 Mgal/day"',
        ),
        ('option = "to"\nleast = "11 %"\nmost = "3 %"', 'also = { to = "5 %" }'),
    ],
)
def test_the_worked_plan_of_a_task_passes(tmp_path, change):
    """The plan on the task sheet, and each way of writing a step, is TOML that the brief allows."""
    text = BRIEF.replace(*change).replace(
        'least = "40 m2"\nmost = "10 m2"\ntowns = ["larkmill"]',
        'least = "20 cfs"\nmost = "30 cfs"'
        if "inflow" in change[1]
        else 'least = "40 m2"\nmost = "10 m2"\ntowns = ["larkmill"]',
    )
    check_task(read_brief(write(tmp_path, text) / "brief.toml"))


def test_the_worked_plan_of_the_bundled_task_passes():
    """That of the challenge that comes with hydroloop too; it has a step of each way of writing."""
    brief = read_brief(bundled_folder() / "dry_summer" / "brief.toml")
    shown = check_task(brief)
    assert any(line.startswith("set = ") for line in shown)
    assert any(line.startswith("measure = ") for line in shown)


def check_task(brief):
    task = task_document(brief, "us")
    ways_shown, listing = [one for one in every(task.blocks) if isinstance(one, Listing)]
    plan_read = read_plan_text("\n".join(listing.lines))
    assert charged(brief, plan_read)
    ways = [step_lines(one, brief) for one in brief.allow.values()]
    # in typewriter type, with no line of it broken
    assert [line for line in ways_shown.lines if line[0] != "#"] == [
        line for lines in ways for line in lines
    ]
    for lines in ways:
        text = "\n".join(['[plan]\ntitle = "x"\n[[step]]\nwhat = "x"', *lines])
        assert len(charged(brief, read_plan_text(text))) == 1
    return list(listing.lines)
