"""Limits: whatever is too large, too long or no file is refused in seconds, in a few lines."""

from __future__ import annotations

import os
import time

import pytest
from small_scenarios import ONE_TOWN

from hydroloop import read_scenario
from hydroloop.errors import InputError
from hydroloop.scenario import read_toml
from hydroloop.weather import read_weather
from hydroloop.whatif import read_plan
from hydroloop.whatif.plan import read_plan_text

LONG_S = 10.0
TABLE = "date,rain [mm],tmin [C],tmax [C]\n"
READERS = {"scenario": read_scenario, "plan": read_plan, "table": read_weather}


def refused(read, given) -> InputError:
    """The error, which comes soon and is short whatever was given."""
    begun = time.process_time()
    with pytest.raises(InputError) as caught:
        read(given)
    assert time.process_time() - begun < LONG_S
    lines = str(caught.value).splitlines()
    assert 1 <= len(lines) <= 21
    assert all(len(line) < 1500 for line in lines)
    return caught.value


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes with names")
@pytest.mark.parametrize("kind", READERS)
def test_what_is_no_plain_file_is_refused_before_it_is_read(kind, tmp_path):
    """A device gives bytes for ever and a pipe none: neither is read."""
    os.mkfifo(tmp_path / "pipe")
    for path in ("/dev/zero", tmp_path / "pipe"):
        assert "a device or a pipe" in str(refused(READERS[kind], path))
    for path in (tmp_path, tmp_path / "none", "a\0b", "x" * 5000):
        refused(READERS[kind], path)


@pytest.mark.parametrize("kind", READERS)
def test_a_file_larger_than_any_such_file_is_refused(kind, tmp_path):
    """A gigabyte that takes no room on the disk is not read."""
    with open(tmp_path / "hole", "wb") as file:
        file.truncate(10**9)
    assert "million bytes" in str(refused(READERS[kind], tmp_path / "hole"))


@pytest.mark.parametrize(
    "text",
    [
        'warmer_by = "' + "1" * 9000 + ' x"',
        'warmer_by = "' + "1." * 4000 + ' to 2"',
        'wind = "' + "9" * 9000 + ' m/s"',
        "seed = 0x" + "f" * 15_000,
        "wind = " + "9" * 400,
        "wind = -0b" + "1" * 15_000,
        "seed = " + "1" * 4000,
        "warmer_by = " + "9" * 400,
        "elevation = 0o" + "7" * 9000,
        f"about = '{'x' * 19_000}'",
        f"{'k' * 15_000} = 1",
        f"x = {'[' * 9000}",
        f"x = {'[' * 400}{']' * 400}",
        f"{'a.' * 40}a = 1",
        f"{'a.' * 9000}a = 1",
        f"x = [{'1,' * 9000}]",
        f"x = {{{'a.' * 300}a = 1}}",
        "x = '" + "y" * 500_000 + "'",
        "\n".join(f"k{number} = 1" for number in range(60_000)),
        "\n".join(f"k{number} = 1" for number in range(19_000)),
        "\n".join(f"[river.r{number}]" for number in range(19_000)),
        "\n".join(f"[town.t{number}]" for number in range(19_000)),
        "x = 1\n" * 100_000,
        "#" * 3_000_000,
    ],
    ids=lambda text: text[:20],
)
def test_what_is_too_much_in_a_scenario_is_refused_soon(text):
    """Digits, depth, length and number: each with the line or the key."""
    heading = "[weather]" if text[:1] not in "[\n" else "# "
    refused(
        read_toml, ONE_TOWN.replace("[weather]", f"{heading}\n{text}\n", 1).replace("seed = 3", "")
    )


@pytest.mark.parametrize(
    "text",
    [
        "points = 0x" + "f" * 15_000,
        "points = " + "9" * 400,
        f"what = '{'x' * 15_000}'",
        f"{'k' * 15_000} = 1",
        "\n".join(f"k{number} = 1" for number in range(15_000)),
        "set = {" + ",".join(f"'a.b{number}' = 1" for number in range(900)) + "}",
        "\n".join(f"set.'a.b{number}' = 1" for number in range(15_000)),
        "\n".join("[[step]]\nwhat = 'x'" for _ in range(9000)),
        f"x = {'[' * 9000}",
        f"set = {{{'a.' * 300}a = 1}}",
        "why = '\x1b[31m'",
        'why = "\\u001b[31m"',
    ],
    ids=lambda text: text[:20],
)
def test_what_is_too_much_in_a_plan_is_refused_soon(text):
    """The same limits hold for plans."""
    refused(read_plan_text, f'[plan]\ntitle = "x"\n[[step]]\nwhat = "y"\n{text}\n')


@pytest.mark.parametrize(
    "content",
    [
        TABLE + "x,y,z\n" * 200_000,
        "\n" * 3_000_000,
        "\r" * 3_000_000,
        TABLE + "\n" * 2_400_000,
        "date," + "r" * 40_000 + "\n2031-05-01,1\n",
        "date," + "a[" * 90 + "\n2031-05-01,1\n",
        "a," * 9000 + "\n",
        "date,rain [mm]\n" + "1," * 9000 + "\n",
        '"' + "x" * 9_000_000,
        TABLE + "2031-05-01,1,2,3\n" * 100_000,
        TABLE + "2031-05-01,bad,bad,bad\n" * 100_000,
        "date,rain [" + "m" * 190 + "]\n",
        "," * 400 + "\n",
    ],
    ids=lambda text: repr(text[:24]),
)
def test_what_is_too_much_in_a_table_is_refused_soon(content, tmp_path):
    """A table that is wrong throughout is told twenty times, and a heading is read in no time."""
    path = tmp_path / "mill.csv"
    path.write_bytes(content.encode())
    refused(read_weather, path)


def test_many_rivers_are_checked_in_seconds():
    """Three thousand rivers, each of which flows into the next, are a scenario like any other."""
    rivers = "\n".join(
        f'[river.r{number}]\nlength = "1 km"\njoins = "r{number + 1}"\n' for number in range(3000)
    )
    begun = time.process_time()
    scenario = read_toml(
        ONE_TOWN + rivers + '\n[river.r3000]\nlength = "2 km"\n'
        '[river.spring]\nlength = "1 km"\ninflow = "1 m3/s"\njoins = "r0"\n'
    )
    assert len(scenario.river) == 3003
    assert time.process_time() - begun < LONG_S


def test_a_circle_of_rivers_is_told_once_from_its_first():
    """However one comes into it."""
    rivers = "".join(
        f'[river.{name}]\nlength = "1 km"\ninflow = "1 m3/s"\njoins = "{into}"\n'
        for name, into in ("ab", "bc", "cd", "db", "xx")
    )
    assert [problem.key for problem in refused(read_toml, ONE_TOWN + rivers).problems] == [
        "river.b.joins",
        "river.x.joins",
    ]


def test_problems_beyond_the_first_twenty_are_counted():
    """Twenty lines and a count, whatever the file is."""
    error = refused(
        read_toml,
        ONE_TOWN.replace("seed = 3", "\n".join(f"k{number} = 1" for number in range(500))),
    )
    assert error.count == 500
    assert error.lines()[-1] == "and 480 more."
