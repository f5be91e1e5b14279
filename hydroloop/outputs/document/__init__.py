"""The one document that every command makes, and its renderers: text, JSON, CSV, HTML, PDF."""

from hydroloop.outputs.document.blocks import (
    Ask,
    Block,
    Document,
    Entries,
    Fact,
    Items,
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
    "Document",
    "Entries",
    "Fact",
    "Items",
    "Paragraph",
    "Picture",
    "Ran",
    "Room",
    "Section",
    "TableBlock",
    "Written",
]
