"""The bundled challenge: no target is met from the start, all can be met within the budget."""

from __future__ import annotations

import shutil

from hydroloop.judging import grade, handed_in, read_brief
from hydroloop.scenario.bundled import bundled_folder

GOOD = [
    ("less reuse", 'set = { "town.osselby.reuse.plant" = "1 Mgal/day" }'),
    ("yards", 'measure = "yard_rules"\ntown = ["brackenhythe", "tamberly"]\ncut = "80 %"'),
    ("homes", 'measure = "efficient_fixtures"\ntown = "quillford"\nhomes = "100 %"'),
    ("mains", 'measure = "repair_leaks"\ntown = "tamberly"\nby = "60 %"'),
]
"""A plan that does what the targets ask for, in the towns where it helps."""


def test_no_target_is_met_from_the_start_and_all_can_be_met(tmp_path):
    """As it is the towns meet none; a plan within the budget meets every one; the bundled plans
    meet some and leave some."""
    folder = tmp_path / "dry"
    shutil.copytree(bundled_folder() / "dry_summer", folder)
    (folder / "swift-1.toml").write_text(
        '[plan]\ntitle = "All"\nby = "Swift"\n'
        + "".join(f'[[step]]\nwhat = "{what}"\nwhy = "it helps"\n{step}\n' for what, step in GOOD)
    )
    brief = read_brief(folder / "brief.toml")
    board = grade(brief, *handed_in(brief, folder))
    assert not board.refused
    assert not any(board.as_it_is.met.values())
    best, *others = board.graded
    assert best.attempt.file == "swift-1.toml"
    assert all(best.met.values())
    assert best.points <= brief.points
    assert not any(all(one.met.values()) for one in others)
    assert any(any(one.met.values()) for one in others)
