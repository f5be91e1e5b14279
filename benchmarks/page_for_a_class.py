"""How soon the page answers: one user and a class at the server, and the file in a slow browser.

    python benchmarks/page_for_a_class.py [scenario] [seconds]

Prints percentiles, the processor's time for an answer, and what memory grew by, each beside what it
is to be; two minutes of it are the class. Needs the extra `tests`, and a Chromium.
"""

from __future__ import annotations

import http.client
import json
import random
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import psutil
from playwright.sync_api import sync_playwright

from hydroloop.scenario.bundled import bundled_folder

POSITIONS = {"dryness": 3, "heat": 2, "people": 3, "leaks": 2, "fixtures": 2, "reuse": 2}
USERS, EVERY_S = 30, 5.0
GATES = ("home", "home-or-workplace", "toilet", "wastewater-plant")


def setting(lot: random.Random) -> dict[str, object]:
    """A setting of the dials by lot."""
    return {
        "dials": {name: lot.randrange(count) for name, count in POSITIONS.items()},
        "count_as": lot.choice(GATES),
    }


def asked(port: int, scenario: str, question: dict[str, object]) -> float:
    """Seconds until a question is answered."""
    begun = time.perf_counter()
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    line.request(
        "POST",
        f"/api/scenarios/{scenario}/run",
        json.dumps(question),
        {"Content-Type": "application/json", "Accept-Encoding": "gzip"},
    )
    answer = line.getresponse()
    answer.read()
    assert answer.status == 200, answer.status
    line.close()
    return time.perf_counter() - begun


def one_user(port: int, scenario: str, count: int = 60) -> list[float]:
    """Times of questions that were never asked before, one after the other."""
    lot = random.Random(1)
    seen: list[dict[str, object]] = []
    while len(seen) < count:
        question = setting(lot)
        if question not in seen:
            seen.append(question)
    return [asked(port, scenario, question) for question in seen]


def a_class(port: int, scenario: str, seconds: float) -> tuple[list[float], int]:
    """Times of a class, each asking every five seconds; and how many got no answer."""
    times: list[float] = []
    failed = [0]

    def user(number: int) -> None:
        lot = random.Random(100 + number)
        time.sleep(lot.uniform(0, EVERY_S))
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            begun = time.monotonic()
            try:
                times.append(asked(port, scenario, setting(lot)))
            except (OSError, AssertionError):
                failed[0] += 1
            time.sleep(max(0.0, EVERY_S - (time.monotonic() - begun)))

    users = [threading.Thread(target=user, args=(number,)) for number in range(USERS)]
    for one in users:
        one.start()
    for one in users:
        one.join()
    return times, failed[0]


def memory(pid: int) -> float:
    """Memory of a server with its processes [MB]."""
    whole = [psutil.Process(pid), *psutil.Process(pid).children(recursive=True)]
    return sum(one.memory_info().rss for one in whole) / 1e6


def worked(pid: int) -> float:
    """Seconds of the processor that a server and its processes have taken."""
    whole = [psutil.Process(pid), *psutil.Process(pid).children(recursive=True)]
    return sum(sum(one.cpu_times()[:2]) for one in whole)


def told(what: str, times: list[float], aim_ms: float) -> None:
    """Print the median and the 95th percentile."""
    times = sorted(times)
    late = 1e3 * times[int(0.95 * len(times))]
    print(
        f"{what}: {len(times)} answers, median {1e3 * times[len(times) // 2]:.0f} ms, "
        f"95th percentile {late:.0f} ms (aim: under {aim_ms:,.0f}"
        f"{'' if late < aim_ms else ': MISSED'})"
    )


def live(scenario: str, seconds: float) -> None:
    """The server, warm."""
    server = subprocess.Popen(
        [sys.executable, "-m", "hydroloop", "serve", str(bundled_folder()), "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        port = int(re.search(r":(\d+)/", server.stdout.readline())[1])
        asked(port, scenario, {})
        begun = worked(server.pid)
        times = one_user(port, scenario)
        told("one user", times, 300)
        print(f"processor: {1e3 * (worked(server.pid) - begun) / len(times):.0f} ms an answer")
        before = memory(server.pid)
        times, failed = a_class(port, scenario, seconds)
        told(f"{USERS} users", times, 1500)
        print(
            f"without an answer: {failed} (aim: 0); memory {before:.0f} MB before, "
            f"{memory(server.pid):.0f} MB after (aim: the same)"
        )
    finally:
        server.terminate()
        server.wait()


def offline(scenario: str) -> None:
    """The file: written, opened and turned in a browser that is slowed four times."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "hydroloop", "page", scenario, "--out", str(path)],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        print(
            f"file: written in {time.perf_counter() - begun:.1f} s (aim: under 60), "
            f"{path.stat().st_size / 1e6:.2f} MB (aim: under 5)"
        )
        with sync_playwright() as play:
            made = play.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox"]
            )
            page = made.new_page()
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
            begun = time.perf_counter()
            page.goto(path.as_uri())
            page.locator("#glass-picture svg").wait_for()
            print(f"file: opens in {1e3 * (time.perf_counter() - begun):.0f} ms (aim: under 1,000)")
            for name, words in (("reuse", "Reuse"), ("heat", "Heat"), ("people", "People")):
                begun = time.perf_counter()
                page.locator(f"input[name={name}][value='1']").check()
                page.locator("#ran", has_text=words).wait_for()
                print(
                    f"file: {name} turned in {1e3 * (time.perf_counter() - begun):.0f} ms "
                    "(aim: under 1,000)"
                )
            made.close()


def main() -> None:
    """Measure the server, then the file."""
    chosen = sys.argv[1] if len(sys.argv) > 1 else "first_town"
    live(chosen, float(sys.argv[2]) if len(sys.argv) > 2 else 120.0)
    offline(chosen)


if __name__ == "__main__":
    main()
