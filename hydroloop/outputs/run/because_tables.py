"""Because, as tables: where used tap water was used last, and how it came back."""

from __future__ import annotations

import numpy as np

from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.outputs.run.result import Result

_NO_PART = 1e-9  # smaller parts of the used share are left out [-]
_PARTS = {"way": ("used_share_by_way", "came back"), "use": ("used_share_by_use", "used for")}


def because(result: Result) -> Table:
    """The season's used share by the town that used the water last and the way it came back."""
    return _parts(result, "because", "way", "by the way it came back")


def because_uses(result: Result) -> Table:
    """The season's used share by the town that used the water last and the end use."""
    return _parts(result, "because_uses", "use", "by end use")


def _parts(result: Result, name: str, by: str, words: str) -> Table:
    variable, head = _PARTS[by]
    parts = result.table[f"season_{variable}"]
    dims = ("town", *(dim for dim in parts.dims if dim != "town"))
    values = parts.transpose(*dims).values
    some = np.nonzero(values > _NO_PART)
    rows = [
        parts[dim].values[place].astype(str).tolist() for dim, place in zip(dims, some, strict=True)
    ]
    return Table(
        name,
        f"Where the used water was used last, {words}, season",
        [
            *(
                places_column(column, column_rows, result.names)
                for column, column_rows in zip(("town", "last used in"), rows, strict=False)
            ),
            Column(head, rows[2]),
            Column("share of the tap water", values[some].tolist(), "share"),
        ],
    )


def because_days(result: Result) -> Table:
    """Every day's used share by the town that used the water last and the way it came back."""
    parts = result.table["used_share_by_way"].transpose("town", "time", "used_in", "way")
    some = np.nonzero(parts.values > _NO_PART)
    # A name stands in memory once, however many days it comes on.
    names = [
        dates(parts[dim].values) if dim == "time" else parts[dim].values.astype(str).tolist()
        for dim in parts.dims
    ]
    rows = (np.array(said, dtype=object)[place] for said, place in zip(names, some, strict=True))
    return Table(
        "because_days",
        "Where the used water was used last, day by day",
        [
            *(
                Column(head, told)
                for head, told in zip(
                    ("town", "date", "last used in", "came back"), rows, strict=True
                )
            ),
            Column("share of the tap water", parts.values[some], "share"),
        ],
    )


def dates(time: np.ndarray) -> list[str]:
    """Instants as text: dates where all are days."""
    text: list[str] = np.datetime_as_string(time, "m").tolist()
    is_daily = all(one.endswith("T00:00") for one in text)
    return [one[:10] for one in text] if is_daily else text
