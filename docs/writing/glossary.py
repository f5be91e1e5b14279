"""The page of quantities and words."""

from __future__ import annotations

from writing.markdown import cell, code, table

from hydroloop.glossary import GLOSSARY

_HEAD = """# Glossary

One word for one idea, from the trade where it has one. A name in `this type` is also the name of
a variable in a water record or in a table of measures. Volumes are in m3, flows in m3/d (`m3
d-1`) and times in days, unless a name says otherwise; `1` marks a share or a count.

"Residence time" means different things to different authors. In prose it is welcome with its
meaning beside it; the program says *turnover time*, *age* or *transit time* ([what they
are](../explanation/times.md)).
"""


def page() -> str:
    """The page, written from the one table of quantities."""
    rows = (
        (
            cell(term.name) if " " in term.name else code(term.name),
            cell(term.plain),
            cell(term.symbol),
            code(term.units),
            cell(term.meaning),
            cell(term.source),
        )
        for term in GLOSSARY.values()
    )
    heads = ("name", "in tables", "symbol", "unit", "meaning", "source of the word")
    return _HEAD + "\n" + table(heads, rows)
