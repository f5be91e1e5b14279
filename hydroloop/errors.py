"""Errors and warnings.

::

    HydroloopError
    ├── InputError (also ValueError)      something the user wrote is wrong; carries every problem
    │   ├── ScenarioError                 in a scenario file or a change to one
    │   ├── TableError                    in a CSV or a table of volumes and flows
    │   └── AskError                      in a question: no such town, date, store, gate
    ├── RecordError (also ValueError)     a water record breaks its own rules; names store and date
    ├── OutputError (also OSError)        a file cannot be written, or would be overwritten
    └── WorkerError (also RuntimeError)   a process that ran a part of the work died

    HydroloopWarning (UserWarning)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hydroloop.visible import told

MOST_TOLD = 20
"""Problems that are told one by one; the rest are counted."""


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, said so that it can be mended.

    Attributes
    ----------
    where : str
        File and line, or the name of the argument: ``mill.toml:31``.
    what : str
        What was given and what is allowed.
    cure : str
        What to do. May be empty when `what` says it already.
    key : str
        Dotted key of the value, empty where there is none.
    """

    where: str
    what: str
    cure: str = ""
    key: str = ""

    def __str__(self) -> str:
        head = ": ".join(part for part in (self.where, self.key) if part)
        return told(f"{head}: {self.what}" + (f" {self.cure}" if self.cure else ""))


class HydroloopError(Exception):
    """Any error that hydroloop raises on purpose."""


class InputError(HydroloopError, ValueError):
    """Something the user wrote is wrong.

    Parameters
    ----------
    problems : Problem or sequence of Problem
        What was found, in file order.
    more : int
        How many problems were found besides, and are only counted.
    """

    def __init__(self, problems: Problem | Sequence[Problem], more: int = 0):
        self.problems = [problems] if isinstance(problems, Problem) else list(problems)
        self.more = more
        super().__init__("\n".join(self.lines()))

    @property
    def count(self) -> int:
        """How many problems were found."""
        return len(self.problems) + self.more

    def lines(self) -> list[str]:
        """The first problems, one line each, and how many there are besides."""
        lines = [str(problem) for problem in self.problems[:MOST_TOLD]]
        rest = self.count - len(lines)
        return [*lines, f"and {rest:,} more."] if rest else lines

    def __reduce__(self) -> tuple[type[InputError], tuple[list[Problem], int]]:
        """Made anew from its problems, where it comes out of another process."""
        return type(self), (self.problems, self.more)


class ScenarioError(InputError):
    """A scenario file, or a change to a scenario, is wrong."""


class TableError(InputError):
    """A CSV file, or a table of volumes and flows, is wrong."""


class AskError(InputError):
    """A question names a town, date, store, flow or gate that does not exist."""


class RecordError(HydroloopError, ValueError):
    """A water record breaks its own rules.

    Parameters
    ----------
    message : str
        The one line that is shown.
    store, date : str
        Where the rule is broken; empty where it does not apply.
    gap : float
        Relative gap of the account there [-].
    """

    def __init__(self, message: str, *, store: str = "", date: str = "", gap: float = 0.0):
        self.store, self.date, self.gap = store, date, gap
        super().__init__(told(message))  # names in it may be a stranger's


class OutputError(HydroloopError, OSError):
    """A file cannot be written, or would be overwritten unasked."""


class WorkerError(HydroloopError, RuntimeError):
    """A process that ran a part of the work died; says what is kept and how to go on."""


class HydroloopWarning(UserWarning):
    """Any warning that hydroloop gives on purpose."""
