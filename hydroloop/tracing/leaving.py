"""The label of water as it leaves a store along given flows."""

from __future__ import annotations

import numpy as np

from hydroloop.tracing.operator import Operator


def label_leaving(op: Operator, label: np.ndarray, flows: np.ndarray) -> np.ndarray:
    """Label of the water that several flows carry, mixed by their rates.

    What a store holds at the end of a step is what its outflows of that step carry. Where none of
    the flows runs, the mean of the stores they leave is given.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    label : numpy.ndarray
        Label of every store at every edge, shape (edge, store, member).
    flows : numpy.ndarray of bool
        Flows that leave stores, shape (flow).

    Returns
    -------
    numpy.ndarray
        Shape (time, member), in the label's unit.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> from hydroloop.tracing import operator
    >>> pond = Network(["pond"], ["rain", "pond"], ["pond", "sky"], ["rain", "evaporation"])
    >>> record = build_record(pond, edges_of("2031-01-01", 1), [[1], [2]], [[2, 1]])
    >>> label = np.full((2, 1, 1), 0.5)
    >>> label_leaving(operator(record), label, record["source"].values == "pond").tolist()
    [[0.5]]
    """
    chosen = np.flatnonzero(flows & (op.source >= 0))
    rate = op.water.rate[:, chosen]
    total = rate.sum(axis=1, keepdims=True)
    even = np.full_like(rate, 1.0 / max(1, len(chosen)))
    weight = np.divide(rate, total, out=even, where=total > 0)
    part = np.where(weight > 0.0, label[1:, op.source[chosen]], 0.0)
    return np.asarray((part * weight).sum(axis=1))
