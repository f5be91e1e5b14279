"""`hydroloop --help` is there at once, and loads nothing that it does not need."""

from __future__ import annotations

import importlib
import subprocess
import sys
import time

from cli.commands import call

from hydroloop.cli.main import _COMMANDS, main

HEAVY = {"numpy", "pandas", "xarray", "numba", "matplotlib", "pint", "pydantic", "scipy", "h5py"}


def loaded_after(code: str) -> set[str]:
    program = f"{code}\nimport sys\nprint(sorted({HEAVY!r} & set(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return set(eval(done.stdout.strip().splitlines()[-1]))


def test_help_loads_nothing_heavy():
    """After `--help` none of the heavy libraries is loaded."""
    code = (
        "from hydroloop.cli.main import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass"
    )
    assert loaded_after(code) == set()


def test_help_of_every_command_loads_nothing_heavy():
    """After `COMMAND --help`, for every command, none of the heavy libraries is loaded."""
    code = "from hydroloop.cli.main import main\n" + "\n".join(
        f"try:\n    main(['{name}', '--help'])\nexcept SystemExit:\n    pass" for name in _COMMANDS
    )
    assert loaded_after(code) == set()


def test_the_check_above_can_fail():
    """A program that loads numpy is seen."""
    assert "numpy" in loaded_after("import numpy")


def test_help_is_quick():
    """`hydroloop --help` starts and ends in less than 0.3 s, at the best of five."""
    taken = []
    for _ in range(5):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "hydroloop", "--help"], check=True, capture_output=True
        )
        taken.append(time.perf_counter() - begun)
    assert min(taken) < 0.3


def test_the_list_is_what_the_commands_say_of_themselves():
    """Every command is listed, loads, carries its name, and has a help of its own."""
    text = call("--help").output
    for name, (module, words) in _COMMANDS.items():
        command = importlib.import_module(module).command
        assert command.name == name
        assert f"{name} " in text
        assert words.split(".")[0] in " ".join(text.split())
        assert command.help.split("\n")[0].endswith((".", "last."))
    assert main.list_commands(None) == list(_COMMANDS)


def test_every_option_has_help():
    """No option of any command is left without an explanation."""
    for module, _ in _COMMANDS.values():
        for option in importlib.import_module(module).command.params:
            if option.param_type_name == "option":
                assert option.help, (module, option.name)


def test_version_is_that_of_the_package():
    """`--version` prints name and version."""
    import hydroloop

    assert call("--version").output == f"hydroloop {hydroloop.__version__}\n"


def test_cautions_stand_in_the_help():
    """The first help a user sees says that this is a teaching model."""
    assert "teaching model" in call("--help").output
