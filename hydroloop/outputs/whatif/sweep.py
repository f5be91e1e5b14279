"""A grid of runs over one key or more, as a document."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np
import xarray as xr

from hydroloop.charts.varied import FACTOR
from hydroloop.outputs.document import (
    Block,
    Document,
    Fact,
    Paragraph,
    Picture,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT as SHORT_CAUTIONS
from hydroloop.outputs.document.table import Column, Cross, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.whatif.changed import Changed, as_it_is
from hydroloop.outputs.whatif.held import held_over
from hydroloop.outputs.whatif.season_measures import (
    USED,
    measures_of,
    stages_block,
    told_in,
    towns_column,
    with_unmet,
)
from hydroloop.outputs.whatif.sweep_pictures import grid_picture, measures_drawn
from hydroloop.outputs.whatif.sweep_words import over_words, told_words, varied
from hydroloop.placenames import names_of
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units.printing import System

_FEW = 4  # points of a grid whose table is short


def sweep_document(
    scenario: Scenario,
    grid: xr.Dataset,
    keys: Sequence[str],
    system: System,
    pictures: str = "few",
    *,
    changed: Changed | None = None,
) -> Document:
    """Each measure over the grid; pictures of all that change, of a few, or of none."""
    points, axes = (
        math.prod(grid.sizes[key] for key in keys),
        [key for key in keys if grid.sizes[key] > 1],
    )
    head = changed or as_it_is(scenario)
    along, whole = [varied(grid, key, system) for key in keys], with_unmet(grid)
    table = _grid_table(whole, keys, system)
    first, rest = _parted(table, points)
    blocks: list[Block] = [
        *head.blocks,
        Paragraph(f"{number_of(points, 'run')}: {over_words(along)}."),
        *([] if scenario.held else held_over(keys)),
        *map(Paragraph, told_words(whole, along, system, has_table=bool(points <= _FEW))),
        *first,
        Section("The season over the grid", [*rest, *_stages(grid, keys, system)], short=False),
    ]
    drawn = measures_drawn(with_unmet(grid), pictures) if pictures != "none" and axes else []
    if len(axes) > 2:
        blocks.append(
            Paragraph(
                f"No picture: {len(axes)} keys were varied, and a picture shows "
                "one or two. tables/grid.csv has them all."
            )
        )
    elif axes and pictures != "none" and not drawn:
        blocks.append(Paragraph("No picture: nothing changes over the grid."))
    else:
        blocks += [
            Picture(
                told.name, partial(grid_picture, grid, list(keys), told, system, scenario=scenario)
            )
            for told in drawn
        ]
    return Document(
        "sweep",
        scenario.title,
        blocks,
        system,
        ran=head.ran,
        facts={"runs": Fact(points), "over": Fact(list(keys))},
        cautions=SHORT_CAUTIONS,
    )


def _parted(table: Table, points: int) -> tuple[list[TableBlock], list[TableBlock]]:
    """The table of the used share, which a short answer has where points are few, and the rest."""
    view = table.view
    assert isinstance(view, Cross)
    first = [USED.name] if points <= _FEW else []
    parts = (first, [name for name in view.measures if name not in first])
    made = [
        [TableBlock(replace(table, view=replace(view, measures=names)))] if names else []
        for names in parts
    ]
    return made[0], made[1]


def _grid_table(grid: xr.Dataset, keys: Sequence[str], system: System) -> Table:
    """A row for each point and town."""
    towns = [str(town) for town in grid["town"].values]
    places = list(np.ndindex(*(grid.sizes[key] for key in keys)))
    columns = [
        *(
            _along(grid, key, [at[k] for at in places for _ in towns], system)
            for k, key in enumerate(keys)
        ),
        towns_column(towns * len(places), names_of(grid)),
        *measures_of(grid, (*keys, "town")),
    ]
    return Table(
        "grid",
        "Season measures over the grid",
        columns,
        Cross(keys, "town", [told.name for told in told_in(grid)], has_heads=True),
    )


def _along(grid: xr.Dataset, key: str, places: Sequence[int], system: System) -> Column:
    """A key of the grid at some of its places: as it is held, and as it is shown."""
    one, here = varied(grid, key, system), find(key.replace("*", "any").split("."))
    values = grid[key].values
    is_factor = str(grid[key].attrs.get("long_name")).startswith("factor of")
    dimension = (
        ""
        if values.dtype.kind not in "fiu"
        else "number"
        if (is_factor or here is None or not here.dimension)
        else here.dimension
    )
    return Column(
        f"{key} [{FACTOR}]" if is_factor else key,
        [values[place] for place in places],
        dimension,
        key,
        [one.text(place) for place in places],
    )


def _stages(grid: xr.Dataset, keys: Sequence[str], system: System) -> list[TableBlock]:
    """Days in each drought stage, a row for each point."""
    places = list(np.ndindex(*(grid.sizes[key] for key in keys)))
    marks = [_along(grid, key, [at[k] for at in places], system) for k, key in enumerate(keys)]
    return stages_block(grid.drop_dims("town"), *marks)
