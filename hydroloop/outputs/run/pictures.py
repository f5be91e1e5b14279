"""Which pictures a run gets, and how each is drawn."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from hydroloop import charts
from hydroloop.measures import ends_by_use
from hydroloop.outputs.document.blocks import Picture
from hydroloop.outputs.run.drought_picture import drought_picture, has_drought

if TYPE_CHECKING:
    from hydroloop.outputs.run.result import Result

_KINDS = ("season", "loop", "parcel", "glass")


class Wanted(NamedTuple):
    """A picture: ``glass``, ``loop``, ``season``, ``parcel`` of a town, ``drought``, ``map``."""

    kind: str
    town: str = ""

    @property
    def name(self) -> str:
        """Name of its files."""
        return f"{self.town}_{self.kind}" if self.town else self.kind


def pictures_of(result: Result, how_many: str) -> list[Picture]:
    """The pictures of a run: ``"none"``, ``"all"``, or ``"few"``: those of the most used town."""
    if how_many == "none" or not result.towns:
        return []
    towns = result.towns if how_many == "all" else [result.most_used_town]
    first = [Wanted("map")] if "season_used_share_in_river" in result.table else []
    first += [Wanted("drought")] if has_drought(result.scenario, result.record) else []
    first += [Wanted("because")]
    every = first + [Wanted(kind, town) for town in towns for kind in _KINDS]
    return [Picture(one.name, partial(figure_of, result, one), short=False) for one in every]


def figure_of(result: Result, wanted: Wanted) -> charts.Picture:
    """One picture, not yet in a file."""
    record, table, town = result.record, result.table, wanted.town
    if wanted.kind == "drought":
        return drought_picture([result.scenario], [("", record)], result.system)
    if wanted.kind == "map":
        return charts.river_map(record, table, result.system)
    if wanted.kind == "because":
        return charts.because(table)
    if wanted.kind == "glass":
        return charts.glass(table, town)
    if wanted.kind == "loop":
        return charts.loop(record, table, town, result.system)
    if wanted.kind == "season":
        return charts.season(table, town, record, result.system)
    return charts.parcel(table, town, ends_by_use(record, table, town))
