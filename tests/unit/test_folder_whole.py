"""A folder of results is written whole or not at all, and never over other people's files."""

from __future__ import annotations

import errno
import os

import pytest

from hydroloop.errors import OutputError
from hydroloop.outputs.folder import LIST, check_free, whole_file, whole_folder


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


def fail_halfway_in_a_file(target):
    with whole_file(target) as work:
        work.write_bytes(b"half")
        raise RuntimeError


def test_folder_appears_with_a_list_of_its_files(tmp_path):
    """A finished folder holds what was written, and the list of it; nothing else is left."""
    write(tmp_path / "out")
    assert (tmp_path / "out" / LIST).read_text().splitlines()[1:] == [
        "answer.txt", "tables/towns.csv"]
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
        f"{tmp_path / 'out'}: cannot be written (no space left on device). Nothing was left there.")
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


def test_a_single_file_is_whole_or_not_there(tmp_path):
    """One file is written under another name first; a failure leaves nothing."""
    with whole_file(tmp_path / "glass.png") as work:
        assert work.suffix == ".png"
        work.write_bytes(b"picture")
    with pytest.raises(OutputError, match="Add --force"), whole_file(tmp_path / "glass.png"):
        pass
    with pytest.raises(RuntimeError):
        fail_halfway_in_a_file(tmp_path / "other.png")
    assert os.listdir(tmp_path) == ["glass.png"]
    assert (tmp_path / "glass.png").read_bytes() == b"picture"


def test_a_single_file_needs_its_folder(tmp_path):
    """A folder that is not there, or a folder in place of the file, is said in one line."""
    with pytest.raises(OutputError, match="there is no folder"), whole_file(tmp_path / "no/a.png"):
        pass
    with pytest.raises(OutputError, match="is a folder"), whole_file(tmp_path, force=True):
        pass
