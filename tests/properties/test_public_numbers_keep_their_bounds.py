"""Every public function of plain numbers: outside its bounds an error of ours, inside finite."""

from __future__ import annotations

import dataclasses
import inspect
import re
import warnings

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import hydroloop.plants
import hydroloop.weather
from hydroloop.errors import AskError, HydroloopError
from hydroloop.weather import Site

DAYS = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[D]")

# What a function needs besides plain numbers.
OTHERS = {
    "germ": "giardia",
    "survey": "FHA",
    "temperature_c": 10.0,
    "ph": 7.5,
    "rule": "straight",
    "site": Site(45.0, 100.0, 2.0),
    "treatment": "conventional",
    "method": "log_pearson3",
    "weather": {"tmin_c": 5.0, "tmax_c": 15.0, "humidity": 0.6, "sunshine_h": 6.0},
    "temperatures_c": {"winter": 1.0},
    "name": "a",
    "source": "b",
    "days": DAYS[:4],
}
# The same argument by another rule, where the function says it in its own words.
OF_FUNCTION = {
    ("plotting_positions", "rule"): "weibull",
    ("required_ct", "chlorine_mg_per_l"): 1.0,
    ("contact_by_season", "chlorine_mg_per_l"): 1.0,
    ("penman_monteith_mm", "temperature_c"): None,
}


def of_plain_numbers():
    """Public functions of weather and plants that state bounds."""
    for package in (hydroloop.weather, hydroloop.plants):
        for name in package.__all__:
            thing = getattr(package, name)
            if inspect.isfunction(thing) and getattr(thing, "bounds", None):
                yield thing


FUNCTIONS = list(of_plain_numbers())
ARGUMENTS = [(function, name) for function in FUNCTIONS for name in function.bounds]


def is_single(function, name):
    return str(inspect.signature(function).parameters[name].annotation).startswith(("float", "int"))


def one(bounds, draw=None):
    """A number within bounds: drawn, or in the middle of what is usual."""
    low, high = max(bounds.low, -1e9), min(bounds.high, 1e9)
    if bounds.is_whole:
        return 4 if draw is None else draw(st.integers(int(low), min(int(high), 50)))
    usual = min(max(low, 2.0), high) if low <= 2.0 <= high else (low + high) / 2.0
    return usual if draw is None else draw(st.floats(low, high))


def arguments(function, draw=None):
    """A call's arguments within bounds; arrays have four values."""
    given = {}
    for name, bounds in function.bounds.items():
        numbers = [one(bounds, draw) for _ in range(1 if is_single(function, name) else 4)]
        given[name] = numbers[0] if is_single(function, name) else np.array(numbers)
    if "time" in given and not is_single(function, "time"):
        given["time"] = np.array([0.0, 1.0, 2.5, 3.0])
    for low, *between, high in function.rising:
        first, last = np.minimum(given[low], given[high]), np.maximum(given[low], given[high])
        first = first - 1.0 if draw is None and between else first
        if draw is not None:
            assume(not between or np.all(first < last))
        given[low], given[high] = (x if np.ndim(x) else float(x) for x in (first, last))
    for name, parameter in inspect.signature(function).parameters.items():
        if name not in given and parameter.default is inspect.Parameter.empty:
            given[name] = OF_FUNCTION.get((function.__name__, name)) or OTHERS[name]
    return given


def numbers_of(value):
    """Every number in an answer, however it is packed."""
    if dataclasses.is_dataclass(value) or isinstance(value, dict):
        parts = value.values() if isinstance(value, dict) else vars(value).values()
    elif isinstance(value, tuple | list):
        parts = value
    elif isinstance(value, str) or value is None:
        return []
    else:
        return np.ravel(np.asarray(value, dtype=float)).tolist()
    return [number for part in parts for number in numbers_of(part)]


def bad_values(bounds, is_one, *, is_optional):
    yield from (float("nan"), float("inf"), -float("inf"), "63 %", [[1.0], [2.0, 3.0]], 1j)
    yield bounds.low - max(1.0, abs(bounds.low))
    yield bounds.high * 2 + 1
    if bounds.is_whole:
        yield 1.5
    if is_one:
        yield np.array([bounds.low, bounds.high])
    if not is_optional:
        yield None


@pytest.mark.parametrize(
    ("function", "name"),
    ARGUMENTS,
    ids=[f"{function.__name__}-{name}" for function, name in ARGUMENTS],
)
def test_outside_its_bounds_is_a_plain_error(function, name):
    """Percent for a share, negative, zero, missing, infinite, a word, a wrong shape: refused."""
    usual = arguments(function)
    parameter = inspect.signature(function).parameters[name]
    for bad in bad_values(
        function.bounds[name], is_single(function, name), is_optional=parameter.default is None
    ):
        with pytest.raises(AskError, match=name):
            function(**{**usual, name: bad})


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
@settings(max_examples=25, deadline=None)
@given(st.data())
def test_inside_its_bounds_is_finite(function, data):
    """Any numbers within the bounds give finite numbers, or an error of ours with its reason."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)  # a division by zero is told by a warning
        warnings.simplefilter("ignore", UserWarning)
        try:
            answer = function(**arguments(function, data.draw))
        except HydroloopError:
            return
    nothing_asked = function.__name__ == "contact_flow" and answer == np.inf
    assert nothing_asked or np.isfinite(numbers_of(answer)).all(), answer


LEAST_SAID = {"zero or more": 0.0, "from 1 up": 1.0, "of 1 or more": 1.0, "none missing": -1e15}


def test_the_cure_names_the_bounds():
    """What a message says may be given is what is taken: both ends, or the one that it names."""
    wrong = []
    for bounds in {one for function in FUNCTIONS for one in function.bounds.values()}:
        ends = re.search(r"(-?[\d,.]*\d) to (-?[\d,.]*\d)", bounds.cure)
        said = next((low for words, low in LEAST_SAID.items() if words in bounds.cure), None)
        if ends:
            right = bounds[:2] == tuple(float(end.replace(",", "")) for end in ends.groups())
        elif re.search("above zero|above 0|between 0 and 1", bounds.cure):
            right = 0.0 < bounds.low <= 1e-6
        else:
            right = said is None or bounds.low == said
        wrong += [] if right else [bounds]
    assert not wrong


def of_values():
    """Functions whose arguments are all numbers or arrays, and whose answer is one of them."""
    for function in FUNCTIONS:
        signature = inspect.signature(function)
        kinds = {str(signature.parameters[name].annotation) for name in function.bounds}
        if kinds == {"Values"} and signature.return_annotation == "Values":
            yield function


@pytest.mark.parametrize("function", list(of_values()), ids=lambda function: function.__name__)
@settings(max_examples=10, deadline=None)
@given(st.data())
def test_arrays_are_their_numbers_one_by_one(function, data):
    """An array in every argument gives what its numbers give, each by itself."""
    given = arguments(function, data.draw)
    arrays = {name: value for name, value in given.items() if name in function.bounds}
    try:
        together = function(**given)
    except HydroloopError:
        return
    alone = [
        function(**given | {name: float(value[k]) for name, value in arrays.items()})
        for k in range(4)
    ]
    assert np.shape(together) == (4,)
    np.testing.assert_allclose(together, alone, rtol=1e-9, atol=1e-12)


def test_many_functions_take_arrays():
    """Storm runoff, snow, sun, evaporation and contact: what a modeller has as a series."""
    assert {
        "runoff_depth",
        "snowfall_share",
        "melt_depth",
        "hargreaves_samani_mm",
        "t10",
        "available_ct",
        "log_inactivation",
    } <= {f.__name__ for f in of_values()}


PLAIN = ("float", "int", "Values", "Array", "np.ndarray", "Sequence[float]")


def test_every_plain_number_states_its_bounds():
    """No public function of the sciences takes a plain number that it states nothing of."""
    wrong = []
    for package, modules in ((hydroloop.weather, SCIENCES), (hydroloop.plants, RULES)):
        for name in package.__all__:
            thing = getattr(package, name)
            if not inspect.isfunction(thing) or thing.__module__.split(".")[-1] not in modules:
                continue
            stated = getattr(thing, "bounds", {})
            wrong += [
                f"{name}: {p.name}"
                for p in inspect.signature(thing).parameters.values()
                if str(p.annotation).startswith(PLAIN)
                and p.name not in stated
                and (name, p.name) not in CHECKED_OTHERWISE
            ]
    assert not wrong, "\n".join(wrong)


SCIENCES = (
    "sun",
    "vapour",
    "radiation",
    "evaporation",
    "curve_number",
    "snow",
    "fit",
    "frequency",
    "low_flow",
    "reference",
)
RULES = ("peaking", "contact", "tracer", "storage")
# Readings of the contact tables: the tables themselves say what they hold.
CHECKED_OTHERWISE = {
    *(
        (name, what)
        for name in ("required_ct", "contact_by_season")
        for what in ("temperature_c", "ph", "chlorine_mg_per_l")
    ),
    ("yearly_minima", "starts_in"),
}


def test_lists_and_arrays_give_the_same():
    """A list does where an array does, and arrays that do not fit are refused."""
    from hydroloop.weather import hargreaves_samani_mm

    lists = hargreaves_samani_mm([5.0, 6.0], [15.0, 16.0], 30.0)
    assert (
        lists.tolist()
        == hargreaves_samani_mm(np.array([5.0, 6.0]), np.array([15.0, 16.0]), 30.0).tolist()
    )
    with pytest.raises(AskError, match="do not fit"):
        hargreaves_samani_mm([5.0, 6.0], [15.0, 16.0, 17.0], 30.0)
    with pytest.raises(AskError, match="tmin_c is above tmax_c"):
        hargreaves_samani_mm(25.0, 15.0, 30.0)
