"""The server of a class: what it refuses, what it bears, and that it ends with all it began."""

from __future__ import annotations

import http.client
import json
import re
import select
import signal
import socket
import threading
import time
from contextlib import suppress
from pathlib import Path

import psutil
import pytest
from killing import Begun

import hydroloop as hl
from hydroloop.outputs.page.dials import dials_of, setting_of, taken
from hydroloop.outputs.page.payload import run_values
from hydroloop.scenario.bundled import bundled_folder

FIRST = (bundled_folder() / "first_town.toml").read_text(encoding="utf-8").replace("\ufeff", "")
BAD = '"</script><script>alert(1)</script>"'
PATIENCE = 4.0
"""How long the server of these tests waits for clients that send or read slowly [s]."""
IMPATIENT = f"""
from hydroloop.__main__ import main
from hydroloop.web import guards, serving
serving._HEAD_S = serving._READ_S = guards._BODY_S = {PATIENCE}
main()
"""


class Server:
    """A server in a process of its own, that waits for slow clients for some seconds only."""

    def __init__(self, folder: Path, *options: str):
        self.begun = Begun(
            "-c", IMPATIENT, "serve", str(folder), "--port", "0", "--processes", "1", *options
        )
        line = self.begun.process.stdout.readline()
        assert "http://" in line, self.begun.process.stderr.read()
        self.port = int(re.search(r":(\d+)/", line)[1])

    def ask(
        self, method: str, path: str, body: bytes | str | None = None, **headers: str
    ) -> tuple[int, bytes, dict]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        given = {name.replace("_", "-"): value for name, value in headers.items()}
        line.putrequest(method, path, skip_host="Host" in given)
        data = body.encode() if isinstance(body, str) else body
        if data is not None and "Content-Length" not in given:
            given["Content-Length"] = str(len(data))
        for name, value in given.items():
            line.putheader(name, value)
        line.endheaders(data)
        answer = line.getresponse()
        found = answer.status, answer.read(), {k.lower(): v for k, v in answer.getheaders()}
        line.close()
        return found

    def run(self, name: str, **question) -> tuple[int, dict]:
        status, text, _ = self.ask(
            "POST",
            f"/api/scenarios/{name}/run",
            json.dumps(question),
            Content_Type="application/json",
        )
        return status, json.loads(text)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    top = tmp_path_factory.mktemp("class")
    made = top / "served"
    made.mkdir()
    (made / "first.toml").write_text(FIRST, encoding="utf-8")
    (made / "bad.toml").write_text(
        re.sub(r"(?m)^title = .*", f"title = {BAD.replace('</', '<U')}", FIRST, count=1).replace(
            "<U", "</"
        ),
        encoding="utf-8",
    )
    (made / "broken.toml").write_text('title = "b"\n[season]\n[town]\nx = 1\n', encoding="utf-8")
    (top / "secret.toml").write_text(FIRST.replace("Larkmill", "Hidden"), encoding="utf-8")
    (top / "secret.csv").write_text("password\nhunter2\n", encoding="utf-8")
    (made / "linked.toml").symlink_to(top / "secret.toml")
    return made


@pytest.fixture(scope="module")
def server(folder):
    made = Server(folder)
    with made.begun:
        yield made


def test_it_runs_what_the_model_runs(server):
    """A run that the server gives is that of Python at the same setting."""
    status, found = server.run("first", dials={"reuse": 1}, count_as="toilet")
    scenario = hl.read_scenario("first_town")
    dials = dials_of(scenario)
    changed = taken(scenario, dials, setting_of(dials, {"reuse": 1}))
    same = run_values(changed.changed({"season.count_as": "toilet"}), gates=("toilet",), every=2)
    assert status == 200
    assert found == json.loads(json.dumps(same))


def test_a_plan_is_run(server):
    """The text of a plan file is run, and what is wrong in one is told by its line."""
    plan = '[plan]\ntitle = "t"\n[[step]]\nwhat = "w"\nscale = { "town.larkmill.people" = 1.1 }\n'
    status, found = server.run("first", plan=plan)
    assert status == 200
    assert "home" in found["glass"]
    status, found = server.run("first", plan=plan.replace("people", "peple"))
    assert status == 422
    assert "people" in " ".join(found["problems"])


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.toml",
        "/scenarios/..%2Fsecret",
        "/scenarios/%2e%2e/secret",
        "/scenarios/linked",
        "/api/scenarios/..%2f..%2fetc%2fpasswd/run",
        "/scenarios/first.toml",
        "/scenarios/first%00",
        "/page.css/../secret.csv",
        "//etc/passwd",
        "/scenarios/C:%5Csecret",
    ],
)
def test_no_path_leads_out(server, path):
    """No address leads to a file beside the scenarios of the folder, and none is hinted at."""
    status, text, _ = server.ask("GET", path)
    assert status in (400, 404, 405)
    assert b"hunter2" not in text
    assert b"Hidden" not in text
    assert b"/tmp" not in text


def test_no_plan_reads_out_of_the_folder(server):
    """A plan that names a table outside of the folder is refused, and nothing of it is shown."""
    plan = '[plan]\ntitle = "t"\n[[step]]\nwhat = "w"\nset = { "weather.file" = "../secret.csv" }\n'
    status, found = server.run("first", plan=plan)
    assert status == 422
    assert "hunter2" not in str(found)


def test_scripts_in_names_are_words(server):
    """A title that holds a script is escaped in the list, in the page and in the frame."""
    for path in ("/", "/scenarios/bad"):
        status, text, headers = server.ask("GET", path)
        assert status == 200
        assert b"<script>alert" not in text
        assert b"</script><" not in text.replace(b"</script>\n", b"")
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "default-src 'none'" in headers["content-security-policy"]


def test_a_broken_scenario_says_what_is_wrong(server):
    """A scenario that cannot be read tells its problems, and no path of this machine."""
    status, text, _ = server.ask("GET", "/scenarios/broken")
    assert status == 422
    assert b"broken.toml" in text
    assert str(server.begun).encode() not in text
    assert b"Traceback" not in text


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 400),
        (b"[" * 50_000, 400),
        (b'{"dials": {"heat": ' + b"9" * 5000 + b"}}", 400),
        (b'{"dials": "x"}', 400),
        (b'{"dials": {"heat": 1.5}}', 400),
        (b'{"dials": {"heat": true}}', 400),
        (b'{"dials": {"heat": 99}}', 422),
        (b'{"wind": 1}', 400),
        (b'{"count_as": "sea"}', 400),
        (b'{"dials": {"heat": NaN}}', 400),
        (b"\xff\xfe", 400),
        (b"null", 400),
        (b"[]", 400),
        (b'{"plan": "' + b"x" * 30_000 + b'"}', 400),
        (b" " * 70_000, 413),
        (b'{"plan": "[plan]", "dials": {"heat": 1}}', 400),
    ],
)
def test_wrong_bodies_are_refused(server, body, status):
    """Huge, deep and wrong bodies get a line that says what is wrong; the server goes on."""
    found, text, _ = server.ask(
        "POST", "/api/scenarios/first/run", body, Content_Type="application/json"
    )
    assert found == status
    assert json.loads(text)["problems"][0]
    assert len(text) < 4000


def test_other_sites_and_other_names_are_refused(server):
    """A foreign Host, Origin or fetch, and a form's body, are refused; a link may be followed."""
    good = {"Content_Type": "application/json"}
    own = f"127.0.0.1:{server.port}"
    post = ("POST", "/api/scenarios/first/run", "{}")
    assert server.ask("GET", "/", Host="evil.example")[0] == 400
    assert server.ask("GET", "/", Host=f"evil.example:{server.port}")[0] == 400
    assert server.ask("GET", "/", Host=f"localhost:{server.port}")[0] == 200
    assert server.ask(*post, Origin="http://evil.example", **good)[0] == 403
    assert server.ask(*post, Origin="null", **good)[0] == 403
    assert server.ask(*post, Sec_Fetch_Site="cross-site", **good)[0] == 403
    assert server.ask(*post, Content_Type="text/plain")[0] == 415
    assert server.ask("GET", "/api/scenarios", Sec_Fetch_Site="cross-site")[0] == 403
    assert server.ask("GET", "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="navigate")[0] == 200
    assert server.ask(*post, Origin=f"http://{own}", **good)[0] == 200
    assert "access-control-allow-origin" not in server.ask("GET", "/api/scenarios")[2]


def test_slow_clients_do_not_stop_it(server):
    """Heads and bodies that trickle in are cut off, and others are answered meanwhile."""
    slow = []
    for start in (
        b"GET / HT",
        b"POST /api/scenarios/first/run HTTP/1.1\r\nHost: 127.0.0.1:"
        + str(server.port).encode()
        + b"\r\nContent-Type: application/json\r\n"
        b"Content-Length: 50\r\n\r\n{",
    ):
        line = socket.create_connection(("127.0.0.1", server.port))
        line.sendall(start)
        line.settimeout(10 * PATIENCE)
        slow.append(line)
    assert server.ask("GET", "/api/queue")[0] == 200
    assert not select.select(slow, [], [], 0)[0]  # they are not cut off yet
    assert slow[0].recv(100) == b""
    assert b"400" in slow[1].recv(400)
    for line in slow:
        line.close()


def test_a_client_that_does_not_read_is_cut_off(server):
    """Answers that nobody takes are not kept for ever: the line is closed, others are served."""
    line = socket.socket()
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    line.connect(("127.0.0.1", server.port))
    ask = f"GET /page.js HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n\r\n".encode()
    line.sendall(300 * ask)
    assert line.recv(12) == b"HTTP/1.1 200"
    held = psutil.Process(server.begun.process.pid)
    assert server.ask("GET", "/api/scenarios")[0] == 200
    assert len(_lines_to(held, line)) == 1
    until = time.monotonic() + 90
    while _lines_to(held, line) and time.monotonic() < until:
        time.sleep(0.1)
    assert not _lines_to(held, line)
    assert server.ask("GET", "/api/scenarios")[0] == 200
    line.close()


def _lines_to(server: psutil.Process, line: socket.socket) -> list:
    """Connections that a server holds open to a client."""
    return [
        one
        for one in server.net_connections("tcp")
        if one.raddr
        and one.raddr.port == line.getsockname()[1]
        and one.status == psutil.CONN_ESTABLISHED
    ]


def test_questions_that_wait_are_counted(server):
    """The queue tells how many wait; the same question asked by many is run once."""
    asked = [
        threading.Thread(target=server.run, args=("first",), kwargs={"dials": {"leaks": 1}})
        for _ in range(6)
    ]
    for one in asked:
        one.start()
    found = json.loads(server.ask("GET", "/api/queue")[1])
    for one in asked:
        one.join()
    assert found["waiting"] == 0
    assert found["seconds"] >= 0


def test_it_says_what_it_can_be_asked(server):
    """The interface is described, and the list of scenarios has those that can be read."""
    described = json.loads(server.ask("GET", "/api")[1])
    assert "/api/scenarios/{name}/run" in described["paths"]
    names = [one["name"] for one in json.loads(server.ask("GET", "/api/scenarios")[1])["scenarios"]]
    assert names == ["bad", "broken", "first"]


def test_a_run_that_never_ends_is_stopped(tmp_path):
    """A run that takes too long is stopped and says so; the next one is answered, and told to end
    the server does."""
    long = FIRST.replace("end = 2031-09-30", "end = 2049-09-30")
    (tmp_path / "long.toml").write_text(long, encoding="utf-8")
    server = Server(tmp_path, "--longest", "0.1")
    with server.begun:
        status, found = server.run("long", dials={"heat": 1})
        assert status == 422
        assert "longer than" in found["problems"][0]
        assert server.ask("GET", "/api/scenarios")[0] == 200
        assert server.run("long", dials={"heat": 1})[0] == 422
        server.begun.kill("SIGTERM")
        assert server.begun.is_gone()
        assert server.begun.process.returncode == 0
        assert "Traceback" not in server.begun.process.stderr.read()


@pytest.mark.parametrize("sent", ["SIGINT", "SIGHUP", "SIGKILL"])
def test_it_ends_with_all_it_began(folder, sent):
    """However it is ended, also while it runs the model, no process is left behind."""
    server = Server(folder)
    with server.begun:
        threading.Thread(target=_quietly, args=(server,), daemon=True).start()
        time.sleep(0.1)
        server.begun.kill(sent, all_of_it=sent == "SIGINT")
        assert server.begun.is_gone()
        if sent != "SIGKILL":
            assert server.begun.process.returncode == 0
            assert "Traceback" not in server.begun.process.stderr.read()
        else:
            assert server.begun.process.returncode == -signal.SIGKILL


def _quietly(server: Server) -> None:
    with suppress(OSError, http.client.HTTPException):
        server.run("first", dials={"people": 2})
