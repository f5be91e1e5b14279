"""The one table of quantities: what each is called, what it means, how it is worked out.

Measures, tables, answers, `hydroloop explain` and the docs read it. A name is the variable's in a
record or in a table of measures; names that stand for an idea only, and for no variable, are there
as well.
"""

from __future__ import annotations

import contextlib
import re

from hydroloop.glossary.rows import OURS, TERMS, Term

__all__ = ["GLOSSARY", "OURS", "Term", "spoken", "term"]

GLOSSARY = {row.name: row for row in TERMS}
"""Every term by its name."""


_DERIVED = {
    "season_": ("{}, season", "{}, season"),
    "mean_": ("{}, mean of the season", "{}, mean"),
    "glass_": ("{}, of the glass of a date", "{}"),
}
"""Beginnings of names made from others: how their meaning and their plain name are made."""


def term(name: str) -> Term:
    """Look up a quantity.

    Parameters
    ----------
    name : str
        Name as in a record or a table of measures. Understood are names made from others:
        ``season_`` (mean over the season, weighted by water), ``mean_`` (plain mean of a flow),
        ``glass_`` (of other dates' glasses), and ``_at_intake`` (of the water at an intake).

    Returns
    -------
    Term
        The quantity in words.

    Raises
    ------
    KeyError
        There is no such name.

    Examples
    --------
    >>> from hydroloop.glossary import term
    >>> term("used_share").symbol, term("season_used_share").symbol
    ('f', 'f')
    >>> term("season_used_share").dims, term("mean_delivered").plain
    ('town', 'tap water to homes, mean')
    """
    if name in GLOSSARY:
        return GLOSSARY[name]
    prefix = f"{name.split('_')[0]}_"
    if name.endswith("_at_intake") and prefix not in ("season_", "glass_"):
        own = term(name.removesuffix("_at_intake"))
        return own._replace(
            name=name,
            plain=own.plain and f"{own.plain} at the intake",
            meaning=own.meaning.replace("delivered to homes", "at an intake"),
        )
    if prefix not in _DERIVED:
        raise KeyError(name)
    own, (long, plain) = term(name.removeprefix(prefix)), _DERIVED[prefix]
    dims = (own.dims or "").removeprefix("time").strip()
    if prefix == "glass_":
        dims = f"glass {dims}".replace("days_ago", "days_before")
    return own._replace(
        name=name,
        dims=dims,
        meaning=long.format(own.meaning),
        plain=own.plain and plain.format(own.plain),
    )


_AROUND = (
    r" \[[^]]*\]$",
    r" \([^)]*\)$",
    r",? (season|mean|at the intake)$",
    r"^at the (tap|intake): ",
)
"""What tables put round a plain name: its unit, symbol, span and place."""


def spoken(words: str) -> list[Term]:
    """The quantities that somebody means: by the name, the symbol, or the plain name in a table.

    Examples
    --------
    >>> from hydroloop.glossary import spoken
    >>> [row.name for row in spoken("at the intake: used share (f) [%]")]
    ['used_share']
    """
    said = words.strip()
    with contextlib.suppress(KeyError):
        return [term(said if said in GLOSSARY else said.replace(" ", "_"))]
    if found := [row for row in TERMS if row.symbol == said]:
        return found
    said = said.lower()
    for around in ("", *_AROUND):
        said = re.sub(around, "", said)
        if found := [row for row in TERMS if said in (row.plain.lower(), row.name.lower())]:
            return found
    return [row for row in TERMS if row.plain and re.match(rf"{re.escape(row.plain)}\b", said)]
