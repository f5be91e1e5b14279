"""The one document that every command makes, and its renderers: text, JSON, CSV, HTML, PDF."""

from hydroloop.outputs.document.blocks import (
    Ask,
    Block,
    Cards,
    Document,
    Entries,
    Fact,
    Items,
    Listing,
    Paragraph,
    Picture,
    Ran,
    Room,
    Section,
    TableBlock,
    Written,
)

__all__ = [
    "Ask",
    "Block",
    "Cards",
    "Document",
    "Entries",
    "Fact",
    "Items",
    "Listing",
    "Paragraph",
    "Picture",
    "Ran",
    "Room",
    "Section",
    "TableBlock",
    "Written",
]
