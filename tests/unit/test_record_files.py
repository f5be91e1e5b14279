"""Records in NetCDF files: whole or not at all, and equal when read back."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from random_records import random_record

from hydroloop.errors import OutputError, RecordError, TableError
from hydroloop.record import read_record, write_record


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
    for path, message in ((tmp_path / "none.nc", "no such file"), (text, "holds no water record"),
                          (other, 'has no "rate"')):  # fmt: skip
        with pytest.raises(TableError, match=message):
            read_record(path)
