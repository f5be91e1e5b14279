"""Bands in words say what the runs came to, and no more than a few runs can tell."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from hydroloop.outputs.whatif.spread_words import bands_sentence, hangs_sentence, used_sentence


def table(values):
    """Used shares of one town, one for each member, drawn from one key."""
    axes = ("town", "member")
    return xr.Dataset(
        {
            "season_used_share": (axes, [values]),
            "drawn": (("key", "member"), [np.arange(float(len(values)))]),
        },
        {"town": ["larkmill"], "key": ["town.larkmill.people"]},
    )


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ([0.1] * 40, "Larkmill: 10 % of its tap water was used before, whatever was drawn."),
        (
            [0.42] + [0.0] * 39,
            "Larkmill: 0 % of its tap water was used before in nine runs of ten; "
            "between 0 and 42 % in all.",
        ),
        (
            [0.1, 0.2],
            "Larkmill: 15 % of its tap water was used before; between 10 and 20 % in 2 runs.",
        ),
        # Of 0, 0.5, ..., 20 % a tenth of the members lies outside 1 and 19 %.
        (
            np.arange(41) / 200.0,
            "Larkmill: 10 % of its tap water was used before in the middle run; "
            "nine runs in ten lie between 1 and 19 %.",
        ),
    ],
)
def test_used_share_in_words(values, told):
    """The same, an outlier, a few members and a band are each told as they are."""
    assert used_sentence(table(values), "larkmill") == told


def test_what_moves_hangs_on_something():
    """A share that moves at its ends only is not taken for one that stands still."""
    moving = table([0.0] * 38 + [0.41, 0.42])
    hangs = xr.Dataset(
        {"season_used_share": (("key", "town"), [[0.9]])},
        {"key": moving["key"], "town": moving["town"]},
    )
    assert "where that is higher, more was used before" in hangs_sentence(moving, "larkmill", hangs)
    assert hangs_sentence(table([0.1] * 40), "larkmill", hangs) == ""


def test_few_members_make_no_band():
    """From 20 members on a twentieth of them lies beyond each end."""
    assert "too few" in bands_sentence(19)
    assert "nine tenths" in bands_sentence(20)
