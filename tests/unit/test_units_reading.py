"""Reading quantities: what is taken, what is refused, and with which words."""

from __future__ import annotations

import subprocess
import sys
import time

import pytest

from hydroloop.errors import InputError
from hydroloop.units import DIMENSIONS, parse


@pytest.mark.parametrize(
    ("text", "dimension", "held", "digits"),
    [
        # NIST SP 811 (2008), Appendix B.8, from memory: the factor as printed, seven digits.
        ("1 gal", "volume", 3.785412e-3, 7),
        ("1 ft3", "volume", 2.831685e-2, 7),
        ("1 gal/day", "flow", 4.381264e-8 * 86400, 7),
        ("1 gpm", "flow", 6.309020e-5 * 86400, 7),
        ("1 cfs", "flow", 2.831685e-2 * 86400, 7),
        ("1 mph", "speed", 4.4704e-1, 5),
        ("1 ft", "elevation", 3.048e-1, 4),
        ("1 in", "depth", 25.4, 3),
        ("1 mi", "length", 1.609344, 7),
        ("1 mi2", "area", 2.589988, 7),
        ("1 ft2", "small_area", 9.290304e-2, 7),
        # Same table: the acre by the survey foot, 4.046 873E+03 m2; the international acre used
        # here is 4 parts in a million smaller, so five digits.
        ("1 acre", "area", 4.046873e-3, 5),
        ("1 acre_ft", "volume", 1.233489e3, 5),
    ],
)
def test_a_unit_has_its_published_factor(text, dimension, held, digits):
    """Each unit of the trade converts by the published factor, to the digits printed."""
    assert parse(text, dimension).value == pytest.approx(held, rel=0.6 * 10 ** (1 - digits))


@pytest.mark.parametrize(
    ("text", "same", "dimension"),
    [
        ("4.5 mgd", "4.5 Mgal/day", "flow"),
        ("4.5 MGD", "4.5 million gallons per day", "flow"),
        ("4.5 MG", "4.5 Mgal", "volume"),
        ("4.5 MG/d", "4.5 mgd", "flow"),
        ("25 cfs", "25 ft3/s", "flow"),
        ("25 cfs", "25 cubic feet per second", "flow"),
        ("25 cfs", "25 ft^3/s", "flow"),
        ("25 cfs", "25 ft**3 / s", "flow"),
        ("12 ML/day", "12,000 m3/day", "flow"),
        ("12 MLD", "12000 m³/d", "flow"),
        ("60 gpcd", "60 gal/person/day", "per_person"),
        ("60 gpcd", "60 gallons per person per day", "per_person"),
        ("220 L/cap/d", "0.22 m3/person/day", "per_person"),
        ("100 ccf", "10,000 ft3", "volume"),
        ("3 acre-ft", "3 acre_foot", "volume"),
        ("3 acft", "3 acre feet", "volume"),
        ("8 sq mi", "8 mi2", "area"),
        ("8 square miles", "5,120 acres", "area"),
        ("100 ha", "1 km2", "area"),
        ("12 in", "1 foot", "depth"),
        ("16 %", "0.16", "share"),
        ("16 percent", "16%", "share"),
        ("1 week", "7 days", "duration"),
        ("90 min", "1.5 h", "duration"),
        ("3600 s", "1 hr", "duration"),
        ("45 N", "45 deg", "angle"),
        ("33.5 S", "-33.5 degrees", "angle"),
        ("33.5° S", "-33.5 deg", "angle"),
        ("33.5 degrees", "33.5 deg", "angle"),  # the s of degrees is not the south
        ("33.5 degrees south", "33.5 S", "angle"),
        ("36 km/h", "10 m/s", "speed"),
        ("24,000 people", "24000", "count"),
        ("68 F", "20 C", "temperature"),
        ("68 f", "20 degC", "temperature"),
        ("68 Fahrenheit", "20 celsius", "temperature"),
        ("1e3 m3", "1000 m3", "volume"),
        ("1 KM", "1 km", "length"),
        ("-5 \u00b0C", "\u22125 C", "temperature"),
    ],
)
def test_two_ways_to_write_one_quantity(text, same, dimension):
    """Spellings of the trade, symbols and words in full mean the same."""
    assert parse(text, dimension).value == pytest.approx(parse(same, dimension).value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("9**9**9", "flow", "is not a number with a unit"),
        ("10**10**8 m", "length", "is not a number with a unit"),
        ("1 m**9", "volume", "is not a number with a unit"),
        ("(3) m3", "volume", "is not a number with a unit"),
        ("__import__('os')", "volume", "does not begin with a number"),
        ("nan", "flow", "does not begin with a number"),
        ("inf m3", "volume", "does not begin with a number"),
        ("m3/s", "flow", "does not begin with a number"),
        ("", "flow", "is empty"),
        ("   ", "flow", "is empty"),
        ("1e400 m", "length", "far too large"),
        ("1e300 m3", "volume", "far too large"),
        ("1e-300 m3", "volume", "too small to count"),
        ("4.5", "flow", "has no unit"),
        ("0", "temperature", "has no unit"),
        ("4,5 m3", "volume", "a comma only groups thousands"),
        ("12,34 gal", "volume", "a comma only groups thousands"),
        ("1.200,5 m3", "volume", "a comma only groups thousands"),
        ("1.2.3 m3", "volume", "is not a number with a unit"),
        ("3 blob", "flow", 'the unit "blob" is not known'),
        ("3 kg", "volume", "is a mass, but a volume is wanted"),
        ("398 gpd/ft2", "speed", "is a flow for each area, but a speed is wanted"),
        ("0.4 m3/s/m2", "speed", "is a flow for each area, but a speed is wanted"),
        ("3 tons", "mass", "Tons differ"),
        ("2 ppm", "concentration", "write mg/L"),
        ("12 mg", "volume", "milligrams"),
        ("5 Mm3", "volume", "million cubic metres or cubic megametres"),
        ("5 MM", "depth", "millions or millimetres"),
        ("5 A", "duration", 'the unit "A" is not known'),
        ("5 Ml", "volume", "megalitres or millilitres"),
        ("2 months", "duration", "differ in length"),
        ("acre-foot", "volume", "does not begin with a number"),
        ("5 gal/person day", "per_person", "cannot be read safely"),
        ("5 m m m m m m", "length", "cannot be read safely"),
        ("-3 m3/day", "flow", "is negative"),
        ("160 %", "share", "more than the whole"),
        ("16", "share", 'Write "16 %"'),
        ("95 N", "angle", "beyond the pole"),
        ("-33.5 S", "angle", "a sign and a direction"),
        ("33.5 E", "angle", 'the unit "E" is not known'),
        ("14 % to 8 %", "share", "runs backwards"),
        ("1 to 2 to 3 m", "length", "more than two ends"),
        ("1 m" + " " * 10 + "x" * 200, "length", "too long"),
        ("24.5 %", "count", "is a plain number"),
    ],
)
def test_what_is_no_quantity_is_refused_with_its_reason(text, dimension, says):
    """A text that is not plainly a quantity is refused in one line that says why."""
    with pytest.raises(InputError) as caught:
        parse(text, dimension)
    message = str(caught.value)
    assert says in message
    assert "\n" not in message


def test_the_wrong_kind_of_quantity_is_named():
    """A volume in place of a flow is called so, and the cure is the text with /day."""
    with pytest.raises(InputError) as caught:
        parse("12 ML", "flow", name="a capacity")
    assert str(caught.value) == (
        'quantity: "12 ML" is a volume, but a capacity is a flow. Write for example "12 ML/day".'
    )


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("60 gal/person/day", "flow", "for the whole town"),
        ("4.5 Mgal/day", "per_person", "a flow for each person is wanted"),
    ],
)
def test_a_town_and_a_person_are_not_mixed_up(text, dimension, says):
    """A figure for each person is refused for the whole town, and the reverse."""
    with pytest.raises(InputError, match=says):
        parse(text, dimension)


def test_a_range_holds_its_ends_and_its_middle():
    """A range keeps low and high, and its value is the middle."""
    read = parse("8 % to 14 %", "share")
    assert (read.low, read.high) == (0.08, 0.14)
    assert read.value == pytest.approx(0.11)
    assert read.text == "8 % to 14 %"


@pytest.mark.parametrize("text", ["8 to 14 %", "8 % to 0.14", "8 % – 14 %", "8% to 14%"])
def test_a_range_may_give_its_unit_once(text):
    """The unit may stand at one end only where that end is the last, or none is needed."""
    read = parse(text, "share")
    assert (read.low, read.high) == (0.08, 0.14)


def test_zero_needs_no_unit():
    """Zero is zero in any unit, but not a temperature."""
    assert parse("0", "flow").value == 0.0


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_every_example_can_be_read(dimension):
    """What a message offers as an example is itself accepted."""
    for example in DIMENSIONS[dimension].examples:
        assert parse(example, dimension).low <= parse(example, dimension).high


def test_rare_units_are_looked_up():
    """A unit outside the table of the trade is found all the same, alone or in a flow."""
    # NIST SP 811 (2008), Appendix B.8, from memory: yard 9.144E-01 m, exact.
    assert parse("1 yard", "elevation").value == pytest.approx(0.9144, rel=1e-12)
    assert parse("10 yard^3/day", "flow").value == pytest.approx(10 * 0.9144**3, rel=1e-12)


def test_pint_is_not_loaded_for_the_units_of_the_trade():
    """Reading the examples of every dimension does not load pint."""
    code = (
        "import sys; from hydroloop.units import parse, DIMENSIONS\n"
        "[parse(e, d) for d, s in DIMENSIONS.items() for e in s.examples]\n"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_reading_a_hundred_texts_is_quick():
    """A hundred different quantities take less than 30 ms, on the best of five tries."""
    times = []
    for batch in range(5):  # new texts each time, as what was read once is remembered
        flows = [f"{n}.{batch}71 Mgal/day" for n in range(50)]
        shares = [f"{n}.{batch}71 % to {n + 5} %" for n in range(50)]
        start = time.perf_counter()
        for text in flows:
            parse(text, "flow")
        for text in shares:
            parse(text, "share")
        times.append(time.perf_counter() - start)
    assert min(times) < 0.030
