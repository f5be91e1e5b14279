"""Pictures of a run: the same files by a pool or without one, and none after a failure."""

from __future__ import annotations

import signal
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from typing import ClassVar

import pytest
from small_scenarios import one_town

from hydroloop.errors import OutputError
from hydroloop.files.folder import whole_folder
from hydroloop.measures import measures
from hydroloop.outputs.document import Document, Picture
from hydroloop.outputs.document.drawing import being_drawn, drawing_pool
from hydroloop.outputs.run.pictures import TO_DRAW, Wanted, figure_of, pictures_of
from hydroloop.outputs.run.result import Result
from hydroloop.processes import worker_processes
from hydroloop.waterworks import simulate


@pytest.fixture(scope="module")
def run() -> Result:
    """A short run of one town."""
    scenario = one_town(season__end="2031-05-10")
    record = simulate(scenario)
    return Result(scenario, record, measures(record, scenario))


class Broken(Executor):
    """A pool whose workers have died."""

    def submit(self, fn, /, *args, **kwargs):
        """Hand back what a dead pool hands back."""
        future: Future = Future()
        future.set_exception(BrokenProcessPool("gone"))
        return future


def document(run, *wanted) -> Document:
    """A document of some pictures alone."""
    return Document(
        "run", "Pictures", [Picture(one.name, partial(figure_of, run, one)) for one in wanted]
    )


def drawn_files(run, folder, pool):
    folder.mkdir()
    wanted = Wanted("glass", "larkmill"), Wanted("parcel", "larkmill")
    with being_drawn(document(run, *wanted), folder, pool):
        pass
    return {path.name: path.read_bytes() for path in (folder / "pictures").iterdir()}


def test_pool_and_no_pool_draw_the_same(run, tmp_path):
    """Two processes, this process, and this process after a pool broke down: equal bytes."""
    with drawing_pool(4, *TO_DRAW) as pool:
        by_pool = drawn_files(run, tmp_path / "a", pool)
    here = drawn_files(run, tmp_path / "b", None)
    assert by_pool == here == drawn_files(run, tmp_path / "c", Broken())
    assert set(here) == {
        "captions.txt",
        "larkmill_glass.png",
        "larkmill_glass.svg",
        "larkmill_parcel.png",
        "larkmill_parcel.svg",
    }


def test_other_work_that_fails_stops_the_drawing(run, tmp_path):
    """An error in the work beside the drawing comes through, and no picture is written after it."""
    with (
        pytest.raises(ValueError, match="no room"),
        drawing_pool(4) as pool,
        being_drawn(document(run, *[Wanted("loop", "larkmill")] * 6), tmp_path, pool),
    ):
        raise ValueError("no room")
    before = sorted(tmp_path.rglob("*"))
    assert not [path for path in before if path.name == "captions.txt"]
    assert sorted(tmp_path.rglob("*")) == before


def test_how_many_pictures(run):
    """None, those of one town, or those of all; a few pictures are not worth a pool."""
    assert pictures_of(run, "none") == []
    assert {one.name for one in pictures_of(run, "few")} == {
        "map",
        "because",
        *(f"larkmill_{kind}" for kind in ("glass", "loop", "season", "parcel")),
    }
    assert len(pictures_of(run, "all")) == 6
    with drawing_pool(1) as pool:
        assert pool is None


def test_a_picture_without_anything_to_show_is_left_out(run, tmp_path):
    """Where no water reached a town there is no picture of it, and no error."""
    table = run.table.assign(
        use_share=run.table["use_share"] * 0.0, unknown_share=run.table["unknown_share"] * 0.0
    )
    dry = Result(run.scenario, run.record, table)
    with being_drawn(document(dry, Wanted("glass", "larkmill")), tmp_path) as shown:
        pass
    assert not shown
    assert not list((tmp_path / "pictures").iterdir())


def test_a_disk_that_fills_up_while_another_process_draws_is_told_plainly(run, tmp_path):
    """Of the folder that was asked for, with what the system said, and no name within it."""
    limits = pytest.importorskip("resource")
    least = limits.setrlimit, (limits.RLIMIT_FSIZE, (1000, limits.RLIM_INFINITY))
    with (
        pytest.raises(OutputError) as told,
        worker_processes(1, *least) as pool,
        whole_folder(tmp_path / "out") as folder,
        being_drawn(document(run, Wanted("glass", "larkmill")), folder, pool),
    ):
        pass
    assert str(told.value).startswith(f"{tmp_path / 'out'}: cannot be written (file too large).")
    assert not list(tmp_path.iterdir())


def test_ctrl_c_while_pictures_are_handed_over_waits_for_those_that_are(run, tmp_path):
    """Nobody draws any more into a folder that is about to be taken away."""

    class Late(Executor):
        """Ctrl-C comes after the first picture is handed over."""

        handed: ClassVar[list[Future]] = []

        def submit(self, fn, /, *args, **kwargs):
            self.handed.append(Future())
            signal.raise_signal(signal.SIGINT)
            return self.handed[-1]

    with (
        pytest.raises(KeyboardInterrupt),
        being_drawn(document(run, *[Wanted("loop", "larkmill")] * 3), tmp_path, Late()),
    ):
        pass
    assert [one.cancelled() for one in Late.handed] == [True] * 3
