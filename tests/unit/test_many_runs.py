"""Many runs: kept chunk by chunk, resumed, refused where they do not belong, and told plainly."""

from __future__ import annotations

import dataclasses
import errno
import json
import os
import signal
import subprocess
import sys
import time

import pytest

import hydroloop as hl
from hydroloop.errors import HydroloopWarning, InputError, OutputError
from hydroloop.scenario import bundled_folder
from hydroloop.whatif import changed_job, drawn_job, job, read_store, run_job, running, spread
from hydroloop.whatif.store import MANIFEST, Store


@pytest.fixture(scope="module")
def scenario():
    """Two towns, a short season, two ranges."""
    return hl.read_scenario("first_town").changed(
        {
            "season.end": "2031-04-20",
            "town.larkmill.mains.real_losses": "8 % to 20 %",
            "river.wren.inflow": "15 cfs to 25 cfs",
        }
    )


def drawn(scenario, members, **asked):
    """A job in chunks of four members, so that a few members make several."""
    return dataclasses.replace(drawn_job(scenario, members, **asked), chunk=4)


def test_store_gives_what_memory_gives(scenario, tmp_path):
    """Kept results read back equal to those that were never on disk."""
    work = drawn(scenario, 10, seed=3)
    kept = run_job(work, store=tmp_path / "runs")
    assert kept.identical(run_job(work))
    assert kept.identical(read_store(tmp_path / "runs"))
    assert kept["drawn"].dims == ("key", "member")


def test_resumed_run_equals_an_unbroken_one(scenario, tmp_path, monkeypatch):
    """Broken off after one chunk and taken up again, results are the same to the bit."""
    work = drawn(scenario, 10, seed=3)
    whole = run_job(work, store=tmp_path / "whole")

    def breaks_off(done, members, left):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_job(work, store=tmp_path / "parts", progress=breaks_off)
    assert len(list((tmp_path / "parts").glob("members_*.nc"))) == 1
    with pytest.raises(InputError, match="2 of 3 chunks are missing"):
        read_store(tmp_path / "parts")
    ran = []
    chunk = running.run_chunk
    monkeypatch.setattr(
        running,
        "run_chunk",
        lambda work, first, shared: ran.append(first) or chunk(work, first, shared),
    )
    assert run_job(work, store=tmp_path / "parts").identical(whole)
    assert ran == [4, 8]


def test_killed_run_leaves_nothing_half_written(tmp_path):
    """A process that is killed while it runs leaves whole chunks only, and the next one goes on."""
    script = tmp_path / "go.py"
    script.write_text(
        "import hydroloop as hl\n"
        "import dataclasses\n"
        "from hydroloop.whatif import drawn_job, run_job\n"
        "scenario = hl.read_scenario('first_town').changed(\n"
        "    {'season.end': '2031-04-20', 'town.larkmill.mains.real_losses': '8 % to 20 %'})\n"
        "work = dataclasses.replace(drawn_job(scenario, 400), chunk=4)\n"
        f"run_job(work, store={str(tmp_path / 'runs')!r})\n"
    )
    process = subprocess.Popen([sys.executable, str(script)])
    folder = tmp_path / "runs"
    end = time.monotonic() + 120
    while len(list(folder.glob("members_*.nc"))) < 2 and time.monotonic() < end:
        time.sleep(0.02)
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert json.loads((folder / MANIFEST).read_text())["members"] == 400
    scenario = hl.read_scenario("first_town").changed(
        {"season.end": "2031-04-20", "town.larkmill.mains.real_losses": "8 % to 20 %"}
    )
    kept = Store(folder, drawn(scenario, 400))
    done = kept.done()
    assert 2 <= len(done) < 100
    for first in done:
        assert kept.read(first).sizes["member"] == 4


def test_progress_tells_members_and_time_left(scenario):
    """Members done rise to all of them, and the time left ends at zero."""
    told = []
    run_job(drawn(scenario, 10), progress=lambda *said: told.append(said))
    assert [done for done, _, _ in told] == [4, 8, 10]
    assert all(members == 10 for _, members, _ in told)
    assert told[-1][2] == 0.0


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"members": 9}, "another number of members"),
        ({"seed": 4}, "other changes, ranges, seeds"),
        ({"most": 3}, "other changes, ranges, seeds or use classes"),
    ],
)
def test_store_of_other_runs_is_refused(scenario, tmp_path, other, words):
    """What is kept belongs to one job; another is told what differs, and nothing is changed."""
    run_job(drawn(scenario, 8), store=tmp_path / "runs")
    before = {file.name: file.read_bytes() for file in (tmp_path / "runs").iterdir()}
    asked = {"members": 8, **other}
    with pytest.raises(InputError, match=words) as told:
        run_job(drawn(scenario, **asked), store=tmp_path / "runs")
    assert len(told.value.problems) == 1
    assert before == {file.name: file.read_bytes() for file in (tmp_path / "runs").iterdir()}


def test_store_of_another_scenario_or_version_is_refused(scenario, tmp_path, monkeypatch):
    """Another scenario and another version of the program are told apart."""
    run_job(drawn(scenario, 4), store=tmp_path / "runs")
    with pytest.raises(InputError, match="another scenario"):
        run_job(drawn(scenario.changed({"town.larkmill.people": 9}), 4), store=tmp_path / "runs")
    monkeypatch.setattr(job, "__version__", "9.9")
    with pytest.raises(InputError, match=f"another version.*go on with hydroloop {hl.__version__}"):
        run_job(drawn(scenario, 4), store=tmp_path / "runs")


@pytest.mark.parametrize(
    "changes", [{}, {"weather.file": "other.txt"}, {"weather": {"file": "other.txt"}}]
)
def test_changed_data_file_is_another_scenario(tmp_path, changes):
    """Kept runs also hang on the files that the scenario, or a change of it, reads, whatever they
    are called."""
    for file in (bundled_folder()).glob("five_towns*"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    read = tmp_path / ("other.txt" if changes else "flow.data")
    read.write_bytes((tmp_path / "five_towns_flow.csv").read_bytes())
    toml = tmp_path / "five_towns.toml"
    toml.write_text(toml.read_text().replace("five_towns_flow.csv", "flow.data"))
    (tmp_path / "flow.data").touch()
    before = changed_job(hl.read_scenario(toml), [changes]).identity()
    read.write_bytes(read.read_bytes() + b"\n")
    after = changed_job(hl.read_scenario(toml), [changes]).identity()
    assert before["scenario"] != after["scenario"]
    assert before["asked"] == after["asked"]


def test_full_disk(scenario, tmp_path, monkeypatch):
    """A disk that is full ends the run in one line; what was kept stays, and no part is left."""
    work = drawn(scenario, 8)
    replace, calls = os.replace, []

    def fills_up(source, target):
        calls.append(target)
        if len(calls) > 2:  # the manifest and the first chunk still fit
            raise OSError(errno.ENOSPC, "No space left on device")
        replace(source, target)

    monkeypatch.setattr(os, "replace", fills_up)
    words = r"no space left on device.*4 of 8 members are kept"
    with pytest.raises(OutputError, match=words) as told:
        run_job(work, store=tmp_path / "runs")
    assert "\n" not in str(told.value)
    assert sorted(file.name for file in (tmp_path / "runs").iterdir()) == [
        MANIFEST,
        "members_0000000.nc",
    ]
    monkeypatch.undo()


def test_a_disk_that_is_really_full(tmp_path):
    """Where the system itself takes no more bytes it is said, and the program ends in peace."""
    pytest.importorskip("resource")
    script = (
        "import resource, sys\n"
        "import hydroloop as hl\n"
        "from hydroloop.errors import OutputError\n"
        "from hydroloop.whatif import drawn_job, run_job\n"
        "work = drawn_job(hl.read_scenario('first_town').changed(\n"
        "    {'season.end': '2031-04-20', 'river.wren.inflow': '15 cfs to 25 cfs'}), 4)\n"
        "run_job(work)  # compiled before the room is taken away\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (3_000, resource.RLIM_INFINITY))\n"
        "try:\n"
        "    run_job(work, store=sys.argv[1])\n"
        "except OutputError as error:\n"
        "    print(error)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "runs")],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert (ended.returncode, ended.stderr) == (0, "")
    assert "cannot be written (file too large)" in ended.stdout
    assert "0 of 4 members are kept" in ended.stdout
    assert [file.name for file in (tmp_path / "runs").iterdir()] == [MANIFEST]


def test_damaged_and_swapped_chunks_are_found_and_run_again(scenario, tmp_path):
    """Cut off, with a bit flipped, or in the place of another: named by reading, never used, and
    run again by going on."""
    work = drawn(scenario, 8)
    whole = run_job(work, store=tmp_path / "runs")
    one, other = (tmp_path / "runs" / f"members_000000{first}.nc" for first in (0, 4))
    kept = other.read_bytes()
    run_job(drawn(scenario, 8, seed=2), store=tmp_path / "others")
    flipped = bytearray(kept)
    flipped[len(kept) // 2] ^= 1
    for damaged in (
        b"",
        kept[:4],
        kept[:200],
        kept[:-1],
        bytes(flipped),
        one.read_bytes(),
        (tmp_path / "others" / other.name).read_bytes(),
    ):
        other.write_bytes(damaged)
        with pytest.raises(InputError, match=rf"{other.name}: is damaged, or belongs to another"):
            read_store(tmp_path / "runs")
    with pytest.warns(HydroloopWarning, match=rf"{other.name}.* run again"):
        assert run_job(work, store=tmp_path / "runs").identical(whole)
    assert other.read_bytes() == kept


def test_two_runs_do_not_keep_in_one_folder_at_once(scenario, tmp_path):
    """While one is at it, the other is refused; afterwards it finds all of it done."""
    work = drawn(scenario, 4)
    with (
        Store(tmp_path / "runs", work).held(),
        pytest.raises(OutputError, match="another run is writing there"),
    ):
        run_job(work, store=tmp_path / "runs")
    assert run_job(work, store=tmp_path / "runs").sizes["member"] == 4


@pytest.mark.parametrize("text", ["[" * 100_000, "[]", "", '{"format": 4}', "NaN"])
def test_what_is_no_manifest_is_told(tmp_path, text):
    """Whatever stands in its place, it is one plain line."""
    (tmp_path / MANIFEST).write_text(text)
    with pytest.raises(InputError, match=r"manifest.json: (is|cannot be)") as told:
        read_store(tmp_path)
    assert len(told.value.problems) == 1


@pytest.mark.parametrize("left_out", ["members", "chunk", "keys", "values", "rules", "digest"])
def test_damaged_manifest_is_named(scenario, tmp_path, left_out):
    """A manifest from which something was lost is named, by reading and by going on."""
    work = drawn(scenario, 4)
    run_job(work, store=tmp_path)
    about = json.loads((tmp_path / MANIFEST).read_text())
    about.pop(left_out)
    (tmp_path / MANIFEST).write_text(json.dumps(about))
    for again in (lambda: read_store(tmp_path), lambda: run_job(work, store=tmp_path)):
        with pytest.raises(InputError, match=r"manifest.json: is damaged. Run again into another"):
            again()


def test_folder_with_other_files_is_not_used(scenario, tmp_path):
    """A folder that holds something else is left alone."""
    (tmp_path / "letter.txt").write_text("dear")
    with pytest.raises(OutputError, match=r"holds letter.txt"):
        run_job(drawn(scenario, 4), store=tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["letter.txt"]


def test_of_unfinished_files_only_ours_are_removed(scenario, tmp_path):
    """What a killed run left goes when the next one has finished; another's file stays."""
    work = drawn(scenario, 4)
    Store(tmp_path, work)
    for name in (f".members_0000000.nc-hydroloop-{'0' * 16}-unfinished", ".letter.part"):
        (tmp_path / name).write_text("half")
    run_job(work, store=tmp_path)
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        ".letter.part",
        MANIFEST,
        "members_0000000.nc",
    ]


def test_no_kept_runs(tmp_path):
    """Reading where nothing is kept says so."""
    with pytest.raises(InputError, match="holds no kept runs"):
        read_store(tmp_path)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"members": 0}, "0 is not a number of members"),
        ({"members": True}, "True is not a number"),
        ({"members": 10**8}, "more than 1,000,000"),
        ({"members": "10"}, "'10' is not a number of members"),
        ({"members": 3, "method": "soboll"}, 'Did you mean "sobol"?'),
        ({"members": 3, "seed": -1}, "seed: -1 is not a whole number from 0 up"),
        ({"members": 3, "seed": None}, "seed: None is not a whole number"),
    ],
)
def test_bad_numbers_of_members(scenario, asked, words):
    """What cannot be drawn is refused before anything is run."""
    with pytest.raises(InputError) as told:
        drawn(scenario, **asked)
    assert words in str(told.value)


def test_an_end_of_a_range_that_cannot_be_is_told_before_anything_is_run(tmp_path):
    """Possible in the middle, but not at an end: which one is named, and no folder is begun."""
    stage = {
        "river": "wren",
        "at": "30 km",
        "flow_below": "10 cfs to 22 cfs",
        "flow_above": "17 cfs to 18 cfs",
    }
    staged = hl.read_scenario("first_town").changed({"stage.alert": stage})
    with pytest.raises(InputError) as told:
        spread(staged, 8, store=tmp_path / "runs")
    assert [(one.key, one.what.split(": ")[0]) for one in told.value.problems] == [
        ("stage.alert.flow_above", "at the upper end of stage.alert.flow_below")
    ]
    assert not (tmp_path / "runs").exists()
