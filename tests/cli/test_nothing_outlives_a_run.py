"""`run` that is killed, or whose terminal is closed: no process is left, nor half a folder."""

from __future__ import annotations

import os
import signal
import time

import pytest
from killing import Begun

pytestmark = pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs groups of processes")


@pytest.mark.parametrize(
    ("sent", "to_all", "code"),
    [("SIGTERM", False, 143), ("SIGHUP", True, 129), ("SIGKILL", False, -9)],
)
def test_no_process_outlives_a_run_with_pictures(tmp_path, sent, to_all, code):
    """Told to end, its terminal closed, or killed: those that draw go too."""
    with Begun(
        "-m", "hydroloop", "run", "five_towns", "--out", "out", "-v", folder=tmp_path
    ) as run:
        while "writing" not in run.process.stderr.readline():
            pass
        time.sleep(0.2)  # among the pictures
        run.kill(sent, all_of_it=to_all)
        assert run.is_gone()
        assert run.process.returncode == code
        if sent != "SIGKILL":
            assert os.listdir(tmp_path) == []
            assert "Traceback" not in run.process.stderr.read()


def test_ctrl_c_while_it_is_loaded_is_no_traceback():
    """The words of a fault are not for somebody who changed his mind."""
    code = (
        "import os, signal, sys\n"
        "class Interrupted:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'click': os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Interrupted())\n"
        "from hydroloop.__main__ import main\nmain()"
    )
    with Begun("-c", code) as run:
        assert run.is_gone()
        assert run.process.returncode in (-2, 130)
        assert run.process.stderr.read() == ""


@pytest.mark.parametrize("sent", ["SIGINT", "SIGTERM"])
def test_no_signal_is_lost_while_something_is_thrown_away(sent):
    """Libraries tidy up where no exception gets out: who is told to end there ends all the same,
    without a word of Python's."""
    code = (
        "import os, signal, sys, time, weakref\n"
        "import click\n"
        "from hydroloop.cli.failing import plain_failures\n"
        "class Thrown: pass\n"
        f"def on_disposal(_): os.kill(os.getpid(), signal.{sent})\n"
        "@click.command()\n@click.pass_context\n"
        "def command(ctx):\n"
        "    with plain_failures(ctx):\n"
        "        thrown = Thrown()\n"
        "        watched = weakref.ref(thrown, on_disposal)\n"
        "        del thrown\n"
        "        time.sleep(20)\n"
        "command()"
    )
    with Begun("-c", code) as run:
        assert run.is_gone(15)
        assert run.process.returncode == 128 + getattr(signal, sent)
        assert run.process.stderr.read() == "\nStopped; nothing was left half written.\n"
