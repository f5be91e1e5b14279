"""Reading a scenario: what it holds, and files that cannot be read."""

from __future__ import annotations

import pickle
import time

import pytest
from small_scenarios import ONE_TOWN, one_town

from hydroloop.errors import ScenarioError
from hydroloop.scenario import read_scenario, read_toml


def refused(path_or_text, tmp_path=None) -> str:
    """The message with which a file or a text is refused."""
    with pytest.raises(ScenarioError) as caught:
        read_scenario(path_or_text) if tmp_path is None else read_toml(path_or_text)
    return str(caught.value)


def test_values_are_held_in_the_inner_units():
    """A flow is held in m3/d, a length in km, people as a number."""
    scenario = one_town()
    assert scenario.river["wren"].inflow == pytest.approx(3 * 86400)
    assert scenario.town["larkmill"].intake.at == 10.0
    assert scenario.town["larkmill"].people == 20000.0


def test_what_was_given_is_told_from_defaults():
    """Keys that were written are known; a default is not among them."""
    given = one_town().given
    assert {"town.larkmill.people", "town.larkmill.intake.at", "river.wren.inflow"} <= given
    assert "town.larkmill.mains.real_losses" not in given


def test_a_range_is_kept_with_its_ends_and_run_at_its_middle():
    """A range is held at its middle, and its ends are in .ranges."""
    scenario = one_town('[town.larkmill.mains]\nreal_losses = "8 % to 14 %"\n')
    assert scenario.town["larkmill"].mains.real_losses == pytest.approx(0.11)
    assert scenario.ranges == {"town.larkmill.mains.real_losses": (0.08, 0.14)}


def test_a_range_in_a_list_is_known_by_its_place():
    """A range among the monthly releases is found under its place in the list."""
    months = ['"1 ML/day"'] * 11 + ['"1 to 3 ML/day"']
    lake = (
        '[reservoir.lake]\nriver = "wren"\nat = "5 km"\ncapacity = "2 Mgal"\narea = "1 ha"\n'
        f"release = [{', '.join(months)}]\n"
    )
    scenario = one_town(lake)
    assert scenario.ranges == {"reservoir.lake.release.11": (1000.0, 3000.0)}
    assert scenario.reservoir["lake"].release[11] == 2000.0


def test_a_file_may_start_with_a_byte_order_mark_and_end_its_lines_either_way(tmp_path):
    """Files saved on other systems read the same."""
    file = tmp_path / "mill.toml"
    file.write_bytes(b"\xef\xbb\xbf" + ONE_TOWN.replace("\n", "\r\n").encode())
    assert read_scenario(file).model == read_toml(ONE_TOWN).model


def test_a_date_may_stand_in_quotes():
    """A quoted date is the same as a bare one."""
    quoted = ONE_TOWN.replace("2031-05-01", '"2031-05-01"')
    assert read_toml(quoted).season.start == one_town().season.start


def test_a_scenario_can_be_sent_to_another_process():
    """A scenario survives pickling."""
    scenario = one_town()
    again = pickle.loads(pickle.dumps(scenario))
    assert again.model == scenario.model
    assert again.text == scenario.text


def test_csv_files_are_looked_for_beside_the_scenario(tmp_path):
    """A file of flows is found in the folder of the scenario, wherever that is."""
    (tmp_path / "flow.csv").write_text("date,flow [m3/s]\n2031-05-01,3\n")
    text = ONE_TOWN.replace('inflow = "3 m3/s"', 'inflow = { file = "flow.csv" }')
    (tmp_path / "mill.toml").write_text(text)
    scenario = read_scenario(tmp_path / "mill.toml")
    assert scenario.river["wren"].inflow.file == "flow.csv"
    assert (scenario.folder / "flow.csv").is_file()


def test_a_missing_file_offers_the_nearest(tmp_path):
    """A name that does not exist offers one that does, bundled or beside it."""
    (tmp_path / "mill.toml").write_text(ONE_TOWN)
    assert 'Did you mean "mill.toml"?' in refused(tmp_path / "mil.toml")
    assert 'Did you mean "first_town"?' in refused("frst_town")


def test_a_folder_is_not_a_scenario(tmp_path):
    """A folder is refused as such."""
    assert "is a folder" in refused(tmp_path)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "mill.toml: is empty."),
        (b" \n\t\n", "mill.toml: is empty."),
        (b"# nothing\n# at all\n", "nothing but comments"),
        (b"\xff\xfe t\x00i\x00", "is not a text in UTF-8"),
        (b"title = 'x'\n" + b"# " + b"x" * 5_000_000, "million bytes"),
        (b"a = " + b"[" * 10_000, "nested too deeply"),
        (b"a = " + b"9" * 10_000, "mill.toml:1"),
        (b'title = "x"\n\nseed = 4.5 Mgal/day\n', "mill.toml:3: is not valid TOML here"),
        (b'title = "x"\ntitle = "y"\n', "mill.toml:2: is not valid TOML here"),
    ],
)
def test_files_that_cannot_be_read_say_so_in_one_line(tmp_path, content, says):
    """Empty, huge, binary and broken files are refused in one line that names the file."""
    file = tmp_path / "mill.toml"
    file.write_bytes(content)
    message = refused(file)
    assert says in message
    assert "\n" not in message


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("capacity = 4.5 Mgal/day", "Put quotes around a quantity"),
        ("losses = 8 %", "Put quotes around a quantity"),
        ("river = wren", "Put quotes around a text"),
        ("people = 24,000", "without commas"),
        ("people: 24000", "with an equals sign"),
        ("people =", "a value after the equals sign"),
        ('name = "wren', "A quote is missing"),
        ('name = wren"', "A quote is missing"),
        ("name = \u201cwren\u201d", "quotes are curly"),
        ('name = "wren\u201d', "quotes are curly"),
        ("\u201cname\u201d = 3", "quotes are curly"),
        ('name "wren"', "An equals sign is missing"),
        ("name\u00a0= 3", "type the spaces of this line again"),
        ("[town", "A bracket is missing"),
        ("[[step]", "A bracket is missing"),
    ],
)
def test_the_usual_slips_of_toml_get_a_hint(line, says):
    """A line that is not TOML is named, with what it probably lacks."""
    message = refused(f'title = "x"\n{line}\n', tmp_path=True)
    assert "scenario:2: is not valid TOML here" in message
    assert says in message


def test_all_lines_that_are_no_toml_are_told_at_once():
    """Each slip that a hint is known for, with its line; the lines between them are well."""
    with pytest.raises(ScenarioError) as told:
        read_toml(
            "\n".join(
                [
                    "title = \u201cx\u201d",
                    "[town.a]",
                    "people = 3",
                    "at = 5 km",
                    'river "wren"',
                    "[town.b]",
                    "x = wren",
                ]
            )
        )
    assert [problem.where for problem in told.value.problems] == [
        f"scenario:{line}" for line in (1, 4, 5, 7)
    ]


def test_a_table_may_stand_only_once():
    """A town that is written twice is refused, with the line of the second."""
    message = refused(ONE_TOWN + "[town.larkmill]\n", tmp_path=True)
    assert "only once" in message
    assert f"scenario:{ONE_TOWN.count(chr(10)) + 1}" in message


def test_a_text_need_not_end_with_a_line():
    """A text that breaks off at its end is refused at its last line."""
    assert "scenario:1" in refused('title = "x', tmp_path=True)


def test_reading_five_towns_is_quick():
    """A scenario of five towns is read, checked and completed in less than 60 ms."""
    towns = "".join(
        f'[town.t{n}]\npeople = 9000\nintake = {{ river = "wren", at = "{n} km" }}\n'
        f'outfall = {{ river = "wren", at = "{n}.5 km" }}\n[town.t{n}.homes]\ntoilets = "20 %"\n'
        for n in range(1, 5)
    )
    read_toml(ONE_TOWN + towns)
    start = time.perf_counter()
    scenario = read_toml(ONE_TOWN + towns)
    assert time.perf_counter() - start < 0.060
    assert len(scenario.town) == 5
