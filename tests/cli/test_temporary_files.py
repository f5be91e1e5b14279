"""Temporary files: gone with the program, or after a kill with the next one; others' files stay."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from killing import Begun

from hydroloop import temporary

pytestmark = pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs groups of processes")
NEXT = "from hydroloop.temporary import temporary_folder as made\nwith made() as one: print(one)"


@pytest.fixture
def place(tmp_path, monkeypatch):
    """Where the programs of a test put their temporary files; its path is short."""
    with tempfile.TemporaryDirectory() as folder:
        monkeypatch.setenv("TMPDIR", folder)
        monkeypatch.setattr(tempfile, "tempdir", folder)
        yield Path(folder)


def run_next():
    """Another program that needs a temporary folder, from begin to end."""
    done = subprocess.run([sys.executable, "-c", NEXT], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ["serve", "--port", "0"],
        ["spread", "first_town", "--members", "1000", "--workers", "2"],
    ],
    ids=lambda words: words[0],
)
def test_what_a_kill_leaves_goes_with_the_next(words, place, tmp_path):
    """Sockets and handed work of a program that was killed with all its processes."""
    with Begun("-m", "hydroloop", *words, folder=tmp_path) as run:
        end = time.monotonic() + 120
        while not list(place.glob("hydroloop-*/*")) and time.monotonic() < end:
            time.sleep(0.01)
        run_next()
        assert list(place.glob("hydroloop-*/*"))  # it lives
        run.kill("SIGKILL", all_of_it=True)
        assert run.is_gone()
    left = os.listdir(place)
    assert len(left) == 1
    run_next()
    assert os.listdir(place) == []


def test_what_is_not_ours_stays(place, tmp_path):
    """A user's folders whose names look like ours, one of them empty, a file, and a link."""
    (place / "hydroloop-mywork_1").mkdir()
    (place / "hydroloop-mywork_1" / "thesis.txt").write_text("mine")
    (place / "hydroloop-12345678").write_text("mine")
    (place / "hydroloop-homework").mkdir(mode=0o755)  # empty as yet
    (tmp_path / "elsewhere").mkdir()
    (place / "hydroloop-87654321").symlink_to(tmp_path / "elsewhere")
    before = sorted(place.rglob("*"))
    run_next()
    assert sorted(place.rglob("*")) == before
    assert (tmp_path / "elsewhere").is_dir()


def test_a_temporary_folder_is_removed_even_where_work_fails(place):
    """And whoever removes the folder of the program meanwhile breaks nothing."""
    for _ in range(2):
        with pytest.raises(OSError, match="no"), temporary.temporary_folder() as folder:
            (folder / "no" / "file").touch()
        assert not folder.exists()
        folder.parent.rmdir()


def test_a_long_path_to_temporary_files_is_borne(tmp_path, monkeypatch):
    """The names of sockets are short in every system: they lie elsewhere then, or are not made."""
    long = tmp_path / ("long" * 20)
    long.mkdir()
    monkeypatch.setenv("TMPDIR", str(long))
    words = (
        "from hydroloop.processes import worker_processes as begun\nimport os\n{more}"
        "if __name__ == '__main__':\n  with begun(1, preload=['math']) as pool:\n"
        "    print(pool.submit(os.getpid).result(), pool._mp_context.get_start_method())\n"
    )
    for more, how in (
        ("", "forkserver"),
        ("import hydroloop.temporary as t\nt._LONGEST = 1\n", "spawn"),
    ):
        (tmp_path / "go.py").write_text(words.format(more=more))
        done = subprocess.run(
            [sys.executable, tmp_path / "go.py"], capture_output=True, text=True, check=False
        )
        assert done.stdout.split()[1:] == [how], done.stderr
    assert os.listdir(long) == []
