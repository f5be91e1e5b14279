"""Compiled loops are kept where there is a folder, thrown away when stale, and run anyhow."""

from __future__ import annotations

import sys

import numba
import numpy as np
import pytest

from hydroloop.compiling import compiled, forget_stale, lent
from hydroloop.errors import HydroloopWarning


def test_no_folder_for_compiled_code(monkeypatch):
    """The compiler's refusal to keep code is said, and met by compiling without keeping it."""
    plain, refused = numba.njit, []

    def njit(*args, cache=False, **settings):
        if cache:
            refused.append(settings)
            raise RuntimeError("cannot cache function: no locator available")
        return plain(*args, **settings)

    monkeypatch.setattr(numba, "njit", njit)
    with pytest.warns(HydroloopWarning, match="NUMBA_CACHE_DIR"):
        doubled = compiled(lambda x: 2 * x)
    assert doubled(21) == 42
    assert refused


class _Kept:
    """Stands for a compiled function whose code is kept in a folder."""

    def __init__(self, folder):
        self.stats = type("Stats", (), {"cache_path": str(folder)})()


def test_code_from_other_sources_is_thrown_away(tmp_path):
    """A changed source empties the folder of kept code; an unchanged one leaves it alone."""
    source = tmp_path / "rule.py"
    source.write_text("a = 1\n")
    folder = tmp_path / "kept"
    forget_stale(_Kept(folder), [source])
    (folder / "loop-1.py311.nbi").write_bytes(b"index")
    (folder / "loop-1.py311.1.nbc").write_bytes(b"code")
    forget_stale(_Kept(folder), [source])
    assert len(list(folder.glob("*.nb?"))) == 2
    source.write_text("a = 2\n")
    forget_stale(_Kept(folder), [source])
    assert not list(folder.glob("*.nb?"))


def test_a_folder_that_cannot_be_written_is_no_error(tmp_path):
    """Nothing is thrown away and nothing said where the folder cannot be made."""
    source = tmp_path / "rule.py"
    source.write_text("a = 1\n")
    folder = source / "not" / "a" / "folder"
    forget_stale(_Kept(folder), [source])
    assert not folder.exists()


def test_arrays_that_are_lent_are_the_lenders():
    """A loop reads and writes what was lent, in tuples or not, and leaves it to its owner."""

    def added(to, few):
        to, few = lent((to, few))
        for k in range(len(to)):
            to[k] += few[0][k] + few[1][0, k]
        return to.sum()

    to, few = np.ones(3), (np.arange(3.0), np.full((1, 3), 10.0))
    owners = sys.getrefcount(to), sys.getrefcount(few[0])
    for loop in (numba.njit(added), added):
        loop(to, few)
    assert to.tolist() == [21.0, 23.0, 25.0]
    assert (sys.getrefcount(to), sys.getrefcount(few[0])) == owners
