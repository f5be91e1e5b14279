"""Arguments nobody means: told in a line, never a traceback, and never sent to the terminal raw."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest
from click.testing import CliRunner
from small_scenarios import ONE_TOWN

from hydroloop.cli.main import main
from hydroloop.visible import hidden_in


def called(*words):
    """A command, whose output acts on no terminal and which ends in a known way."""
    done = CliRunner().invoke(main, list(words))
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    assert not hidden_in(done.output)
    return done


@pytest.mark.parametrize("date", ["", " ", "nan", "NaT", "0", "2031-13-01", "\x1b[31m", "now"])
@pytest.mark.parametrize("command", ["glass", "drops"])
def test_what_is_no_date_is_told(command, date):
    """Empty, not a number, not a time: no date of the season."""
    done = called(command, "first_town", "larkmill", date)
    assert done.exit_code == 2
    assert "DATE: " in done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ["glass", "first_town", "\x1b]0;mine\x07"],
        ["check", "\x1b[2J.toml"],
        ["check", "a\nb"],
        ["check", "first_town", "--set", "town.\x1b[31m.people=3"],
        ["explain", "\x1b[31mx"],
        ["check", "first_town", "--set", "title=\x9b31m"],
        ["run", "first_town", "--plan", ""],
        ["run", "first_town", "--plan", "\u202etxt.toml"],
        ["compare", "first_town", "--plan", ""],
        ["sweep", "first_town", "--over", "town.\x1b.people=1,2"],
        ["\x1b[31m"],
    ],
    ids=lambda words: ascii(words),
)
def test_a_strangers_words_do_not_steer_the_terminal(words):
    """Escape codes in names, keys and values are shown as text; an empty name is no plan."""
    assert called(*words).exit_code == 2


def test_texts_that_would_steer_the_terminal_are_refused_with_their_key(tmp_path):
    """About and inflow column are told with the code of the character."""
    for line, key in (('about = "\\u001b[2J"', "about"), ('about = "\\u202eabc"', "about")):
        (tmp_path / "mill.toml").write_text(f"{line}\n{ONE_TOWN}")
        done = called("check", str(tmp_path / "mill.toml"))
        assert f"{key}: has a character that cannot be shown (U+" in done.stderr


def test_nobody_at_the_keyboard_is_no_fault(tmp_path):
    """With standard input closed the defaults are taken."""
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import os, sys; os.close(0); sys.stdin = None\n"
            "from hydroloop.cli.main import main; main()",
            "new",
            "mill.toml",
        ],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "mill.toml").is_file()


def options():
    """Every option that takes a value, of every command and of those within one."""
    context = click.Context(main)
    for name in main.list_commands(context):
        command = main.get_command(context, name)
        within = getattr(command, "commands", {"": command})
        for inner, one in within.items():
            words = [name, inner] if inner else [name]
            wanted = [given for given in one.params if isinstance(given, click.Argument)]
            yield from (
                (words, len(wanted), given.opts[-1])
                for given in one.params
                if isinstance(given, click.Option) and not given.is_flag
            )


@pytest.mark.parametrize(("words", "wanted", "option"), list(options()), ids=str)
def test_a_value_of_400_digits_is_not_told_back_whole(words, wanted, option, tmp_path, monkeypatch):
    """At every argument and option: a message shows its front and its end."""
    monkeypatch.chdir(tmp_path)
    done = called(*words, *["9" * 400] * wanted, option, "9" * 400)
    assert done.exit_code == 2
    assert done.stderr
    assert "9" * 101 not in done.output.replace("\n", "")


@pytest.mark.parametrize(
    "words",
    [
        ["spread", "first_town", "--members"],
        ["glass", "first_town"],
        ["explain"],
        ["run", "--plan"],
        [],
        ["run", "first_town", "--set"],
        ["sweep", "first_town", "--over"],
    ],
    ids=str,
)
@pytest.mark.parametrize("front", ["", "--", "x."])
def test_a_long_word_is_not_told_back_whole(words, front):
    """Also as a name, a command, an option or a key, and where the file itself is right."""
    done = called(*words, front + "9" * 400)
    assert done.exit_code == 2
    assert "9" * 101 not in done.output
