"""All measures of a run in one table: questions are asked of arrays, the table is built at the end.

Each module asks one question of a run and gives arrays by the names of the glossary, the member
last: `how_much` (flows and supply), `how_often` (uses), `how_long` (times), `whole` (the account).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

import xarray as xr

from hydroloop.arguments import check_scenario
from hydroloop.measures.gather.asked import asked_of
from hydroloop.measures.gather.dataset import Found, dataset_of
from hydroloop.measures.gather.glasses import glasses
from hydroloop.measures.gather.how_long import NEAREST, how_long
from hydroloop.measures.gather.how_much import how_much
from hydroloop.measures.gather.how_often import MOST_NAMED, drawn_in, how_often
from hydroloop.measures.gather.whole import whole
from hydroloop.measures.run_arrays import run_of
from hydroloop.measures.towns import tell_stray_outfalls
from hydroloop.placenames import names_of, with_names

__all__ = ["measures"]

_FEW = 50
"""Towns of which two questions are asked at once: of more, the arrays of both take much memory."""


def measures(
    record: xr.Dataset,
    scenario: Any = None,
    *,
    gate: Any = None,
    most: int = 5,
    glass_dates: Sequence[Any] = (),
) -> xr.Dataset:
    """All measures of a run.

    One table with everything that the reports and pictures show. Each measure is defined once, in
    the documentation, *Measures*.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    scenario : Scenario, optional
        The scenario it came from; its towns come in the order of the file.
    gate : str, sequence of str, or boolean mask
        What counts as a use: a ready gate, kinds or names of flows, or one truth value per flow;
        by default what the record's scenario says.
    most : int
        Highest use class; it holds `most` uses or more.
    glass_dates : sequence of datetime
        Dates for which every town's glass is taken apart, besides its most-used day.

    Returns
    -------
    xarray.Dataset
        Variables with the dims time, town, use, store, place and others; each has its unit and its
        meaning as attributes. Member last where the record has it.

    Raises
    ------
    AskError
        If the gate is unknown, `most` is out of bounds, or a town has no water on a date asked for.
    RecordError
        If the record breaks its own rules.
    ScenarioError
        If what is given for the scenario is none.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> table = hl.measures(hl.simulate(scenario), scenario)
    >>> bool(table.season_used_share.sel(town="penhollow") > 0)
    True
    """
    if scenario is not None:
        check_scenario("measures", scenario)
    run = run_of(record, scenario.town if scenario is not None else None)
    asked = asked_of(run, gate, most)
    found = whole(asked)
    if run.towns:
        tell_stray_outfalls(run.op, run.towns)
        drawn = drawn_in(asked)
        found |= how_much(run)
        with _beside(how_long, asked, found, at_once=len(run.towns) <= _FEW) as times:
            found |= how_often(asked, drawn, found)
            found |= glasses(asked, drawn, found, glass_dates)
        found |= times()
    attrs = {name: found.attrs[name] for name in ("warm_up_change",) if name in found.attrs}
    said = run.op.count_as if gate is None else gate if isinstance(gate, str) else "chosen flows"
    attrs |= {"title": str(record.attrs.get("title", "")), "gate": said, "most": most}
    if len(run.towns) > NEAREST:
        attrs["pairs_of_towns"] = (
            f"an outfall is followed to the {NEAREST} taps that it reaches first; of more than "
            f"{MOST_NAMED} towns those that use most are told apart as last users"
        )
    return with_names(dataset_of(found, run.op.members, attrs), names_of(record))


@contextmanager
def _beside(
    question: Callable[..., Found], *given: Any, at_once: bool
) -> Iterator[Callable[[], Found]]:
    """Ask a question in a thread of its own: loops that are compiled run beside each other."""
    if not at_once:
        yield lambda: question(*given)
        return
    with ThreadPoolExecutor(1) as thread:
        yield thread.submit(question, *given).result
