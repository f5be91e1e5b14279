"""What goes wrong is one line a problem on stderr, with exit code 2 and without a traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import click
import pytest
from cli.commands import call, process
from click.testing import CliRunner

from hydroloop.cli.failing import count_line, lines_of, plain_failures
from hydroloop.cli.main import main
from hydroloop.errors import AskError, HydroloopWarning, OutputError, Problem

WRONG = [
    ("run", "no_such_file.toml"),
    ("run", "first_town", "--set", "town.larkmil.people=3"),
    ("run", "first_town", "--set", "people"),
    ("run", "first_town", "--scale", "river.wren.inflow=much"),
    ("run", "first_town", "--units", "imperial"),
    ("run", "first_town", "--pictures", "some"),
    ("run", "first_town", "--no-such-option"),
    ("run",),
    ("check", ".."),
    ("glass", "first_town", "nowhere"),
    ("glass", "first_town", "larkmill", "2040-01-01"),
    ("glass", "first_town", "larkmill", "--out", "no/such/folder/a.png"),
    ("drops", "first_town", "--count", "0"),
    ("drops", "first_town", "larkmill", "yesterday"),
    ("explain", "zzz"),
    ("nwe",),
]


@pytest.mark.parametrize("words", WRONG, ids=" ".join)
def test_bad_input_is_exit_2_without_a_traceback(words, tmp_path, monkeypatch):
    """Nothing on stdout, a message on stderr, exit code 2, no file left."""
    monkeypatch.chdir(tmp_path)
    result = call(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.strip()
    assert "Traceback" not in result.stderr
    assert not os.listdir(tmp_path)


def test_streams_and_code_of_a_real_process(tmp_path):
    """A process of its own behaves as the tests inside do."""
    done = process(
        "run", "first_town", "--set", "town.larkmill.people=-3", "--set", "x=1", folder=tmp_path
    )
    assert done.returncode == 2
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert len(lines) == 3
    assert lines[-1] == "2 problems found; nothing was run."


def test_all_problems_of_a_change_come_at_once():
    """Several wrong changes give several lines, each with its key."""
    result = call(
        "run",
        "first_town",
        "--set",
        "town.larkmill.people=-3",
        "--set",
        "town.larkmill.mains.real_losses=16 gal",
        "--no-pictures",
    )
    assert [line.split(": ")[1] for line in result.stderr.splitlines()[:-1]] == [
        "town.larkmill.people",
        "town.larkmill.mains.real_losses",
    ]


def test_a_place_that_cannot_be_written_is_said(tmp_path, monkeypatch):
    """Where a folder cannot be made, the path and the reason are told."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("")
    result = call("run", "first_town", "--no-pictures", "--out", "file/out")
    assert result.exit_code == 2
    assert result.stderr.startswith("file/out: cannot be written")
    assert os.listdir(tmp_path) == ["file"]


def failing(error):
    """A command that fails with this error, under the house's care."""

    @click.command()
    @click.pass_context
    def command(ctx):
        with plain_failures(ctx):
            raise error

    return CliRunner().invoke(command, [])


def test_an_error_of_the_system_is_one_line():
    """An OSError tells path, reason and cure in one line."""
    result = failing(PermissionError(13, "Permission denied", "/nowhere/a"))
    assert result.exit_code == 2
    assert result.stderr == (
        "/nowhere/a: permission denied. Check the path, its permissions and the disk.\n"
    )


def test_ctrl_c_is_exit_130():
    """Stopping a run is said, with the exit code that shells give it."""
    result = failing(KeyboardInterrupt())
    assert result.exit_code == 130
    assert "Stopped" in result.stderr


def test_a_fault_of_our_own_keeps_its_traceback():
    """Errors that are nobody's input are not hidden: whoever mends them needs the traceback."""
    assert isinstance(failing(ZeroDivisionError("a fault")).exception, ZeroDivisionError)


@pytest.mark.skipif(os.name == "nt", reason="signals differ there")
def test_ctrl_c_in_a_real_run_leaves_nothing(tmp_path):
    """A run that is stopped leaves no folder, no half file and no traceback."""
    run = subprocess.Popen(
        [sys.executable, "-m", "hydroloop", "run", "five_towns", "--pictures", "all"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and run.poll() is None and not os.listdir(tmp_path):
        time.sleep(0.02)  # until it begins to write
    assert run.poll() is None
    run.send_signal(signal.SIGINT)
    out, err = run.communicate(timeout=60)
    assert run.returncode == 130
    assert "Traceback" not in err
    assert "Stopped" in err
    assert not out
    assert not os.listdir(tmp_path)


@pytest.mark.parametrize(
    "command",
    [
        ["spread", "first_town", "--members", "3"],
        ["sweep", "first_town", "--over", "weather.seed=1,2"],
    ],
)
@pytest.mark.parametrize(("words", "is_told"), [(["--keep", "kept"], True), ([], False)])
def test_stopped_runs_that_are_kept_say_so(tmp_path, monkeypatch, command, words, is_told):
    """Ctrl-C in many runs tells where the finished ones are, if they are kept."""

    def stopped(*args, **named):
        raise KeyboardInterrupt

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(f"hydroloop.whatif.{command[0]}", stopped)
    result = CliRunner().invoke(main, [*command, *words])
    assert result.exit_code == 130
    assert "Stopped" in result.stderr
    assert ("Finished runs are kept in kept: the same command goes on" in result.stderr) is is_told


def test_lines_count_their_problems():
    """One problem is one line and a count; other errors are their own line."""
    one = Problem("a.toml:3", "is wrong.", "Mend it.", "x")
    assert lines_of(AskError(one), "nothing was run") == [
        "a.toml:3: x: is wrong. Mend it.",
        "a.toml: 1 problem found; nothing was run.",
    ]
    assert count_line([one, Problem("b.toml:1", "too.")]) == "2 problems found."
    words = Problem('c.toml:3: step "see https://x.toml:8"', "is wrong.")
    assert count_line([words]) == "c.toml: 1 problem found."
    assert lines_of(OutputError("b: cannot be written.")) == ["b: cannot be written."]


def test_our_warnings_are_notes_and_those_of_libraries_are_silent():
    """A warning of hydroloop is a line on stderr; those of libraries are for developers."""
    import warnings

    @click.command()
    @click.pass_context
    def command(ctx):
        with plain_failures(ctx):
            warnings.warn("the cache is cold", HydroloopWarning, stacklevel=1)
            warnings.warn("old thing", FutureWarning, stacklevel=1)

    with warnings.catch_warnings():
        warnings.simplefilter("default")
        result = CliRunner().invoke(command, [])
    assert result.stderr == "note: the cache is cold\n"


def test_a_terminal_of_few_letters_and_a_notebook_are_served(tmp_path):
    """A title that the terminal cannot show, what a notebook sets for its shell commands, and a
    home where nothing can be written, end no command; in the files every letter stands."""
    env = {
        **os.environ,
        "PYTHONIOENCODING": "latin-1",
        "HOME": os.devnull,
        "MPLBACKEND": "module://not_there.backend_inline",
    }
    for name in ("MPLCONFIGDIR", "XDG_CONFIG_HOME", "XDG_CACHE_HOME"):
        env.pop(name, None)
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "hydroloop",
            "run",
            "first_town",
            "--set",
            "season.end=2031-04-20",
            "--set",
            "title=Gr\u00fcn \U0001f600",
            "--out",
            "out",
        ],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    assert b"Matplotlib" not in done.stderr
    assert b"Gr\xfcn ?" in done.stdout
    assert "Gr\u00fcn \U0001f600" in (tmp_path / "out/answer.txt").read_text(encoding="utf-8")
    assert list((tmp_path / "out/pictures").glob("*_glass.png"))
