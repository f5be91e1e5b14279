"""A run with what is asked of it."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from hydroloop.measures.run_arrays import Run
from hydroloop.tracing import Operator, as_counted, find_gate
from hydroloop.tracing.where_and_when import find_most


class Asked(NamedTuple):
    """A run with what is asked of it.

    Attributes
    ----------
    run : Run
        Arrays of the record.
    counted : Operator
        Its operator, with what is known of uses above the record for what counts as a use.
    gate : object
        What counts as a use, as it was asked for.
    mask : numpy.ndarray of bool
        Flows that are a use, shape (flow).
    most : int
        Highest use class.
    """

    run: Run
    counted: Operator
    gate: Any
    mask: np.ndarray
    most: int

    def member(self, place: int) -> Asked:
        """The same of one member alone."""
        return self._replace(run=self.run.by_itself(place), counted=self.counted.member(place))


def asked_of(run: Run, gate: Any, most: int) -> Asked:
    """Check what is asked.

    Raises
    ------
    AskError
        If the gate is unknown, or `most` is out of bounds.
    """
    mask = find_gate(run.op, gate)
    return Asked(run, as_counted(run.op, gate), gate, mask, find_most(most))
