"""Kill programs that write at random moments, again and again, and look at what is left.

    python tests/kills.py run 100
    python tests/kills.py run 60 SIGINT
    python tests/kills.py page 20
    python tests/kills.py challenge 20
    python tests/kills.py keep 100

Takes some seconds a kill; of all signals in turn, or of those that are named. Prints each with what
it left that is wrong, and the count.
"""

from __future__ import annotations

import os
import random
import shutil
import sys
import tempfile
import time
import warnings
from pathlib import Path

from killing import Begun

from hydroloop.files.listing import LIST, not_ours
from hydroloop.files.seal import is_sealed
from hydroloop.temporary import temporary_folder
from hydroloop.whatif import read_store

SENT = ("SIGKILL", "SIGTERM", "SIGHUP", "SIGINT", "closed terminal")
WRITING = {
    "run": ("first_town", "--out", "out"),
    "page": ("first_town", "--out", "out.html"),
    "challenge": ("dry_summer", "--out", "out"),
    **dict.fromkeys(
        ("glass", "drops", "capacity", "week", "round", "report", "lesson"),
        ("five_towns", "--out", "out"),
    ),
}
KEEP = (
    "-m",
    "hydroloop",
    "spread",
    "first_town",
    "--members",
    "160",
    "--workers",
    "2",
    "--set",
    "river.wren.inflow=12 cfs to 25 cfs",
    "--keep",
)


def seconds_of(words: tuple[str, ...], folder: Path) -> float:
    """How long a command takes that nobody kills."""
    begun = time.monotonic()
    with Begun(*words, folder=folder) as whole:
        _, said = whole.process.communicate()
        assert whole.process.returncode == 0, said
    return time.monotonic() - begun


def wrong_results(out: Path) -> list[str]:
    """What is wrong with a file or folder of results: it must be whole, old or new."""
    if out.suffix:
        return ["the file is not whole"] * (not (out.is_file() and is_sealed(out)))
    if not out.is_dir():
        return ["results are gone"]
    listed = (out / LIST).read_text().splitlines()[1:-1]
    missing = [line for line in listed if not (out / line.partition("  ")[2]).is_file()]
    return [f"{len(missing)} results are gone"] * bool(missing) + [not_ours(out)] * bool(
        not_ours(out)
    )


def killed(words: tuple[str, ...], folder: Path, seconds: float) -> tuple[str, list[str]]:
    """Kill a command at some moment; the signal, and what it left running."""
    sent = random.choice(SENT)
    # A file of no name: whoever prints much to a pipe that nobody reads waits for ever.
    with tempfile.TemporaryFile("w+") as said, Begun(*words, folder=folder, said=said) as run:
        time.sleep(random.uniform(0.05, 1.1 * seconds))
        if sent == "closed terminal":
            run.close_terminal()
        else:
            run.kill(sent, all_of_it=sent in ("SIGHUP", "SIGINT"))
        wrong = [] if run.is_gone(600) else ["processes are left"]
        if wrong:
            print(*run.living(), sep="\n")
            run.kill("SIGABRT", all_of_it=True)  # they say where they were
            run.is_gone()
        said.seek(0)
        if "Traceback" in (words_said := said.read()):
            wrong.append("a traceback is printed")
        if wrong:
            print(words_said)
        if sent != "SIGKILL" and os.listdir(tempfile.gettempdir()) != [folder.name]:
            wrong.append("temporary files are left")
        with temporary_folder():  # as the next run would
            if len(os.listdir(tempfile.gettempdir())) > 2:
                wrong.append("temporary files are left for ever")
        for left in set(os.listdir(tempfile.gettempdir())) - {folder.name}:
            shutil.rmtree(Path(tempfile.gettempdir(), left))
        return sent, wrong


def kills_of_writing(kind: str, count: int, folder: Path) -> int:
    """How many of the kills of a command that writes left something wrong."""
    words = ("-m", "hydroloop", kind, *WRITING[kind], "--force")
    (folder / "mine.txt").write_text("mine")
    seconds_of(words, folder)
    seconds, bad, hidden, ours = seconds_of(words, folder), 0, 0, {WRITING[kind][-1], "mine.txt"}
    for _ in range(count):
        sent, wrong = killed(words, folder, seconds)
        wrong += wrong_results(folder / WRITING[kind][-1])
        others = sorted(set(os.listdir(folder)) - ours)
        hidden += bool(others)
        if len(others) > (sent == "SIGKILL"):
            wrong.append(f"left: {others}")
        bad += bool(wrong)
        print(sent, *wrong, sep="; ", flush=True)
    seconds_of(words, folder)
    print(
        f"hidden folders after kill -9: {hidden}; after one more run: "
        f"{len(set(os.listdir(folder)) - ours)}"
    )
    return bad


def kills_of_kept(count: int, folder: Path) -> int:
    """How many of the kills of many runs left something wrong."""
    warnings.simplefilter("error")  # a chunk that must be run again is said by one
    seconds, bad = seconds_of((*KEEP, "whole"), folder), 0
    for number in range(count):
        sent, wrong = killed((*KEEP, "runs"), folder, seconds)
        if number % 10 == 9:
            seconds_of((*KEEP, "runs"), folder)
            if not read_store(folder / "runs").identical(read_store(folder / "whole")):
                wrong.append("results differ")
            if any(name[0] == "." for name in os.listdir(folder / "runs")):
                wrong.append("hidden files are left")
            for file in (folder / "runs").iterdir():
                file.unlink()
        bad += bool(wrong)
        print(sent, *wrong, sep="; ", flush=True)
    return bad


if __name__ == "__main__":
    kind, count, SENT = sys.argv[1], int(sys.argv[2]), (*sys.argv[3:],) or SENT
    with tempfile.TemporaryDirectory() as place:
        # what the programs leave among temporary files is seen in a folder of their own
        os.environ["TMPDIR"] = tempfile.tempdir = place
        os.environ["PYTHONFAULTHANDLER"] = "1"
        place = tempfile.mkdtemp()
        found = (
            kills_of_writing(kind, count, Path(place))
            if kind in WRITING
            else kills_of_kept(count, Path(place))
        )
    print(f"{kind}: {count} kills, {found} of them left something wrong")
    sys.exit(bool(found))
