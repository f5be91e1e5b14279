"""The page of what commands write and print: the folder of results, and the JSON form."""

from __future__ import annotations

from typing import Any

from writing.markdown import cell, code, table

from hydroloop.outputs.document.as_json import HELD, SCHEMA

_HEAD = """# What commands write

## The folder of results

`--out NAME` makes a folder; `run` makes one unasked. Nothing that is there already is written over.

"""
_PARTS = {
    "answer.html": "the whole answer as one page for a browser or a printer: the short answer "
    "first, then the pictures and every table under its heading. It needs no "
    "network. The pictures stand in the page itself, so the file can be sent "
    "alone; wide tables scroll inside their own box",
    "answer.txt": "the same words and tables as text, as `--full` prints them",
    "tables/": "each table as a CSV file, units in the headings; what is not known is left empty, "
    "and a text that a spreadsheet would take for a formula begins with an apostrophe",
    "pictures/": "each picture as PNG for a projector and SVG for print, with `captions.txt`",
    "inputs/": "the scenario as it was run, changes included, with the CSV files that it reads; "
    "it can be run again",
    "record.nc": "of a run: the water record (NetCDF); of many runs `members.nc` or `grid.nc`",
    "cautions.txt": "what the results are not for",
}
_JSON = """
A file name in place of a folder (`--out answer.pdf`) writes one form alone: `.html`, `.pdf`,
`.txt`, `.png` or `.svg`, and `.nc` where there is a record or many runs.

## The JSON form

With `--json` a command prints one object. Its keys are the same in every command and in either
unit system: numbers are in one unit whatever `--units` says, and `units` names it for each column
and fact. What is not known is `null`.

"""
_MEANINGS = {
    "command": "the command that was asked",
    "title": "what it is about",
    "ran": "what was run: `scenario`, `season` (first and last day), `changes` (each with `key`, "
    "`before`, `after`), `plans`, `dry_season`, `counts_as_use`; `null` where nothing was "
    "run",
    "words": "the sentences of the answer, each list under its `heading`",
    "facts": "single values that stand in no table, by name",
    "tables": "each table by name: a list of rows, each a mapping from column to value",
    "units": "unit of every number: by table and column, and under `facts` by fact",
    "pictures": "names of the pictures that `--out` draws",
    "cautions": "what it is not for",
    "written": "`place` and `files` of what was written; `null` if nothing was",
    "ask_next": "commands to go on with: `command` and what it `tells`",
}
_EXAMPLE = """
```python
>>> import json, subprocess, sys
>>> words = [sys.executable, "-m", "hydroloop", "check", "first_town", "--json"]
>>> done = subprocess.run(words, capture_output=True, text=True)
>>> found = json.loads(done.stdout)
>>> found["command"], found["ran"]["season"]
('check', ['2031-04-01', '2031-09-30'])
```

The form as a JSON schema is `hydroloop.outputs.document.as_json.SCHEMA`; a test checks each
command's answer against it.

## Units of the numbers

"""


def page() -> str:
    """The page, its keys and units read from the schema that answers are checked against."""
    keys: dict[str, Any] = SCHEMA["properties"]
    rows = [(code(key), cell(_MEANINGS[key])) for key in keys]
    units: dict[str, list[str]] = {}
    for name, unit in HELD.items():
        units.setdefault(unit, []).append(name.replace("_", " "))
    parts = [(code(name), cell(words)) for name, words in _PARTS.items()]
    held = [(code(unit), cell(", ".join(names))) for unit, names in units.items()]
    return "".join(
        [
            _HEAD,
            table(("part", "what it is"), parts),
            _JSON,
            table(("key", "what it holds"), rows),
            _EXAMPLE,
            table(("unit", "of"), held),
        ]
    )
