"""Balance a table that closes only to its last printed digit: said which flow or store takes it."""

from __future__ import annotations

import warnings
from collections.abc import Mapping

import numpy as np

from hydroloop.errors import HydroloopWarning, Problem, RecordError, TableError
from hydroloop.record.names import nearest
from hydroloop.record.network import Network

MOST_BALANCED = 1e-3
"""Largest gap that is taken for rounding, relative to the throughput of the store [-]."""

VOLUME = "volume"


def balanced(
    network: Network,
    edges: np.ndarray,
    volume: np.ndarray,
    rate: np.ndarray,
    takes: Mapping[str, str],
) -> tuple[np.ndarray, np.ndarray, str]:
    """Volumes (edge, store) [m3] and rates (time, flow) [m3/d] in which each named store closes,
    and what was changed, in words. `takes` names for a store the flow over a boundary that takes
    its gap, or "volume"; a gap too large to be rounding is refused."""
    _check_takes(network, takes)
    places = {name: k for k, name in enumerate(network.stores)}
    days = np.diff(np.asarray(edges, dtype="datetime64[ns]")) / np.timedelta64(1, "D")
    volume, rate, said = volume.copy(), rate.copy(), []
    for store, taker in takes.items():
        place = places[store]
        into = (rate[:, [k for k, name in enumerate(network.target) if name == store]]).sum(axis=1)
        out = (rate[:, [k for k, name in enumerate(network.source) if name == store]]).sum(axis=1)
        gap = np.diff(volume[:, place]) - days * (into - out)
        through = np.maximum(volume[:-1, place] + days * into, volume[1:, place] + days * out)
        part = np.divide(np.abs(gap), through, out=np.zeros_like(gap), where=through > 0)
        worst = int(part.argmax())
        if part[worst] > MOST_BALANCED:
            date = str(np.datetime_as_string(edges[worst], "D"))
            raise RecordError(
                f"{store}, {date}: the gap is {part[worst]:.3g} of the throughput: that is no "
                f"rounding, and only up to {MOST_BALANCED:g} is balanced. Mend the table there.",
                store=store,
                date=date,
                gap=float(part[worst]),
            )
        if taker == VOLUME:
            # Each later volume follows from the first and the flows.
            volume[1:, place] -= np.cumsum(gap)
        else:
            flow = list(network.flow).index(taker)
            rate[:, flow] += gap / days * (1.0 if network.target[flow] == store else -1.0)
        name = "its volumes" if taker == VOLUME else f'"{taker}"'
        said.append(
            f"{store}: {name} took the gap of {np.count_nonzero(gap)} steps, at most "
            f"{np.abs(gap).max():.3g} m3 ({part.max():.1e} of the throughput)."
        )
    text = " ".join(said)
    warnings.warn(f"The account was balanced. {text}", HydroloopWarning, stacklevel=3)
    return volume, rate, text


def _check_takes(network: Network, takes: Mapping[str, str]) -> None:
    if not isinstance(takes, Mapping):
        raise TableError(
            Problem(
                "balance",
                f"{takes!r} does not say of which store.",
                'Give what takes the gap for each store: {"lake": "volume"}.',
            )
        )
    problems = []
    for store, taker in takes.items():
        if store not in network.stores:
            problems.append(
                Problem("balance", f'there is no store "{store}".', nearest(store, network.stores))
            )
        elif taker != VOLUME and taker not in network.flow:
            cure = nearest(taker, network.flow) or 'Name a flow, or "volume".'
            problems.append(Problem("balance", f'there is no flow "{taker}".', cure))
        elif taker != VOLUME:
            flow = list(network.flow).index(taker)
            ends = {network.source[flow], network.target[flow]}
            if store not in ends or (ends - {store}) & set(network.stores):
                problems.append(
                    Problem(
                        "balance",
                        f'"{taker}" does not join {store} with the outside.',
                        "Name a flow of that store over a boundary: its gap would go on to "
                        "another.",
                    )
                )
    if problems:
        raise TableError(problems)
