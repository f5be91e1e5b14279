"""Words for what happens to a drop: each move from store to store."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd
import xarray as xr

from hydroloop.charts.words import joined, place_words, river_words
from hydroloop.placenames import Names, names_of, possessive
from hydroloop.record import OPEN_WATERS
from hydroloop.units import format_quantity
from hydroloop.units.printing import System, figures

# Steps of the two plants, by the role of the store that is entered.
_WATER_STEPS = {
    "flocculation": "flocculation",
    "sedimentation": "settling",
    "filters": "the filters",
    "clearwell": "the clearwell",
}
_WASTEWATER_STEPS = {
    "primary": "primary settling",
    "aeration": "aeration",
    "final_settling": "final settling",
    "contact": "disinfection",
    "effluent_pond": "the effluent pond",
}

_HOME = {
    "toilets": "flushes a toilet in {town}",
    "baths": "runs through a shower or bath in {town}",
    "taps": "comes out of a tap in {town}",
    "laundry": "washes clothes or dishes in {town}",
}
_HOME_LOSS = "evaporates in a home in {town}, or leaves with what is drunk or carried out"

# What a move is called: by kind and role of its target, by kind and role of its source, by kind.
_BY_TARGET = {
    **{("home_use", role): words for role, words in _HOME.items()},
    ("work_use", "work_toilets"): "flushes a toilet at a workplace in {town}",
    ("sewage", "primary"): "reaches the wastewater plant of {town}",
    ("sewage", "groundwater"): "seeps from an on-site system into the ground under {town}",
    ("supply", "tanks"): "is pumped up to the storage tanks of {town}",
    ("supply", "mains"): "flows into the mains under the streets of {town}",
    ("stormwater", "storm_drains"): "runs off into the storm drains of {town}",
    ("stormwater", "sewers"): "runs off into the sewers of {town}",
    ("stormwater", "streams"): "runs off into {target}",
    ("stormwater", "reach"): "reaches {target} with the storm water, untreated",
    ("reclaimed", "reclaimed"): "is kept as reclaimed water in {town}",
    ("reclaimed", "yards"): "waters a yard in {town}, as reclaimed water",
    ("reclaimed", "rapid_mix"): "returns to the head of {whose} water plant, as reclaimed water",
    ("reclaimed", "groundwater"): "is led into the ground under {town}, as reclaimed water",
    ("reclaimed", "reservoir"): "is led to {target}, as reclaimed water",
    ("river", "reservoir"): "flows into {target}",
    ("backwash", "sewers"): "washes a filter and goes to the sewers of {town}",
    ("backwash", "washwater"): "washes a filter and is kept for the head of the plant",
    ("backwash", "rapid_mix"): "returns to the head of {whose} water plant",
}
_BY_SOURCE = {
    **{("evaporation", role): _HOME_LOSS for role in _HOME},
    ("evaporation", "workplaces"): "evaporates at a workplace in {town}, or leaves in what is made "
    "there",
    ("evaporation", "work_toilets"): "evaporates at a workplace in {town}",
    ("evaporation", "yards"): "evaporates from a yard in {town}, or through its plants",
    ("evaporation", "soil"): "evaporates from {source}, or through plants",
    **{
        ("sewage", role): "goes down a drain into the sewers of {town}"
        for role in ("workplaces", "work_toilets")
    },
    **{("sewage", role): "goes down the drain into the sewers of {town}" for role in _HOME},
}
_BY_KIND = {
    "upstream": "comes down {target} from above the map",
    "rain": "falls as rain or snow on {target}",
    "import": "is bought from outside and comes to {target}",
    "melt": "melts and runs to {target}",
    "intake": "is drawn from {source} into {target}",
    "work_use": "is used at a workplace in {town}",
    "yard_use": "is sprinkled on a yard in {town}",
    "leak": "leaks from a main of {town} into the ground",
    "infiltration": "seeps from the ground into {target}",
    "overflow": "overflows from {source} to {target}, untreated",
    "bypass": "bypasses aeration in the wet, in the wastewater plant of {town}",
    "outfall": "leaves the wastewater plant of {town}, treated, and enters {target}",
    "percolation": "sinks below the roots, into {target}",
    "interflow": "seeps out of {source} into {target}, soon after rain",
    "recharge": "sinks to {target}",
    "baseflow": "seeps out of {source} into {target}",
    "release": "is let out of {source}",
    "spill": "spills over the dam of {source}",
    "river": "joins {target}",
    "lateral": "joins {target} from the land beside it",
    "downstream": "leaves the map down {source}",
    "evaporation": "evaporates from {source}",
    "sludge": "leaves with the sludge of {source}",
}


class Move(NamedTuple):
    """One move of a drop."""

    date: pd.Timestamp  # start of the step
    # stores or boundaries
    source: str
    target: str
    kind: str  # kind of the flow
    is_use: bool = False  # whether it counts as a use


@dataclass(frozen=True)
class Map:
    """Names of a record's places, and where they lie."""

    # words, role and place of each store
    labels: Mapping[str, str]
    roles: Mapping[str, str]
    places: Mapping[str, str]
    kinds: Mapping[str, str]  # kind of each flow
    feeds: Mapping[str, list[str]]  # sources of water for each store, by kind `intake`
    # ends of the record
    first_day: pd.Timestamp
    last_day: pd.Timestamp
    system: System  # `"us"` or `"metric"`
    names: Names  # names that are given to places

    @classmethod
    def of(cls, record: xr.Dataset, system: System = "us") -> Map:
        """The map of a record."""
        stores = record["store"].values.tolist()
        by_store = {
            name: dict(zip(stores, record[name].values.tolist(), strict=True))
            for name in ("label", "role", "place")
            if name in record
        }
        flows = zip(
            record["source"].values.tolist(),
            record["target"].values.tolist(),
            record["kind"].values.tolist(),
            strict=True,
        )
        feeds: dict[str, list[str]] = {}
        for source, target, kind in flows:
            if kind in ("intake", "reclaimed", "backwash", "treatment", "import"):
                feeds.setdefault(target, []).append(source if kind == "intake" else "")
        return cls(
            by_store.get("label", {}),
            by_store["role"],
            by_store["place"],
            dict(zip(record["flow"].values.tolist(), record["kind"].values.tolist(), strict=True)),
            feeds,
            pd.Timestamp(record["time"].values[0]),
            pd.Timestamp(record["time"].values[-1]),
            system,
            names_of(record),
        )

    def is_store(self, name: str) -> bool:
        """Whether a name is a store, and no boundary."""
        return name in self.roles

    def role(self, name: str) -> str:
        """Role of a store; the name itself for a boundary."""
        return self.roles.get(name, name)

    def label(self, name: str, *, end: str = "") -> str:
        """A store in words; for a stretch of river `end` is "head" or "foot", where water enters or
        leaves."""
        words = self.labels.get(name) or self._plain(name)
        stretch = _STRETCH.fullmatch(words)
        if not stretch:
            return words
        river, first, last = stretch["river"], stretch["first"], stretch["last"] or stretch["first"]
        if end:
            return f"{river} at {self._distance(first if end == 'head' else last)}"
        if first == last:
            return f"{river} at {self._distance(first)}"
        return f"{river} between {self._distance(first)} and {self._distance(last)}"

    def river(self, name: str) -> str:
        """The river that a stretch belongs to."""
        return river_words(self.places[name], self.names)

    def _plain(self, name: str) -> str:
        place, _, part = name.partition("/")
        return f"the {part.replace('_', ' ')} of {place_words(place, self.names)}" if part else name

    def _distance(self, km: str) -> str:
        if self.system == "metric":
            return f"km {figures(float(km))}"
        miles = format_quantity(float(km), "length", "us").replace(",", "")
        number, unit = miles.split()
        return f"mile {number}" if unit == "mi" else f"mile {float(number) / 5280:.2g}"

    def begins(self, store: str) -> str:
        """How the diary of a drop begins that is put into a store."""
        sources = self.feeds.get(store, [])
        drawn = (
            f", just drawn from {self.label(sources[0], end='foot')}"
            if (len(sources) == 1 and sources[0])
            else ""
        )
        return f"begins in {self.label(store)}{drawn}"

    def drawn(self, store: str) -> str:
        """How the diary of a drop ends that is taken out of a store."""
        if self.role(store) == "mains":
            town = place_words(self.places[store], self.names)
            return f"comes out of a tap in {town}: this is the glass"
        return f"is in {self.label(store)}, where we find it"


_STRETCH = re.compile(r"(?P<river>.+), (?:at )?km (?P<first>[\d.]+)(?: to (?P<last>[\d.]+))?")


def chapter(chart: Map, move: Move) -> str:
    """What a move is part of: the way through one plant or down one river; empty if neither."""
    if not (chart.is_store(move.source) and chart.is_store(move.target)):
        return ""
    place, role = chart.places[move.target], chart.role(move.target)
    if move.kind == "river" and chart.places[move.source] == place and role == "reach":
        return f"river {place}"
    if move.kind == "treatment" and role in _WATER_STEPS:
        return f"water {place}"
    if move.kind == "treatment" and role in _WASTEWATER_STEPS:
        return f"wastewater {place}"
    return ""


def told(chart: Map, moves: Sequence[Move]) -> str:
    """Moves, one or all of a `chapter`, in a sentence without its subject: `flushes a toilet in
    Larkmill`."""
    part, last = chapter(chart, moves[0]).partition(" ")[0], moves[-1]
    if part == "river":
        where = chart.label(last.target, end="foot").rpartition(" at ")[2]
        return f"flows down {chart.river(last.target)} towards {where}"
    if part:
        steps = _WATER_STEPS if part == "water" else _WASTEWATER_STEPS
        through = joined([steps[chart.role(move.target)] for move in moves])
        whose = possessive(place_words(chart.places[last.target], chart.names))
        return f"goes through {through} in {whose} {part} plant"
    return _words_for(chart, last).format(**_names(chart, last))


def _words_for(chart: Map, move: Move) -> str:
    return (
        _BY_TARGET.get((move.kind, chart.role(move.target)))
        or _BY_SOURCE.get((move.kind, chart.role(move.source)))
        or _BY_KIND.get(move.kind)
        or "moves from {source} to {target}"
    )


def _names(chart: Map, move: Move) -> dict[str, str]:
    inner = move.target if _in_town(chart, move.target, move.source) else move.source
    town = place_words(chart.places.get(inner, inner), chart.names)
    return {
        "town": town,
        "whose": possessive(town),
        "source": chart.label(move.source, end="foot"),
        "target": chart.label(move.target, end="head"),
    }


def _in_town(chart: Map, target: str, source: str) -> bool:
    """Whether the town that a move belongs to is that of its target."""
    if not chart.is_store(target) or chart.role(target) in OPEN_WATERS:
        return False
    # Ground may be shared by towns: then the other end says which town is meant.
    return chart.role(target) not in ("subsoil", "groundwater") or not chart.is_store(source)
