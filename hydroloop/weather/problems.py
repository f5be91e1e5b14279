"""Problems of a table, gathered so that they are told all at once and not by the thousand."""

from __future__ import annotations

from hydroloop.errors import Problem, TableError

MOST = 20


class TableProblems:
    """Everything found wrong in one file.

    Parameters
    ----------
    file : str
        Name of the file, for the messages
    """

    def __init__(self, file: str):
        self.file = file
        self._found: list[tuple[int, Problem]] = []
        self.count = 0

    def add(self, line: int, what: str, cure: str = "", *, key: str = "") -> None:
        """Note a problem; line 0 stands for the whole file."""
        self.count += 1
        where = f"{self.file}:{line}" if line else self.file
        self._found.append((line, Problem(where, what, cure, key)))

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
        found = [problem for _, problem in sorted(self._found, key=lambda pair: pair[0])][:MOST]
        rest = self.count - len(found)
        if rest:
            found.append(Problem(self.file, f"and {rest} more."))
        return TableError(found)
