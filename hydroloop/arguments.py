"""Arguments: what a number may be that is handed to a public function, and what it is told if not.

A share is 0 to 1 and never a percent, an area is above zero, a temperature is one that weather has.
Each public function of plain numbers states the bounds of its arguments by `bounded`; outside them
it says so, for every argument at once, and inside them it has a finite answer.
"""

from __future__ import annotations

import functools
import inspect
import re
import threading
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias, TypeVar

import numpy as np

from hydroloop.errors import AskError, Problem, ScenarioError

# A float or an array, and the result follows the argument: numpy's own types cannot say that.
Values: TypeAlias = Any
Function = TypeVar("Function", bound=Callable[..., Any])


class Bounds(NamedTuple):
    """What a number, or each number of an array, may be."""

    # least and largest, both allowed
    low: float
    high: float
    cure: str  # what to give, in words
    is_whole: bool = False  # whether only whole numbers are
    fewest: int = 0  # least number of values that an array has
    is_alone: bool = False  # whether an array need not fit the others


LARGEST, SMALLEST = 1e15, 1e-12
"""Beyond these no quantity of a town's water lies, in any of the units used here."""

NOT_NEGATIVE = Bounds(0.0, LARGEST, "Give a number of zero or more.")
POSITIVE = Bounds(SMALLEST, LARGEST, "Give a number above zero.")
SHARE = Bounds(0.0, 1.0, "Give a share of 0 to 1: 63 % is 0.63.")
CHANCE = Bounds(SMALLEST, 1.0 - SMALLEST, "Give a share between 0 and 1: 5 % is 0.05.")
POSITIVE_SHARE = Bounds(SMALLEST, 1.0, "Give a share above 0, at most 1: 65 % is 0.65.")
DOSE = Bounds(0.0, 1e6, "Give mg/L, 0 to 1,000,000 (which is all of a litre).")
PEOPLE = Bounds(SMALLEST, 1e11, "Give a number of people, above zero.")
CROWD = PEOPLE._replace(low=0.0, cure="Give a number of people, zero or more.")
STEP = Bounds(1.0 / 86400, 1.0, "Give the length of a step in days, at most 1: an hour is 1/24.")
PEAK = Bounds(1.0, 100.0, "Give a ratio of 1 or more.")
FLOW_RATES = NOT_NEGATIVE._replace(cure="Give flows of zero or more, none missing.", fewest=1)
LOGS = Bounds(0.0, 20.0, "Give logs, zero or more.")
COUNT = Bounds(1, 1e7, "Give a whole number from 1 up.", True)


class _Called(threading.local):
    """Whether a checked function is running: what it hands on to others is its own affair."""

    within = False


_called = _Called()


def bounded(*rising: tuple[str, ...], **table: Bounds) -> Callable[[Function], Function]:
    """State the bounds of a function's arguments, by name, and hold it to them; of each pair in
    `rising` the first is at most the second, or below it where "<" is between them.

    An argument that is annotated as one float or int must be one number; any other may be an
    array, and a list becomes one. Arrays of one call must fit each other. What is left out keeps
    its default, and None stands for it where the default is None. Only the outermost of nested
    calls is checked, so that a season's weather costs no more than its own arithmetic. The table
    stands in `bounds` of what comes back; compiled loops take it `unchecked`. A docstring that has
    no section of errors gets that of the bounds.
    """

    def mark(function: Function) -> Function:
        order = list(inspect.signature(function).parameters.values())
        names = [p.name for p in order]
        single = {p.name for p in order if str(p.annotation).startswith(("float", "int"))}
        optional = {p.name for p in order if p.default is None}
        assert set(table) <= set(names), f"{function.__name__} has no {set(table) - set(names)}"

        @functools.wraps(function)
        def checked(*given: Any, **by_name: Any) -> Any:
            if _called.within:
                return function(*given, **by_name)
            values = dict(zip(names, given, strict=False)) | by_name
            held = {n: v for n, v in values.items() if v is not None or n not in optional}
            values |= check(function.__name__, held, table, rising=rising, single=single)
            changed = [values[name] for name in names[: len(given)]]
            _called.within = True
            try:
                return function(*changed, *given[len(names) :], **{n: values[n] for n in by_name})
            finally:
                _called.within = False

        checked.bounds, checked.rising = table, rising  # type: ignore[attr-defined]
        checked.__doc__ = _with_raises(inspect.cleandoc(function.__doc__ or ""))
        return checked  # type: ignore[return-value]

    return mark


def _with_raises(text: str) -> str:
    """A numpydoc text with the error that arguments out of bounds raise."""
    if "\nReturns\n---" not in text or "\nRaises\n---" in text:
        return text
    raises = "\n\nRaises\n------\nAskError\n    An argument is out of its bounds."
    after = re.search(r"\n\n(Notes|References|Examples)\n---", text)
    place = after.start() if after else len(text)
    return text[:place] + raises + text[place:]


def check(
    where: str,
    values: Mapping[str, Any],
    table: Mapping[str, Bounds],
    *,
    rising: Sequence[tuple[str, ...]] = (),
    single: Container[str] = (),
) -> dict[str, Any]:
    """Hold values, given to `where`, to their bounds, all at once; lists come back as arrays. Those
    without bounds are let through, and `single` names those that must be one number."""
    taken: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, bounds in table.items():
        if name not in values:
            continue
        value = values[name]
        if type(value) is float and bounds.low <= value <= bounds.high and not bounds.is_whole:
            taken[name] = value  # the short way for the most usual case
            continue
        number, said = _number(value, name in single)
        said = said or _outside(number, bounds)
        if said:
            problems.append(Problem(where, said, bounds.cure, name))
        else:
            taken[name] = number
    problems = problems or list(_unfit(where, taken, table, rising))
    if problems:
        raise AskError(problems)
    return {name: taken[name] for name in taken if isinstance(values[name], list | tuple)}


def check_scenario(where: str, *given: Any) -> None:
    """Refuse what is no scenario, such as the name of one: it is read once, and then handed on."""
    for value in given:
        if not (hasattr(value, "town") and hasattr(value, "season")):
            cure = 'Read one first: hydroloop.read_scenario("first_town"), or a path.'
            raise ScenarioError(Problem(where, f"{_short(value)} is not a scenario.", cure))


def unchecked(function: Callable[..., Any]) -> Callable[..., Any]:
    """The function itself, without the checks of `bounded`: for loops that are compiled."""
    return inspect.unwrap(function)


def each(function: Function) -> Function:
    """Let a function of single numbers, which a compiled loop can call as it is, take arrays."""

    @functools.wraps(function)
    def over(*given: Any, **by_name: Any) -> Any:
        if not any(np.ndim(value) for value in (*given, *by_name.values())):
            return function(*given, **by_name)
        with np.errstate(all="ignore"):  # as for single numbers, which do not warn either
            return np.vectorize(function, otypes=[float])(*given, **by_name)

    return over  # type: ignore[return-value]


def _number(value: Any, is_single: bool) -> tuple[Any, str]:
    """A value as numbers, or what is wrong with it."""
    try:
        number = np.asarray(value)
    except (ValueError, TypeError):
        return None, "these are no numbers in a row."
    if number.dtype.kind not in "iuf":
        return None, f"{_short(value)} is not a number."
    if is_single and number.ndim:
        return None, f"an array of shape {number.shape} is given, but one number is wanted."
    return number, ""


def _outside(number: np.ndarray, bounds: Bounds) -> str:
    """What lies out of bounds, or nothing."""
    if number.ndim and number.size < bounds.fewest:
        return f"{number.size} values are too few: {bounds.fewest} or more are needed."
    low, high = (number.min(), number.max()) if number.size else (bounds.low, bounds.low)
    if (
        bounds.low <= low and high <= bounds.high and not (bounds.is_whole and (number % 1).any())
    ):  # a missing value fails both
        return ""
    good = (number >= bounds.low) & (number <= bounds.high)
    if bounds.is_whole:
        good &= np.trunc(number) == number
    if not number.ndim:
        is_missing = bool(np.isnan(number))
        return "the value is missing." if is_missing else f"{number:g} is out of bounds."
    first = np.unravel_index(int(good.argmin()), good.shape)
    place = first[0] if len(first) == 1 else tuple(int(k) for k in first)
    what = "is missing" if np.isnan(number[first]) else f"is {number[first]:g}: out of bounds"
    more = int((~good).sum()) - 1
    return f"the value at place {place} {what}{f', and {more} more' if more else ''}."


def _unfit(
    name: str,
    taken: dict[str, Any],
    table: Mapping[str, Bounds],
    rising: Sequence[tuple[str, ...]],
) -> Iterator[Problem]:
    """Arrays that do not fit each other, and pairs in the wrong order."""
    shapes = {
        key: np.shape(value)
        for key, value in taken.items()
        if np.ndim(value) and not table[key].is_alone
    }
    try:
        np.broadcast_shapes(*shapes.values())
    except ValueError:
        told = ", ".join(f"{key} {shape}" for key, shape in shapes.items())
        yield Problem(
            name, f"arrays have shapes that do not fit: {told}.", "Give arrays of one length."
        )
        return
    for low, *between, high in rising:
        wrong, told = (np.greater_equal, "is not below") if between else (np.greater, "is above")
        if low in taken and high in taken and np.any(wrong(taken[low], taken[high])):
            yield Problem(name, f"{low} {told} {high}.", "Exchange them, or mend the value.")


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."
