"""Problems of a table, gathered so that they are told all at once and not by the thousand."""

from __future__ import annotations

import heapq
from typing import Any

from hydroloop.errors import MOST_TOLD, Problem, TableError
from hydroloop.units import one_line


class TableProblems:
    """Everything found wrong in one file.

    Parameters
    ----------
    file : str
        Name of the file, for the messages
    """

    def __init__(self, file: str):
        self.file = one_line(file, 200)
        self._found: list[tuple[int, int, str, str, str]] = []  # a heap, the last line on top
        self.count = 0

    def add(self, line: int, what: str, cure: str = "", *, key: str = "") -> None:
        """Note a problem; line 0 stands for the whole file. The first lines are kept."""
        self.count += 1
        if len(self._found) < MOST_TOLD:
            heapq.heappush(self._found, (-line, -self.count, what, cure, key))
        elif -line > self._found[0][0]:
            heapq.heapreplace(self._found, (-line, -self.count, what, cure, key))

    def first(self, rows: Any) -> Any:
        """Of rows that are wrong, in order, those to be told; the rest are only counted."""
        self.count += max(0, len(rows) - MOST_TOLD)
        return rows[:MOST_TOLD]

    def stop_if_any(self) -> None:
        """Raise what was found, if anything.

        Raises
        ------
        TableError
            If anything was found.
        """
        if self.count:
            raise self.error()

    def stop(self, line: int, what: str, cure: str = "") -> TableError:
        """Note a last problem, and the error to raise for all of them."""
        self.add(line, what, cure)
        return self.error()

    def error(self) -> TableError:
        """The error for what was found: in the order of lines, at most twenty and a count."""
        found = [
            Problem(f"{self.file}:{-line}" if line else self.file, what, cure, key)
            for line, _, what, cure, key in sorted(self._found, reverse=True)
        ]
        return TableError(found, self.count - len(found))
