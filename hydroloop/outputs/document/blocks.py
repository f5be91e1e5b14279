"""A document in plain values: what was run, blocks of words, tables and pictures, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Any, Literal

from hydroloop.outputs.document.table import Table
from hydroloop.outputs.document.wording import season_span
from hydroloop.placenames import Names

if TYPE_CHECKING:
    from hydroloop.charts.picture import Picture as Drawn


@dataclass(frozen=True, kw_only=True)
class Block:
    """A part of a document; `short` tells whether it belongs to the short answer."""

    short: bool = True


@dataclass(frozen=True)
class Paragraph(Block):
    """Words that run on; `indent` sets them below what stands before."""

    words: str
    indent: bool = False


@dataclass(frozen=True)
class Items(Block):
    """A list; one that is ordered has numbers."""

    items: Sequence[str]
    is_ordered: bool = False


@dataclass(frozen=True)
class Entries(Block):
    """Words with what is said of each, in two columns; `wide` is the least width of the first."""

    entries: Sequence[tuple[str, str]]
    wide: int = 0


@dataclass(frozen=True)
class TableBlock(Block):
    """A table where it stands among the words; or for people alone, scripts and files, or files."""

    table: Table
    where: Literal["everywhere", "people", "values", "files"] = "everywhere"


@dataclass(frozen=True)
class Picture(Block):
    """A picture that is drawn where it is needed.

    Without words of its own, caption and alternative text are those of the picture drawn.
    """

    name: str
    draw: Callable[[], Drawn]
    caption: str = ""
    alternative: str = ""


@dataclass(frozen=True)
class Room(Block):
    """Room on paper for a reader's own words, in ruled lines, or for a drawing, in a frame."""

    lines: int
    is_framed: bool = False


@dataclass(frozen=True)
class Listing(Block):
    """Lines of a file, each as it is to be written."""

    lines: Sequence[str]


@dataclass(frozen=True)
class Section(Block):
    """Blocks under a heading, or without one; its level is how deep it stands."""

    title: str
    blocks: Sequence[Block]
    keep_together: bool = False
    new_page: bool = False


@dataclass(frozen=True)
class Cards(Block):
    """Parts that are cut apart on paper; none of them goes over a page."""

    cards: Sequence[Section]


@dataclass(frozen=True)
class Ran:
    """What was run: scenario, season, changes with what stood before, plans, gate of uses."""

    scenario: str
    season: tuple[date, date] | None = None
    changes: Sequence[Sequence[str]] = ()
    plans: Sequence[Mapping[str, Any]] = ()
    dry_season: str = ""
    counts_as_use: str = ""
    names: Names = field(default_factory=dict)  # names that are given to places


@dataclass(frozen=True)
class Fact:
    """One value for scripts, in the held unit of its dimension, or a unit of its own; or words."""

    value: Any
    dimension: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Written:
    """What was written where, and what is in it."""

    place: str
    files: Sequence[str] = ()
    parts: Sequence[tuple[str, str]] = ()
    note: str = ""  # on the place, in a sentence


@dataclass(frozen=True)
class Ask:
    """A command that one may go on with, and what it tells."""

    command: str
    tells: str


@dataclass(frozen=True)
class Document:
    """What a command has to say, before anybody shows it."""

    command: str  # the command that was asked
    title: str  # what it is about
    blocks: Sequence[Block]  # in their order
    # `"us"` or `"metric"`: units of the words, and of tables where nothing else is asked
    system: Any = "us"
    ran: Ran | None = None  # what was run
    # values for scripts that stand in no table
    facts: Mapping[str, Fact] = field(default_factory=dict)
    cautions: Sequence[str] = ()  # what it is not for
    written: Written | None = None  # files
    ask_next: Sequence[Ask] = ()  # commands to go on with

    def shortened(self) -> Document:
        """The short answer alone."""
        return replace(self, blocks=_parted(self.blocks, lambda one: one.short))

    def tables(self, *, for_files: bool = True) -> list[Table]:
        """All tables, those of sections too, each once; for scripts without those for files."""
        found = {
            one.table.name: one.table
            for one in every(self.blocks)
            if isinstance(one, TableBlock)
            and one.where != "people"
            and (for_files or one.where != "files")
        }
        return list(found.values())

    def ran_words(self) -> list[str]:
        """What was run: the scenario where the title does not say it, its season, how."""
        ran = self.ran
        if ran is None:
            return []
        return [
            words
            for words in (
                ran.scenario if ran.scenario != self.title else "",
                season_span(*ran.season) if ran.season else "",
                f"dry season: {ran.dry_season}" if ran.dry_season else "",
                f"counted as a use: {ran.counts_as_use}" if ran.counts_as_use else "",
            )
            if words
        ]

    def drawn(self, picture: Picture) -> Drawn:
        """One of its pictures, with what was changed before the run below its title."""
        return drawn(picture, self.ran)

    def without_pictures(self) -> Document:
        """All but the pictures."""
        return replace(self, blocks=_parted(self.blocks, lambda one: not isinstance(one, Picture)))

    def pictures(self) -> list[Picture]:
        """All pictures."""
        return [one for one in every(self.blocks) if isinstance(one, Picture)]


def drawn(picture: Picture, ran: Ran | None) -> Drawn:
    """A picture with what was changed before the run below its title."""
    from hydroloop.charts.changed_words import changed_line

    figure = picture.draw()
    figure.say_changed(changed_line(ran.changes, ran.names) if ran else "")
    return figure


def every(blocks: Sequence[Block]) -> Iterator[Block]:
    """Blocks, each section before what stands in it."""
    for one in blocks:
        yield one
        if isinstance(one, Section | Cards):
            yield from every(one.blocks if isinstance(one, Section) else one.cards)


def _parted(blocks: Sequence[Block], is_kept: Callable[[Block], bool]) -> list[Block]:
    return [
        replace(one, blocks=_parted(one.blocks, is_kept)) if isinstance(one, Section) else one
        for one in blocks
        if is_kept(one)
    ]
