"""Many runs in several processes and on several machines: the same results, and plain ends."""

from __future__ import annotations

import dataclasses
import os
import pickle
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress

import pytest
from killing import Begun

import hydroloop as hl
from hydroloop.errors import InputError, Problem, ScenarioError, WorkerError
from hydroloop.whatif import drawn_job, job, run_job, scheduler
from hydroloop.whatif.store import Store


@pytest.fixture(scope="module")
def scenario():
    """Two towns, a short season, two ranges."""
    return hl.read_scenario("first_town").changed(
        {
            "season.end": "2031-04-20",
            "town.larkmill.mains.real_losses": "8 % to 20 %",
            "river.wren.inflow": "15 cfs to 25 cfs",
        }
    )


def drawn(scenario, members, **asked):
    """A job in chunks of four members, so that a few members make several."""
    return dataclasses.replace(drawn_job(scenario, members, **asked), chunk=4)


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs groups of processes")
@pytest.mark.parametrize("sent", [["SIGINT", "SIGINT"], ["SIGKILL"]])
def test_no_process_outlives_the_run_that_began_it(tmp_path, sent):
    """After Ctrl-C, pressed twice, and after a kill, the worker goes too, and nothing hangs."""
    script = tmp_path / "go.py"
    script.write_text(
        "import dataclasses, time\n"
        "import hydroloop as hl\n"
        "from hydroloop.whatif import chunks, drawn_job, run_job\n"
        "scenario = hl.read_scenario('first_town').changed({\n"
        "    'season.end': '2031-04-20', 'town.larkmill.mains.real_losses': '8 % to 20 %'})\n"
        "work = dataclasses.replace(drawn_job(scenario, 2000), chunk=4)\n"
        "run_chunk, own = chunks.run_chunk, 0\n"
        "def runs(*given):\n"
        "    global own\n"
        "    own += 1\n"
        "    time.sleep(0.05)\n"
        "    return run_chunk(*given)\n"
        "def told(done, *_):\n"
        "    if done > 4 * own:\n"
        "        print('x', flush=True)\n"
        "chunks.run_chunk = runs\n"
        "if __name__ == '__main__':\n"
        "    run_job(work, workers=2, progress=told)\n"
    )
    with Begun(str(script)) as run:
        run.process.stdout.readline()  # the worker has begun, and done something
        for name in sent:
            run.kill(name, all_of_it=name == "SIGINT")
            time.sleep(0.1)
        assert run.is_gone(60)
        assert run.process.returncode != 0


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs groups of processes")
@pytest.mark.parametrize(
    "waits",
    [
        "all(one.result() is None for one in as_done([pool.submit(time.sleep, 0.3) for _ in "
        "'123']))",
        "list(_shared_out(pool, None, [1, 2, 3, 4], 2))",
    ],
    ids=["as_done", "chunks"],
)
def test_ctrl_c_finds_no_lock_of_the_workers_in_our_hands(tmp_path, waits):
    """Wherever it comes while we wait for workers: with a lock of theirs the thread that looks
    after them would wait for ever, and the program for that thread."""
    script = tmp_path / "go.py"
    script.write_text(
        "import signal, sys, threading, time\n"
        "from concurrent.futures import Future\n"
        "from hydroloop.processes import as_done, worker_processes\n"
        "from hydroloop.whatif import chunks\n"
        "from hydroloop.whatif.chunks import _shared_out\n"
        "chunks.loaded_chunk, chunks.run_chunk = abs, lambda *_: time.sleep(0.3)\n"
        "open_to_ctrl_c, held = signal.getsignal(signal.SIGINT), 0\n"
        "def trace(frame, what, given):\n"
        "    global held\n"
        "    code = frame.f_code\n"
        "    if 'concurrent' in code.co_filename or code.co_qualname == 'Condition.__enter__':\n"
        "        one = frame.f_back.f_locals.get('self', frame.f_locals.get('self'))\n"
        "        ended = isinstance(one, Future) and one._state == 'FINISHED'\n"
        "        if signal.getsignal(signal.SIGINT) is not open_to_ctrl_c:\n"
        "            held += 1\n"
        "        elif not (ended or 'ProcessPoolExecutor' in code.co_qualname):\n"
        "            print(code.co_qualname, one)\n"
        "if __name__ == '__main__':\n"
        "    with worker_processes(2, preload=['math']) as pool:\n"
        "        sys.settrace(trace)\n"
        f"        {waits}\n"
        "        sys.settrace(None)\n"
        "    assert held > 10\n"
    )
    with Begun(str(script)) as run:
        told, failed = run.process.communicate(timeout=60)
        assert (run.process.returncode, told) == (0, ""), failed


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs groups of processes")
def test_a_worker_that_dies_after_something_was_taken_back_keeps_nobody_waiting(tmp_path):
    """All that was handed over is told of, the program ends, and no other worker stays."""
    script = tmp_path / "go.py"
    script.write_text(
        "import os, time\n"
        "from hydroloop.processes import as_done, worker_processes\n"
        "if __name__ == '__main__':\n"
        "    with worker_processes(2, preload=['math']) as pool:\n"
        "        first = pool.submit(os.getpid)\n"
        "        for one in as_done([first]):\n"
        "            pid = one.result()\n"
        "        some = [pool.submit(time.sleep, 1.0) for _ in range(8)]\n"
        "        assert some[-2].cancel()\n"
        "        os.kill(pid, 9)\n"
        "        for one in as_done(some):\n"
        "            print('cancelled' if one.cancelled() else one.exception() and 'lost')\n"
    )
    with Begun(str(script)) as run:
        assert run.is_gone()
        assert run.process.stdout.read().split() == ["cancelled", *["lost"] * 7]
        assert run.process.stderr.read() == ""


def test_a_script_without_a_guard_is_told_of_it(tmp_path):
    """Where every worker would run the script anew, a short message names the line to write."""
    script = tmp_path / "go.py"
    script.write_text(
        "import hydroloop as hl\n"
        "from hydroloop.whatif import spread\n"
        "scenario = hl.read_scenario('first_town').changed({\n"
        "    'season.end': '2031-04-20', 'town.larkmill.mains.real_losses': '8 % to 20 %'})\n"
        "spread(scenario, 64, workers=2)\n"
    )
    told = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, timeout=99, check=False
    ).stderr
    assert told.splitlines()[-1] == (
        "hydroloop.errors.InputError: workers: the script has no main guard, so every worker would "
        'run all of it anew. Put what it does under the line: if __name__ == "__main__":'
    )
    assert told.count("Traceback") == 1


def test_processes_give_what_one_process_gives(scenario):
    """Two processes come to the same numbers, whichever chunk they ran."""
    work = drawn(scenario, 5, seed=3)
    assert run_job(work, workers=2).identical(run_job(work))


def test_worker_that_dies(scenario):
    """A process that dies is told in one line that says how to go on."""

    class Dies:
        """Stands for a member that brings its process down."""

        def __reduce__(self):
            return os._exit, (1,)

    work = drawn(scenario, 8)
    dying = job.Job(work.scenario, (*work.changes[:-1], {"title": Dies()}), chunk=4)
    with pytest.raises(WorkerError, match=r"A worker died.*Run the same again") as told:
        run_job(dying, workers=2)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("workers", [0, 1.5, "2", True])
def test_bad_number_of_workers(scenario, workers):
    """No workers, or no number of them, no work."""
    with pytest.raises(InputError, match=f"{workers!r} is not a number of workers"):
        run_job(drawn(scenario, 4), workers=workers)


def test_missing_scheduler_is_told(scenario):
    """An address where nobody answers, or Dask that is not installed, is one line."""
    with pytest.raises(InputError, match="scheduler") as told:
        run_job(drawn(scenario, 4), scheduler="tcp://127.0.0.1:1")
    assert len(told.value.problems) == 1


@pytest.mark.parametrize("answer", [b"", b"HTTP/1.1 200 OK\r\n\r\n"])
def test_who_is_no_scheduler_does_not_keep_us_waiting(scenario, monkeypatch, answer):
    """A socket that says nothing, and one that answers as no scheduler does, are one line soon."""
    pytest.importorskip("distributed")
    monkeypatch.setattr(scheduler, "_GREETING_S", 1.0)
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answers():
            with suppress(OSError):
                while True:
                    line, _ = server.accept()
                    if answer:
                        line.sendall(answer)
                        line.close()

        threading.Thread(target=answers, daemon=True).start()
        begun = time.monotonic()
        with pytest.raises(InputError, match="no Dask scheduler answers") as told:
            run_job(drawn(scenario, 4), scheduler=f"tcp://127.0.0.1:{server.getsockname()[1]}")
        assert len(told.value.problems) == 1
        assert time.monotonic() - begun < 40.0


def test_scheduler_gives_what_one_process_gives(scenario):
    """The workers of a Dask scheduler come to the same, more chunks than are handed out at once."""
    distributed = pytest.importorskip("distributed")
    work = drawn(scenario, 45, seed=3)
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, dashboard_address=None
    ) as cluster:
        assert run_job(work, scheduler=cluster.scheduler_address).identical(run_job(work))


def test_scheduler_without_workers_is_told(scenario):
    """A scheduler at which no worker is does not keep us waiting."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=None) as cluster,
        pytest.raises(InputError, match=r"there are no workers at .*Start some: dask worker"),
    ):
        run_job(drawn(scenario, 8), scheduler=cluster.scheduler_address)


def test_worker_with_another_hydroloop_is_refused(scenario, monkeypatch):
    """What a worker with other rules would come to is not mixed with ours."""
    distributed = pytest.importorskip("distributed")
    work = drawn(scenario, 8)
    other = {**work.identity(), "rules": "others"}
    monkeypatch.setattr(job.Job, "identity", lambda self: other)
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, dashboard_address=None
        ) as cluster,
        pytest.raises(InputError, match="a worker has another hydroloop"),
    ):
        run_job(work, scheduler=cluster.scheduler_address)


def test_scheduler_that_dies(scenario, tmp_path):
    """A scheduler that goes while we work is told in one line; what is done is kept."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, dashboard_address=None
        ) as cluster,
        pytest.raises(WorkerError, match=r"of 400 members are kept.*it goes on") as told,
    ):
        run_job(
            drawn(scenario, 400),
            scheduler=cluster.scheduler_address,
            store=tmp_path / "runs",
            progress=lambda *_: cluster.close(),
        )
    assert "\n" not in str(told.value)
    assert Store(tmp_path / "runs", drawn(scenario, 400)).done()


def test_an_error_out_of_another_process_reads_the_same():
    """Bad input that a worker finds keeps its lines and its problems on the way here."""
    problems = [Problem("a.toml:3", "is wrong.", "Mend it.", "town"), Problem("b", "is none.")]
    for kind in (InputError, ScenarioError):
        there = kind(problems)
        here = pickle.loads(pickle.dumps(there))
        assert (type(here), str(here), here.problems) == (kind, str(there), problems)
