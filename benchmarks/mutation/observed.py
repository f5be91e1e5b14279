"""For pytest (``-p observed``): what came of each test, and its processor time, as one line of the
file `MUTANTS_TOLD`; and what tests need to run on changed modules."""

from __future__ import annotations

import json
import os
import signal
import time

import pytest
from hypothesis import HealthCheck, Phase, settings
from numba.core.compiler_lock import global_compiler_lock

STARTED: dict[str, float] = {}
SHARED: dict[str, set[str]] = {}  # tests that share a fixture
NOW = [""]  # what lines are kept by: a test, or in it a fixture that others share
# A failing case need not be made smaller, and interpreted loops keep no deadline.
settings.register_profile(
    "mutants",
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.generate),
)


def pytest_collection(session):
    """Once the tests' own settings are read."""
    settings.load_profile("mutants")
    import hydroloop.compiling

    # The changed module has no compiled loop, or none is compiled: machine code stays right.
    hydroloop.compiling.forget_stale = lambda function, sources: None
    if package := os.environ.get("MUTANTS_INTERPRETED"):
        import interpreted

        interpreted.stand_in(package)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item):
    """Let no test run for longer than it may, where that is said; lines are kept by test."""
    most = float(os.environ.get("MUTANTS_MOST", 0.0))
    STARTED[item.nodeid] = time.process_time()
    if most:
        for name in item.fixturenames:
            for fixture in item._fixtureinfo.name2fixturedefs.get(name, ())[-1:]:
                places = getattr(item, "callspec", None)
                number = places.indices.get(name, 0) if places else 0
                SHARED.setdefault(_shared(fixture, number), set()).add(item.nodeid)
        _keep_by(item.nodeid)
        if time.process_time() > float(os.environ["MUTANTS_MOST_OF_FILE"]):
            item.session.shouldstop = "enough of this file"
        signal.signal(signal.SIGVTALRM, _too_long)
        signal.setitimer(signal.ITIMER_VIRTUAL, most, 1.0)  # again, where it is caught
    try:
        return (yield)
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup(fixturedef, request):
    """What a shared fixture reaches every test that uses it reaches, not the first alone."""
    if fixturedef.scope == "function" or not os.environ.get("MUTANTS_MOST"):
        return (yield)
    before = NOW[0]
    _keep_by(_shared(fixturedef, request.param_index))
    try:
        return (yield)
    finally:
        _keep_by(before)


def _shared(fixture, number):
    return f"{fixture.baseid} {fixture.argname} {number}"


def _keep_by(name):
    from coverage import Coverage

    NOW[0] = name
    Coverage.current().switch_context(name)


def _too_long(*_):
    if not global_compiler_lock.is_locked():  # else other threads wait for it for ever
        raise TimeoutError("too slow, interpreted")


def pytest_runtest_logreport(report):
    if report.when == "call" or report.outcome != "passed":
        spent = time.process_time() - STARTED[report.nodeid]
        _tell(report.nodeid, report.outcome, spent)


def pytest_collectreport(report):
    if report.failed:
        _tell(report.nodeid, "failed", 0.0)


def _tell(name, outcome, seconds):
    with open(os.environ["MUTANTS_TOLD"], "a", encoding="utf-8") as file:
        file.write(json.dumps([name, outcome, round(seconds, 3)]) + "\n")
