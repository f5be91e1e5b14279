"""A heat map shows the grid: its cells and their labels are the values, in rising order of keys."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from hydroloop.charts import heat_map
from hydroloop.charts.varied import Drawn, Varied
from hydroloop.units.printing import figures


@st.composite
def grids(draw):
    """Values over two keys whose values come in any order, for one to three towns."""
    shape = tuple(draw(st.integers(1, most)) for most in (4, 4, 3))
    values = draw(arrays(float, shape, elements=st.just(0.0) | st.floats(1e-6, 1e4)))
    axes = [
        tuple(draw(st.lists(st.integers(1, 99), min_size=size, max_size=size, unique=True)))
        for size in shape[:2]
    ]
    return values, *axes


@settings(max_examples=15, deadline=None)
@given(grids())
def test_cells_are_the_values(grid):
    """Every cell has the value of its run at its place, and its label is that value."""
    values, down, across = grid
    towns = ["a", "b", "c"][: values.shape[2]]
    picture = heat_map(
        values,
        towns,
        Varied("down", "", down),
        Varied("across", "", across),
        Drawn("measure", ""),
        caption=".",
    )
    rows, columns = np.argsort(down), np.argsort(across)
    for number, town in enumerate(towns):
        (axes,) = [axes for axes in picture.axes if axes.get_gid() == town]
        wanted = values[np.ix_(rows, columns)][..., number]
        assert np.array_equal(
            np.asarray(axes.collections[0].get_array()).reshape(wanted.shape), wanted
        )
        for text in axes.texts:
            x, y = (int(place) for place in text.get_position())
            assert text.get_text() == figures(wanted[y, x])
