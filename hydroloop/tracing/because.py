"""Because: who used the used water last, and by which way it came back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.record import nearest
from hydroloop.tracing.last_use import check_drawn
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.parts import APART, advance, crossings
from hydroloop.tracing.parts_begun import parts_begun
from hydroloop.tracing.passing import UNKNOWN
from hydroloop.tracing.returning import (
    ABOVE,
    NOT_KNOWN,
    RETURNS,
    WAYS,
    WITHIN,
    Users,
    largest_apart,
    users_of,
)
from hydroloop.tracing.use_shares import first_uses
from hydroloop.tracing.warm_up import check_warm_up
from hydroloop.tracing.where_and_when import (
    Gate,
    as_counted,
    find_gate,
    find_most,
    find_step,
    find_store,
)

BY = {"town": "used_in", "use": "used_for", "way": "way"}
"""What the used share can be split by, and the dim that each makes."""

_WORDS = {
    "used_in": "place that used the water last",
    "used_for": "end use that used it last",
    "way": "way by which it came back since",
}


@dataclass(frozen=True, eq=False)
class UsedParts:
    """Parts of the water in some stores, at every edge.

    Attributes
    ----------
    users : Users
        Who used it.
    user : numpy.ndarray
        Parts by user, then used above the record, used nobody knows where, never used, and of an
        unknown past; shape (label, edge, store, member) [-].
    way : numpy.ndarray
        Parts of each town by way, not returned and then `RETURNS`; shape (way, town, edge, store,
        member) [-].
    """

    users: Users
    user: np.ndarray
    way: np.ndarray

    @property
    def towns(self) -> tuple[str, ...]:
        """Places that use water."""
        return tuple(dict.fromkeys(self.users.town))

    def apart(self, name: str) -> np.ndarray:
        """Water without a user in the record, shape (edge, store, member)."""
        return np.asarray(self.user[len(self.users.town) + APART.index(name)])

    def split(self, by: Sequence[str]) -> tuple[np.ndarray, dict[str, list[str]]]:
        """The used share in parts.

        Parameters
        ----------
        by : sequence of str
            One or two of `BY`; of two one is "town".

        Returns
        -------
        tuple
            Parts, shape (\\*by, edge, store, member) [-], and the names along each dim.
        """
        names = {
            "town": [*self.towns, ABOVE, NOT_KNOWN],
            "way": list(WAYS),
            "use": [*dict.fromkeys(self.users.use), ABOVE, NOT_KNOWN],
        }
        labels = {BY[part]: names[part] for part in by}
        found = np.zeros((*(len(label) for label in labels.values()), *self.user.shape[1:]))
        for owner, share in self._pieces("way" in by):
            place = tuple(names[part].index(owner[part]) for part in by)
            found[place] += share
        return found, labels

    def _pieces(self, by_way: bool) -> Iterator[tuple[dict[str, str], np.ndarray]]:
        for name, words in (("above", ABOVE), ("untold", NOT_KNOWN)):
            yield dict.fromkeys(BY, words), self.apart(name)
        if by_way:
            for way, shares in zip((WITHIN, *RETURNS), self.way, strict=True):
                for town, share in zip(self.towns, shares, strict=True):
                    yield {"town": town, "way": way}, share
            return
        for k, (town, use) in enumerate(zip(self.users.town, self.users.use, strict=True)):
            yield {"town": town, "use": use}, self.user[k]


def because(
    record: xr.Dataset | Operator,
    *,
    at: str,
    on: Any = None,
    by: str | Sequence[str] = "town",
    gate: Gate = None,
    warm_up: str = "repeat",
) -> xr.Dataset:
    """Used share in parts: who used the water last, and by which way it came back.

    Tells why a glass has used water in it. The parts sum to the used share of `count_uses`. A part
    is told of the last use only: water that two towns have used counts for the second. What stood
    in the first volumes has a past as `warm_up` says; for `last_use` it has none, so that with
    "repeat" less is unknown here, and more never used or used.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    at : str
        Store that the glass is drawn from.
    on : str or datetime, or a list of them, optional
        Date; the glass is drawn in the step that contains it. By default all steps of the record.
    by : str or sequence of str
        "town": place that used it last; "use": end use, as ``toilets``; "way": by which it came
        back; or "town" with one of the others, as ``["town", "way"]``.
    gate : str, sequence of str, or boolean mask over flows, optional
        Ready gate, as "toilet", flow kind, names of flows, or one truth value per flow;
        by default what the scenario of the record says, else "home".
    warm_up : str
        Past of the water that is there at the first edge, as in `count_uses`.

    Returns
    -------
    xarray.Dataset
        ``share`` ([on,] used_in, used_for or way): parts of the glass that were used before [-],
        ``never`` and ``unknown``: the rest, so that all sum to one. With a list of dates, or all
        steps, `on` is the first dimension; NaN where the store has no water. Member last where the
        record has it. Names that are no place: "above the map", used before it entered the record;
        "not known", used in it nobody knows where, where no repeats settle the parts.

    Raises
    ------
    AskError
        There is no such store, date, gate, part or way to warm up, or the store is empty on a date
        asked for.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    The operator of `count_uses`, with a label for each user j in place of each number of uses: with
    M the matrix of a step without the gate flows, and G_j those to user j,
    ``M c_j = V c_j_old + dt sum q(G_j)``. The way is a second label that the last returning flow
    sets: with R_w the flows by which water comes back by way w, and M' the matrix without them too,
    ``M' c_jw = V c_jw_old + dt sum q(R_w) c_j``. By "river" comes what an outfall returns;
    "overflow" is what sewers and storm drains let into a river untreated; "ground" is what leaks,
    seeps or is led into the ground; "not returned" has crossed none of these since its use.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> ends = (["upstream", "a/home", "reach"], ["a/home", "reach", "downstream"])
    >>> town = Network(["a/home", "reach"], *ends, ["home_use", "outfall", "downstream"])
    >>> record = build_record(town, edges_of("2031-01-01", 1), [[0, 0]] * 2, [[1, 1, 1]])
    >>> found = because(record, at="reach", on="2031-01-01", by=["town", "way"])
    >>> float(found.share.sel(used_in="a", way="river"))
    1.0
    """
    op = operator(record)
    parts = _asked_parts(by)
    store = find_store(op, at)
    is_list = (
        on is None or isinstance(on, (list, tuple)) or (np.ndim(on) > 0 and not isinstance(on, str))
    )
    dates = [] if on is None else list(on) if is_list else [on]
    if on is not None and not dates:
        raise AskError(Problem("on", "there is no date.", "Give at least one."))
    steps = [find_step(op, date) for date in dates]
    check_drawn(op, store, steps)
    if on is None:
        steps = list(range(op.shape[0]))
    traced = used_parts(op, np.array([store]), gate, warm_up=warm_up)
    answer = _labelled(op, traced, steps, parts)
    return answer if is_list else answer.isel(on=0, drop=True)


def used_parts(
    op: Operator,
    stores: np.ndarray,
    gate: Gate,
    *,
    most: int = 12,
    warm_up: str,
    first: np.ndarray | None = None,
    towns: int | None = None,
) -> UsedParts:
    """Parts of the used water in some stores at every edge.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    stores : numpy.ndarray of int
        Places of the stores in the record.
    gate, most, warm_up
        As in `count_uses`, with whose shares the parts begin.
    first : numpy.ndarray, optional
        Those shares at the first edge, where `uses_at` has found them for the same gate; shape
        (use, then unknown past and mean, store, member) [-].
    towns : int, optional
        Towns that are told apart at most: those that use most water, the others as one.

    Returns
    -------
    UsedParts
        Parts that sum to one with what was never used and what is of an unknown past.

    Raises
    ------
    AskError
        There is no such gate or way to warm up.
    """
    mask, op = find_gate(op, gate), as_counted(op, gate)
    if first is None:
        first = first_uses(op, mask, find_most(most), check_warm_up(warm_up))
    counted = np.stack([first[0], first[1:UNKNOWN].sum(axis=0), first[UNKNOWN]])
    users = users_of(op, mask)
    users = users if towns is None else largest_apart(op, users, towns)
    rules = crossings(op, mask, users)
    found = []
    for member in range(op.shape[2]):
        alone = op.member(member)
        begun = parts_begun(alone, rules, counted[..., member], warm_up)
        found.append(advance(alone, rules, begun, op.shape[0], stores)[1])
    return UsedParts(
        users,
        np.stack([parts.user for parts in found], axis=-1),
        np.stack([parts.way for parts in found], axis=-1),
    )


def _asked_parts(by: Any) -> list[str]:
    parts = [by] if isinstance(by, str) else [str(part) for part in by]
    choice = 'Choose "town", "use" or "way", or "town" with one of the others.'
    for part in parts:
        if part not in BY:
            cure = nearest(part, BY) or choice
            raise AskError(Problem("by", f'a used share has no parts by "{part}".', cure))
    if len(set(parts)) != len(parts) or not 1 <= len(parts) <= 2 or {*parts} == {"use", "way"}:
        raise AskError(Problem("by", f"{', '.join(parts) or 'nothing'} cannot be had.", choice))
    return parts


def _labelled(op: Operator, traced: UsedParts, steps: list[int], by: Sequence[str]) -> xr.Dataset:
    share, labels = traced.split(by)
    edges = np.array(steps, dtype=np.int64) + 1
    is_wet = traced.user[:, edges, 0].sum(axis=0) > 0.5

    def drawn(values: np.ndarray) -> np.ndarray:
        """What leaves the store in the steps: that which it holds at their ends."""
        return np.where(is_wet, values[..., edges, 0, :], np.nan)

    split = np.moveaxis(drawn(share), -2, 0)
    data: dict[str, tuple[Any, ...]] = {
        "share": (("on", *labels), split, "1", "share of the glass that was used before, in parts"),
        "never": (("on",), drawn(traced.apart("never")), "1", "share never used"),
        "unknown": (("on",), drawn(traced.apart("unknown")), "1", "share whose past is not known"),
    }
    coords: dict[str, Any] = {
        "on": (op.edge[steps], "", "start of the step in which the glass is drawn")
    }
    for dim, names in labels.items():
        coords[dim] = (np.array(names), "1", _WORDS[dim])
    return result(op, data, coords)
