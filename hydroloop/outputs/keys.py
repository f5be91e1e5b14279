"""The list of keys that `explain` shows."""

from __future__ import annotations

import textwrap
from typing import Any

from hydroloop.scenario import KeyNote, all_keys, explain


def key_list() -> list[str]:
    """Every key with its meaning, table by table.

    Returns
    -------
    list of str
        Lines of text.
    """
    lines = ["Keys of a scenario file. NAME stands for the name of a town, river and so on.",
             "hydroloop explain KEY tells unit, default, usual range and source.", ""]
    heading = ""
    for note in all_keys():
        if note.is_table and not note.examples:
            heading = f"{note.key}."
            lines += ["", *textwrap.wrap(f"[{note.key}]  {note.meaning}", 96,
                                         subsequent_indent="    ")]
        else:
            lines += _entry(note.key.removeprefix(heading), note.meaning)
    return lines


def _entry(word: str, meaning: str) -> list[str]:
    """A key and its meaning in two columns."""
    return textwrap.wrap(meaning, 96, initial_indent=f"  {word:<18} ",
                         subsequent_indent=" " * 21)


def notes_as_records(key: str | None = None) -> list[dict[str, Any]]:
    """What the schema says of a key, or of all, as plain values.

    Parameters
    ----------
    key : str, optional
        As `explain` takes it; without it, all keys.

    Returns
    -------
    list of dict
        One for each key that is meant.

    Raises
    ------
    AskError
        There is no such key.
    """
    notes = all_keys()
    if key is not None:
        lines = explain(key)
        several = lines[0].endswith(":")
        meant = {line.strip().partition(": ")[0] for line in lines[1:]} if several else {lines[0]}
        notes = tuple(note for note in notes if note.key in meant)
    return [_record(note) for note in notes]


def _record(note: KeyNote) -> dict[str, Any]:
    return {name: list(value) if isinstance(value, tuple) else value
            for name, value in note._asdict().items()}
