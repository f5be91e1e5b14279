"""Laws of reading and printing quantities."""

from __future__ import annotations

import string

from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.errors import InputError
from hydroloop.units import DIMENSIONS, WITHOUT_UNIT, Quantity, format_quantity, parse

AMOUNTS = st.floats(1e-6, 1e9, allow_nan=False)
PLAIN = [d for d in DIMENSIONS if d not in ("angle", *WITHOUT_UNIT)]


@given(AMOUNTS, st.sampled_from(PLAIN))
def test_a_number_in_its_held_unit_reads_back_exactly(value, dimension):
    """A number written in the held unit reads back to the same bits."""
    assert parse(f"{value!r} {DIMENSIONS[dimension].held}", dimension).value == value


@given(AMOUNTS, st.sampled_from(PLAIN), st.sampled_from(["us", "metric"]))
def test_what_is_printed_can_be_read(value, dimension, system):
    """What is printed reads back to the same quantity within three figures."""
    printed = format_quantity(value, dimension, system)
    read = parse(printed, dimension).value
    slack = 0.6 if dimension == "temperature" else 0.0  # the zero of Fahrenheit lies elsewhere
    assert abs(read - value) <= 0.0051 * abs(value) + slack


@given(st.integers(0, 10**12))
def test_commas_that_group_thousands_change_nothing(number):
    """A number with grouped thousands is the number without."""
    assert parse(f"{number:,} m3", "volume")[:3] == parse(f"{number} m3", "volume")[:3]


@given(AMOUNTS, AMOUNTS)
def test_the_middle_lies_between_the_ends(one, other):
    """Low, middle and high of a range are in order, and the middle is halfway."""
    low, high = sorted((one, other))
    read = parse(f"{low!r} to {high!r} m3", "volume")
    assert read.low <= read.value <= read.high
    assert (read.low, read.high) == (low, high)


def outcome(text: str, dimension: str) -> Quantity | InputError:
    """What reading gives: a quantity, or the error; anything else that is raised gets through."""
    try:
        return parse(text, dimension)
    except InputError as error:
        return error


def is_fair(result: Quantity | InputError) -> bool:
    """Whether it is a quantity in order, or one printable line."""
    if isinstance(result, InputError):
        return len(result.problems) == 1 and all(c.isprintable() for c in str(result))
    return result.low <= result.value <= result.high


@settings(max_examples=300, deadline=2000)  # pint may have to load the first time
@given(st.text(max_size=80), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_read_or_refused_in_one_line(text, dimension):
    """No text does anything but read as a quantity or raise one clear line, at once."""
    assert is_fair(outcome(text, dimension))


@settings(max_examples=300, deadline=2000)
@given(st.text(string.digits + "*^/().,eE +-mMgalftsd%", max_size=60))
def test_sums_and_powers_are_never_worked_out(text):
    """Texts made of the signs of arithmetic are read or refused within a moment."""
    assert is_fair(outcome(text, "volume"))
