"""Records in NetCDF files: whole or not at all, and equal when read back."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import conserves
import damaged_records
import numpy as np
import pytest
from conserves import assert_closes
from damaged_records import fault_of, faults
from random_records import random_record

from hydroloop.errors import OutputError, RecordError
from hydroloop.record import foreign, read_record, write_record


@pytest.mark.parametrize("members", [0, 3])
def test_what_is_written_reads_back_equal(tmp_path, members):
    """Values to the last bit, words, dates, attributes, and variables of others."""
    record = random_record(5, members=members, days=0.25)
    record = record.assign(
        demand=(("time", "town", "purpose"), np.ones((8, 2, 1)), {"units": "m3 d-1"}),
        town=("town", np.array(["Ash", "Birkenfähre"]), {"units": "1"}),
    ).assign_attrs(scenario="title = 'Ash'\n", year=2031)
    assert_closes(record)
    path = write_record(record, tmp_path / "season.nc")
    again = read_record(path)
    assert again.identical(record)
    assert again["rate"].values.tobytes() == record["rate"].values.tobytes()
    assert again["time"].dtype == record["time"].dtype
    assert type(again.attrs["year"]) is int


def test_a_file_that_is_there_is_not_overwritten_unasked(tmp_path):
    """Only by force; and nothing else is left in the folder."""
    first, second = random_record(1), random_record(2)
    path = write_record(first, tmp_path / "season.nc")
    with pytest.raises(OutputError, match="is there already"):
        write_record(second, path)
    assert read_record(path).identical(first)
    write_record(second, path, force=True)
    assert read_record(path).identical(second)
    assert [file.name for file in tmp_path.iterdir()] == ["season.nc"]


def test_nothing_is_left_where_a_file_cannot_be_written(tmp_path):
    """No such folder: one clear error, which is an OSError too."""
    with pytest.raises(OutputError, match="there is no folder") as caught:
        write_record(random_record(1), tmp_path / "no" / "season.nc")
    assert isinstance(caught.value, OSError)
    assert list(tmp_path.iterdir()) == []


def test_a_record_that_does_not_close_is_not_written(tmp_path):
    """It is refused before the file is begun."""
    record = random_record(1)
    with pytest.raises(RecordError, match="does not close"):
        write_record(record.assign(rate=record["rate"] * 1.01), tmp_path / "season.nc")
    assert list(tmp_path.iterdir()) == []


def test_files_that_hold_no_record(tmp_path):
    """No file, no NetCDF, no record."""
    text = tmp_path / "notes.nc"
    text.write_text("not a record")
    other = tmp_path / "other.nc"
    random_record(1).drop_vars("rate").to_netcdf(other, engine="h5netcdf")
    for path, message in (
        (tmp_path / "none.nc", "no such file"),
        (text, "holds no water record"),
        (other, 'has no "rate"'),
    ):
        with pytest.raises(RecordError, match=message):
            read_record(path)


def _changed(path, place, value):
    """A copy of a file with one byte changed."""
    content = bytearray(path.read_bytes())
    content[place] ^= value
    copy = path.with_name("copy.nc")
    copy.write_bytes(content)
    return copy


def test_no_change_of_a_byte_changes_the_record(tmp_path):
    """A damaged copy is refused, or else it reads to the same record; nothing else escapes."""
    record = random_record(4)
    path = write_record(record, tmp_path / "season.nc")
    chance = np.random.default_rng(3)
    size = path.stat().st_size
    places = [*chance.integers(8, size - 60, 60).tolist(), size - 3]
    for place in places:
        with pytest.raises(RecordError, match="changed or damaged"):
            read_record(_changed(path, place, 1 << int(chance.integers(8))))
    assert read_record(_changed(path, size - 35, 1)).identical(record)  # in the words of the seal


@pytest.mark.parametrize("keep", [0, 4, 8, 100, 3000, -41])
def test_a_record_cut_short_is_refused(tmp_path, keep):
    """What came over half a line is no record, or is whole in spite of it."""
    record = random_record(4)
    path = write_record(record, tmp_path / "season.nc")
    path.write_bytes(path.read_bytes()[:keep])
    if keep == -41:  # only the digest is gone: a file as of another program
        assert read_record(path).identical(record)
    else:
        with pytest.raises(RecordError, match=r"holds no water record|is damaged"):
            read_record(path)


def test_what_another_program_wrote_is_read(tmp_path):
    """Without a digest, where it holds a record that closes."""
    record = random_record(4)
    record.to_netcdf(tmp_path / "own.nc", engine="h5netcdf")
    assert np.array_equal(read_record(tmp_path / "own.nc")["rate"], record["rate"])


def _linked(file, kind, secret):
    import h5py

    if kind == "external link":
        file["more"] = h5py.ExternalLink(str(secret), "/volume")
    elif kind == "soft link":
        file["more"] = h5py.SoftLink("/volume")
    elif kind == "external storage":
        file.create_dataset("more", (4,), "u1", external=[(str(secret), 0, 4)])
    elif kind == "virtual":
        layout = h5py.VirtualLayout((4,), "u1")
        layout[:] = h5py.VirtualSource(str(secret), "volume", (4,))
        file.create_virtual_dataset("more", layout)
    elif kind == "group":
        file.create_group("more")
    else:
        file.create_dataset("more", (10**7, 10**4), "f8", chunks=(1000, 1000))


@pytest.mark.parametrize(
    "kind", ["external link", "soft link", "external storage", "virtual", "group", "too large"]
)
def test_nothing_outside_a_record_is_read(tmp_path, kind):
    """Links and parts in other files are refused, and so is what unfolds to fill the memory."""
    import h5py

    (tmp_path / "secret.nc").write_bytes(b"kept")
    random_record(4).to_netcdf(tmp_path / "own.nc", engine="h5netcdf")
    with h5py.File(tmp_path / "own.nc", "a") as file:
        _linked(file, kind, tmp_path / "secret.nc")
    with pytest.raises(RecordError, match=r"more|memory") as caught:
        read_record(tmp_path / "own.nc")
    assert "\n" not in str(caught.value)


def test_a_record_that_hangs_is_let_go(tmp_path, monkeypatch):
    """The process that tries it is given up after a time; the caller goes on."""
    random_record(4).to_netcdf(tmp_path / "own.nc", engine="h5netcdf")
    monkeypatch.setattr(foreign, "MOST_SECONDS", 0.05)
    with pytest.raises(RecordError, match="cannot be read within"):
        read_record(tmp_path / "own.nc")


def test_odd_records_are_refused_in_words_or_read_as_they_are(tmp_path):
    """Some of the many in `damaged_records.py`, by a small program that is quickly copied, and a
    few by a process of their own as users do."""
    done = subprocess.run(
        [sys.executable, damaged_records.__file__, "60"],
        check=False,
        text=True,
        capture_output=True,
        timeout=300,
        env={**os.environ, "PYTHONPATH": str(Path(conserves.__file__).parent)},
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "60 tried" in done.stdout
    assert not faults(2, 3, tmp_path, fault_of)


def test_names_of_a_strangers_record_do_not_steer_the_terminal(tmp_path):
    """In what is told of a record, characters that act are written out, and names are cut."""
    record = random_record(4)
    names = record["store"].values.astype(object)
    names[:] = [f"\x1b[31m{number}" + "x" * 5000 for number in range(len(names))]
    record = record.assign_coords(store=names.astype(str))
    record.to_netcdf(tmp_path / "own.nc", engine="h5netcdf")
    with pytest.raises(RecordError, match="does not close") as caught:
        read_record(tmp_path / "own.nc")
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 1500
