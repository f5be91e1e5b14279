"""A folder of results is written whole or not at all, and never over other people's files."""

from __future__ import annotations

import errno
import hashlib
import os

import pytest

from hydroloop.errors import OutputError
from hydroloop.files import exchange as exchange_module
from hydroloop.files import folder as folder_module
from hydroloop.files.file import write_file
from hydroloop.files.folder import check_free, whole_folder
from hydroloop.files.listing import LIST
from hydroloop.files.unfinished import beside


def write(target, text="first", *, force=False):
    with whole_folder(target, force=force) as folder:
        (folder / "tables").mkdir()
        (folder / "tables" / "towns.csv").write_text(text)
        (folder / "answer.txt").write_text(text)


def fail_halfway(target, error, *, force=False):
    with whole_folder(target, force=force) as folder:
        (folder / "answer.txt").write_text("half")
        raise error


def fail_at_a_picture(target):
    full = OSError(errno.ENOSPC, "No space left on device")
    with whole_folder(target) as folder:
        raise OutputError(f"{folder / 'one.png'}: cannot be written.") from full


def test_folder_appears_with_a_list_of_its_files(tmp_path):
    """A finished folder holds what was written, and the list of it; nothing else is left."""
    write(tmp_path / "out")
    sums = hashlib.sha256(b"first").hexdigest()
    assert (tmp_path / "out" / LIST).read_text().splitlines()[1:-1] == [
        f"{sums}  answer.txt",
        f"{sums}  tables/towns.csv",
    ]
    assert os.listdir(tmp_path) == ["out"]


def test_folders_above_are_made(tmp_path):
    """A folder may be asked for in folders that are not there yet."""
    write(tmp_path / "a" / "b" / "out")
    assert (tmp_path / "a/b/out/answer.txt").read_text() == "first"


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt])
def test_nothing_stays_of_a_folder_that_failed(tmp_path, error):
    """When writing fails or is stopped half way, no folder is left."""
    with pytest.raises(error):
        fail_halfway(tmp_path / "out", error)
    assert not os.listdir(tmp_path)


def test_a_full_disk_is_told_of_the_folder_asked_for(tmp_path):
    """Not of the one in which it is made, whichever part of it could not be written."""
    with pytest.raises(OutputError) as told:
        fail_at_a_picture(tmp_path / "out")
    assert str(told.value).startswith(
        f"{tmp_path / 'out'}: cannot be written (no space left on device). Nothing was left there."
    )
    assert "unfinished" not in str(told.value)
    assert not os.listdir(tmp_path)


def test_an_old_folder_stays_when_the_new_one_fails(tmp_path):
    """With force, the folder of before stands until the new one is whole."""
    write(tmp_path / "out")
    with pytest.raises(RuntimeError):
        fail_halfway(tmp_path / "out", RuntimeError, force=True)
    assert (tmp_path / "out/answer.txt").read_text() == "first"
    assert os.listdir(tmp_path) == ["out"]


def test_a_folder_is_not_replaced_unasked(tmp_path):
    """Without force a folder that holds something is refused, and the message names the cure."""
    write(tmp_path / "out")
    with pytest.raises(OutputError, match="Add --force"):
        write(tmp_path / "out", "second")
    assert (tmp_path / "out/answer.txt").read_text() == "first"


def test_force_replaces_what_was_written_before(tmp_path):
    """With force the folder is the new one, and nothing of the old one is in it."""
    write(tmp_path / "out")
    with whole_folder(tmp_path / "out", force=True) as folder:
        (folder / "other.txt").write_text("second")
    assert sorted(os.listdir(tmp_path / "out")) == ["other.txt", LIST]
    assert os.listdir(tmp_path) == ["out"]


@pytest.mark.parametrize("made_by_us", [True, False])
def test_force_never_takes_files_of_other_people(tmp_path, made_by_us):
    """A folder with one file that hydroloop did not write is refused even with force."""
    if made_by_us:
        write(tmp_path / "out")
    (tmp_path / "out").mkdir(exist_ok=True)
    (tmp_path / "out" / "my notes.txt").write_text("mine")
    with pytest.raises(OutputError, match=r"my notes\.txt, which hydroloop did not write"):
        write(tmp_path / "out", "second", force=True)
    assert (tmp_path / "out/my notes.txt").read_text() == "mine"


def test_an_empty_folder_may_be_filled(tmp_path):
    """A folder that holds nothing is as good as none."""
    (tmp_path / "out").mkdir()
    write(tmp_path / "out")
    assert (tmp_path / "out/answer.txt").read_text() == "first"


def test_a_file_of_that_name_is_refused(tmp_path):
    """A file in the place of the folder is named, with or without force."""
    (tmp_path / "out").write_text("a file")
    for force in (False, True):
        with pytest.raises(OutputError, match="is no folder"):
            check_free(tmp_path / "out", force=force)


def test_a_place_that_cannot_be_written_is_one_line(tmp_path):
    """Where the system refuses, the error says so in one line with the path."""
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        write(tmp_path / "file" / "out")
    assert "\n" not in str(caught.value)


def meddle_while_writing(target, meddle, *, force=False):
    with whole_folder(target, force=force) as folder:
        (folder / "answer.txt").write_text("second")
        meddle()


@pytest.mark.parametrize("force", [False, True])
def test_what_a_user_saves_meanwhile_is_never_lost(tmp_path, force):
    """A file that comes into the folder while it is written stays, and the results give way."""
    out = tmp_path / "out"
    if force:
        write(out)

    def meddle():
        out.mkdir(exist_ok=True)
        (out / "thesis.txt").write_text("mine")

    with pytest.raises(OutputError, match=r"is there already|thesis\.txt, which hydroloop did not"):
        meddle_while_writing(out, meddle, force=force)
    assert (out / "thesis.txt").read_text() == "mine"
    assert os.listdir(tmp_path) == ["out"]
    assert not force or (out / "answer.txt").read_text() == "first"


def test_what_comes_in_the_last_moment_is_never_lost(tmp_path, monkeypatch):
    """Even between the last look and the swap: the folders change places again."""
    out = tmp_path / "out"
    write(out)
    swap, calls = folder_module.exchange, []

    def late(one, other):
        if not calls:
            (out / "thesis.txt").write_text("mine")
        calls.append(one)
        swap(one, other)

    monkeypatch.setattr(folder_module, "exchange", late)
    with pytest.raises(OutputError, match=r"thesis\.txt, which hydroloop did not write"):
        write(out, "second", force=True)
    assert (out / "thesis.txt").read_text() == "mine"
    assert (out / "answer.txt").read_text() == "first"
    assert os.listdir(tmp_path) == ["out"]


@pytest.mark.parametrize("change", ["edited", "list", "link", "folder"])
def test_force_never_takes_what_was_changed(tmp_path, change):
    """A result that the user edited, a changed list, a link or a folder of theirs: all stays."""
    out = tmp_path / "out"
    write(out)
    if change == "edited":
        (out / "answer.txt").write_text("my words")
    elif change == "list":
        (out / LIST).write_text((out / LIST).read_text() + "my notes\n")
    elif change == "link":
        (tmp_path / "mine").write_text("first")
        (out / "answer.txt").unlink()
        (out / "answer.txt").symlink_to(tmp_path / "mine")
    else:
        (out / "mine").mkdir()
    with pytest.raises(OutputError, match=r"is not replaced"):
        write(out, "second", force=True)
    assert (out / "tables/towns.csv").read_text() == "first"


def test_of_two_runs_into_one_folder_the_second_is_refused(tmp_path):
    """While one writes the other is told at once; one that comes later does not replace it."""
    before = check_free(tmp_path / "out", force=True)
    with whole_folder(tmp_path / "out") as folder:
        (folder / "answer.txt").write_text("first")
        with pytest.raises(OutputError, match="another run is writing there"):
            check_free(tmp_path / "out")
    with (
        pytest.raises(OutputError, match="another run has written there meanwhile"),
        whole_folder(tmp_path / "out", force=True, before=before),
    ):
        pass
    assert (tmp_path / "out/answer.txt").read_text() == "first"
    assert os.listdir(tmp_path) == ["out"]


def test_what_dead_runs_left_goes_and_what_they_took_comes_back(tmp_path):
    """A hidden folder of a killed run is removed by the next; others' hidden folders stay."""
    write(tmp_path / "out")
    os.rename(tmp_path / "out", beside(tmp_path / "out", "replaced"))
    left = beside(tmp_path / "out")
    left.mkdir()
    (left / "half.txt").write_text("half")
    (tmp_path / ".out-mine").mkdir()
    with pytest.raises(OutputError, match="Add --force"):
        check_free(tmp_path / "out")
    assert sorted(os.listdir(tmp_path)) == [".out-mine", "out"]
    assert (tmp_path / "out/answer.txt").read_text() == "first"


def test_without_a_swap_in_one_step_it_is_the_same(tmp_path, monkeypatch):
    """Where the system cannot let two folders change places at once, by renaming them."""
    monkeypatch.setattr(exchange_module, "_in_one_step", lambda *paths: False)
    write(tmp_path / "out")
    write(tmp_path / "out", "second", force=True)
    assert (tmp_path / "out/answer.txt").read_text() == "second"
    assert os.listdir(tmp_path) == ["out"]


def test_a_link_is_followed(tmp_path):
    """Results go into the folder that a link leads to; the link stays one."""
    (tmp_path / "there").mkdir()
    (tmp_path / "link").symlink_to("there")
    write(tmp_path / "link")
    write(tmp_path / "link", "second", force=True)
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "there/answer.txt").read_text() == "second"


def test_the_folder_in_which_one_stands_is_filled(tmp_path, monkeypatch):
    """`--out .` fills the working folder, and again with force: it is never taken away."""
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    number = here.stat().st_ino
    write(".")
    with whole_folder(".", force=True) as folder:
        (folder / "answer.txt").write_text("second")
    assert here.stat().st_ino == number
    assert sorted(os.listdir()) == ["answer.txt", LIST]
    assert (here / "answer.txt").read_text() == "second"
    (here / "answer.txt").write_text("my words")
    with pytest.raises(OutputError, match="changed since"):
        write(".", "third", force=True)
    assert os.listdir(tmp_path) == ["here"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_read_only_folders_are_told_before_any_work(tmp_path):
    """Where nothing may be written, and where old results cannot be removed."""
    write(tmp_path / "out")
    (tmp_path / "out/tables").chmod(0o555)
    with pytest.raises(OutputError, match="tables, which is read-only"):
        check_free(tmp_path / "out", force=True)
    (tmp_path / "out/tables").chmod(0o755)
    tmp_path.chmod(0o555)
    with pytest.raises(OutputError, match="is read-only"):
        check_free(tmp_path / "new")
    tmp_path.chmod(0o755)


@pytest.mark.parametrize("name", ["a.png", "a.svg", "a.toml", "a.nc"])
def test_a_single_file_is_replaced_only_as_we_wrote_it(tmp_path, name):
    """Without force never; with force where nobody has changed it since, and no other's."""
    file, content = tmp_path / name, b"0123456789abcdef" * 3
    write_file(file, content)
    with pytest.raises(OutputError, match="Add --force"):
        write_file(file, content)
    write_file(file, content + b"2", force=True)
    for theirs in (file.read_bytes()[1:], file.read_bytes() + b" ", b"", b"mine"):
        file.write_bytes(theirs)
        with pytest.raises(OutputError, match="was not written by hydroloop, or was changed"):
            write_file(file, content, force=True)
        assert file.read_bytes() == theirs
    assert os.listdir(tmp_path) == [name]


def test_a_single_file_is_whole_or_not_there(tmp_path, monkeypatch):
    """A disk that is full leaves nothing, and what was there stays."""

    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    write_file(tmp_path / "a.nc", b"first")
    monkeypatch.setattr(os, "fsync", full)
    for name in ("a.nc", "b.nc"):
        with pytest.raises(OutputError, match=r"cannot be written \(no space left on device\)"):
            write_file(tmp_path / name, b"second", force=True)
    assert os.listdir(tmp_path) == ["a.nc"]
    assert (tmp_path / "a.nc").read_bytes().startswith(b"first")


def test_a_single_file_needs_its_folder(tmp_path):
    """A folder that is not there, or a folder in place of the file, is said in one line."""
    with pytest.raises(OutputError, match="there is no folder"):
        write_file(tmp_path / "no/a.png", b"")
    with pytest.raises(OutputError, match="is a folder"):
        write_file(tmp_path, b"", force=True)
