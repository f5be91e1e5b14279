"""A document as lines of text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import pairwise

from hydroloop.outputs.document.blocks import (
    Block,
    Cards,
    Document,
    Entries,
    Items,
    Listing,
    Paragraph,
    Picture,
    Room,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import wrapped
from hydroloop.outputs.document.grids import Grid, grids
from hydroloop.outputs.document.wording import WIDTH, wrap
from hydroloop.units.printing import System


def as_text(document: Document, *, full: bool = False, width: int = WIDTH) -> list[str]:
    """The short answer, or all of it, as lines."""
    shown = document if full else document.shortened()
    lines = [document.title]
    if said := document.ran_words():
        lines += wrap("; ".join(said), "  ", width=width)
    lines += _below(shown.blocks, document.system, width)
    if document.cautions:
        lines += ["", *wrapped(tuple(document.cautions), width).splitlines()]
    below = [*where(document, full=full), *next_lines(document, width)]
    return lines + (below if full else [line for line in below if line])


def where(document: Document, *, full: bool = True) -> list[str]:
    """What was written where, after a blank line."""
    written = document.written
    if written is None:
        return []
    if not written.parts:
        return ["", *(f"Written: {file}" for file in written.files)]
    if not full:
        names = ", ".join(name.rstrip("/") for name, _ in written.parts if name != "cautions.txt")
        return ["", *wrap(f"Written to {written.place}: {names}. {written.note}".rstrip(), "  ")]
    wide = max(len(name) for name, _ in written.parts) + 1
    return [
        "",
        f"Written to {written.place}",
        *(f"  {name:<{wide}} {what}" for name, what in written.parts),
        *([written.note] if written.note else []),
    ]


def next_lines(document: Document, width: int = WIDTH) -> list[str]:
    """What one may ask next, after a blank line."""
    asks = document.ask_next
    if not asks:
        return []
    wide = max(len(one.command) for one in asks)
    if wide + 4 + max(len(one.tells) for one in asks) > width:
        return [
            "",
            "Ask next:",
            *(
                f"  {one.command}  {one.tells}"
                if len(one.command) + 4 + len(one.tells) <= width
                else f"  {one.command}\n      {one.tells}"
                for one in asks
            ),
        ]
    return ["", "Ask next:", *(f"  {one.command:{wide}}  {one.tells}" for one in asks)]


def _below(blocks: Sequence[Block], system: System, width: int) -> Iterator[str]:
    """Blocks with a blank line before each, but between sentences and before what is set below."""
    shown = [
        one
        for one in blocks
        if not isinstance(one, Picture)
        and not (isinstance(one, TableBlock) and one.where not in ("everywhere", "people"))
    ]
    for before, one in pairwise([None, *shown]):
        if not isinstance(one, Paragraph) or not (one.indent or isinstance(before, Paragraph)):
            yield ""
        yield from _lines(one, system, width)


def _lines(block: Block | None, system: System, width: int) -> Iterator[str]:
    if isinstance(block, Section):
        yield from wrap(block.title, "    ", width=width)
        inner = list(_below(block.blocks, system, width))
        yield from inner[1:] if inner[:1] == [""] else inner
    elif isinstance(block, Paragraph):
        yield from wrap(
            block.words,
            "    " if block.indent else "  ",
            first="  " if block.indent else "",
            width=width,
        )
    elif isinstance(block, Items):
        for number, words in enumerate(block.items, 1):
            mark = f"  {number}. " if block.is_ordered else "  "
            yield from wrap(words, " " * (5 if block.is_ordered else 4), first=mark, width=width)
    elif isinstance(block, Entries):
        yield from _entries(block, width)
    elif isinstance(block, Listing):
        yield from (f"  {line}".rstrip() for line in block.lines)
    elif isinstance(block, Cards):
        inner = list(_below(block.cards, system, width))
        yield from inner[1:]
    elif isinstance(block, Room):
        yield from ["  " + "_" * (width - 2)] * (1 if block.is_framed else block.lines)
    elif isinstance(block, TableBlock):
        for place, grid in enumerate(grids(block.table, system)):
            yield from [""] if place else []
            yield from grid_lines(grid, width)


def _entries(block: Entries, width: int) -> Iterator[str]:
    wide = block.wide or 1 + max(len(word) for word, _ in block.entries)
    for word, meaning in block.entries:
        head = f"  {word:<{wide}} "
        yield from textwrap.wrap(
            meaning, width, initial_indent=head, subsequent_indent=" " * (wide + 3)
        ) or [head.rstrip()]


def grid_lines(grid: Grid, width: int = WIDTH) -> Iterator[str]:
    """A grid with title and notes; one that is too wide goes on below, under its first column."""
    if grid.title:
        yield grid.title
    if grid.rows:
        cells = [*([grid.heads] if any(grid.heads) else []), *grid.rows]
        if sum(_sizes(cells)) + 2 * len(grid.heads) > width:
            names, units = zip(*(_parted(head) for head in grid.heads), strict=True)
            cells = [names, *([units] if any(units) else []), *grid.rows]
        sizes = _sizes(cells)
        for number, places in enumerate(_blocks(sizes, width)):
            yield from [""] if number else []
            for row_number, row in enumerate(cells, len(grid.rows) - len(cells)):
                yield from [f"  {grid.groups[row_number]}"] if row_number in grid.groups else []
                yield (
                    "  "
                    + "  ".join(
                        row[i].rjust(sizes[i]) if grid.to_right[i] else row[i].ljust(sizes[i])
                        for i in places
                    )
                ).rstrip()
    for note in grid.notes:
        yield from wrap(note, "  ", width=width)


def _sizes(cells: Sequence[Sequence[str]]) -> list[int]:
    return [max(map(len, column)) for column in zip(*cells, strict=True)]


def _parted(head: str) -> tuple[str, str]:
    """A heading without its unit, and the unit in its brackets."""
    name, bracket, unit = head.rpartition(" [")
    return (name, f"[{unit}") if bracket else (head, "")


def _blocks(sizes: Sequence[int], width: int) -> Iterator[list[int]]:
    """Columns that fit beside each other, each time with the first before them."""
    here, used = [0], 2 + sizes[0]
    for place, size in enumerate(sizes[1:], 1):
        if used + 2 + size > width and len(here) > 1:
            yield here
            here, used = [0], 2 + sizes[0]
        here.append(place)
        used += 2 + size
    yield here
