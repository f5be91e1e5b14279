"""The page of all keys that a scenario file may hold."""

from __future__ import annotations

from writing.markdown import cell, code

from hydroloop.scenario import KeyNote, all_keys

_HEAD = """# Keys of a scenario file

A scenario is a TOML file. Only a title, a season, a river and a town with people, an intake (or
wells or imports) and an outfall are needed; every other key has the default told here, with its
source. `NAME` stands for a name of your own. Every quantity carries its unit; any may be a range,
`"8 % to 14 %"`: a single run takes the middle. `hydroloop explain KEY` prints the same in a
terminal.
"""


def page() -> str:
    """The page, written from the schema."""
    notes = all_keys()
    top = [note for note in notes if "." not in note.key and not note.is_table]
    parts = [_HEAD, "## Top of the file\n", _rows(top, "")]
    for one in notes:
        if one.is_table:
            inner = [note for note in notes if _is_inside(note.key, one.key) and not note.is_table]
            parts.append(f"## `[{one.key}]`\n\n{_sentence(one.meaning)}\n")
            if inner:
                parts.append(_rows(inner, one.key + "."))
    return "\n".join(parts)


def _is_inside(key: str, above: str) -> bool:
    return key.startswith(above + ".") and "." not in key.removeprefix(above + ".")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."


def _rows(notes: list[KeyNote], above: str) -> str:
    return "\n".join(_entry(note, note.key.removeprefix(above)) for note in notes)


def _entry(note: KeyNote, name: str) -> str:
    """One key as a term with its meaning, and a line each for what else is known of it."""
    shown = ", ".join(code(f'"{one}"') for one in note.examples[:2])
    lines = [
        _sentence(cell(note.meaning)),
        f"*Takes* {cell(note.takes)}" + (f", such as {shown}" if shown else "") + ".",
        f"*Default* {cell(note.default)}." if note.default != "needed" else "**Needed.**",
        f"*Usual* {cell(note.usual)}." if note.usual else "",
        f"*Bounds* {cell(note.bounds)}." if note.bounds else "",
        f"*Source* {cell(note.source)}." if note.source else "",
    ]
    return f"`{name}`\n: " + " \\\n  ".join(line for line in lines if line) + "\n"
