"""The brief of a challenge: everything that is wrong is told at once, with its line."""

from __future__ import annotations

import pytest
from challenge_folders import BRIEF, MAINS, YARDS, plan, write

from hydroloop.errors import InputError
from hydroloop.judging import charged, handed_in, read_brief
from hydroloop.outputs.challenge.words import target_words
from hydroloop.whatif import read_plan_text


def problems_of(folder, brief):
    with pytest.raises(InputError) as refused:
        read_brief(write(folder, brief) / "brief.toml")
    return [str(problem) for problem in refused.value.problems]


@pytest.mark.parametrize(("old", "new", "says"), [
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
    ('measure = "shortage"', 'measure = "capacity"\nuntil = 1999', "nobody can meet or miss it"),
    ('least = "40 m2"\n', "", "has no range"),
    ('scenario = "towns.toml"', 'scenario = "five_town"', 'Did you mean "five_towns"'),
    ('scale = { "river.wren.inflow" = 0.5 }', 'scale = { "river.wrenn.inflow" = 0.5 }',
     'there is no river "wrenn"'),
    ("[challenge]", "[challenge", "is not valid TOML"),
])
def test_what_is_wrong_in_a_brief_is_told_where_it_stands(tmp_path, old, new, says):
    """One clear message for each mistake: place, what was given, what to do."""
    assert old in BRIEF
    lines = problems_of(tmp_path, BRIEF.replace(old, new, 1))
    assert any(line.startswith("brief.toml") and says in line for line in lines), lines


def test_all_mistakes_are_told_at_once(tmp_path):
    """Three mistakes in three tables give three lines."""
    brief = BRIEF.replace('option = "to"', 'option = "too"').replace(
        'town = "penhollow"', 'town = "x"').replace("at_most = 100", "at_most = -1")
    assert len(problems_of(tmp_path, brief)) == 3


def test_prices_go_up_evenly_between_the_ends(tmp_path):
    """7 % is half way from 11 % to 3 %: 20 of 10 to 30 points; the end of a range costs its end."""
    brief = read_brief(write(tmp_path) / "brief.toml")
    charges = charged(brief, read_plan_text(plan(MAINS, YARDS)))
    assert [(one.name, one.place) for one in charges] == [("mains", "larkmill"),
                                                          ("yards", "larkmill")]
    assert [one.points for one in charges] == pytest.approx([20.0, 12.0])
    scaled = read_plan_text(plan('scale = { "town.larkmill.yards.area_per_person" = 0.5 }'))
    now = brief.season.town["larkmill"].yards.area_per_person
    (one,) = charged(brief, scaled)
    assert one.points == pytest.approx(6.0 + 6.0 * (40.0 - 0.5 * now) / 30.0)


@pytest.mark.parametrize(("step", "says"), [
    ('set = { "town.larkmill.people" = 3 }', "not among the changes that the brief allows"),
    ('set = { "town.*.yards.area_per_person" = "20 m2" }', "is not allowed in Penhollow"),
    (MAINS.replace("7 %", "2 %"), "outside of what the brief allows in Larkmill"),
    (MAINS.replace("larkmill", "larkmil"), 'there is no town "larkmil"'),
    (MAINS.replace("to =", "by ="), "outside of what the brief allows"),
    (f'{MAINS}\n[[step]]\nwhat = "Again"\n{MAINS}', "changes town.larkmill.mains.real_losses, "
     "which"),
    (MAINS.replace('"larkmill"', '"*"').replace("7 %", "3 %"), "no points"),
])
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
        ("heron.toml", "heron", 1), ("heron-3.toml", "heron", 2), ("otter-2.toml", "otter", 1),
        ("otter-10.toml", "otter", 2)]
    assert not refused


def test_a_limit_is_told_as_the_brief_has_it(tmp_path):
    """A target of 10.5 % is not told as 10 %: what teams read is what their plans are held to."""
    brief = read_brief(write(tmp_path, BRIEF.replace('"30 %"', '"10.5 %"')) / "brief.toml")
    assert "At most 10.5 % of the tap water" in target_words(brief.target["glass"], "us")


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
