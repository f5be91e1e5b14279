"""For pytest (``-p interpreted``): the compiled loops run as plain Python, so that a changed line
counts at once. The arithmetic on lanes, written in machine instructions, gets its meaning here."""

from __future__ import annotations

import importlib
import json
import os
import signal
from types import SimpleNamespace

import numpy as np
import pytest

os.environ["NUMBA_DISABLE_JIT"] = "1"
NOTHING = 1e-200
MOST = 6  # seconds of one test that is let run; what takes longer is not used
TIMES: dict[str, float] = {}


def _lanes(place, lanes):
    array, number = place
    return array.reshape(-1)[number : number + len(lanes)]


def add_product(to, one, other, lanes):
    into = _lanes(to, lanes)
    into += _lanes(one, lanes) * _lanes(other, lanes)


def add_scaled(to, factor, one, lanes):
    into = _lanes(to, lanes)
    into += factor * _lanes(one, lanes)


def multiply(to, one, lanes):
    into = _lanes(to, lanes)
    into *= _lanes(one, lanes)


def scale(to, factor, lanes):
    into = _lanes(to, lanes)
    into *= factor
    into[~(into > NOTHING)] = 0.0


def invert(to, lanes):
    into = _lanes(to, lanes)
    with np.errstate(divide="ignore", invalid="ignore"):
        into[:] = np.where(into > NOTHING, 1.0 / into, 0.0)


def _rows(table):
    """A structured array as objects with its fields: plain Python has no ``row.field`` on it."""
    names = getattr(table.dtype, "names", None)
    if not names:
        return table
    return [SimpleNamespace(**dict(zip(names, one.item(), strict=True))) for one in table]


def _with_rows(step_through):
    def stepped(tables, series, ends, season, plans, sums, dt):
        tables = type(tables)(*(_rows(table) for table in tables))
        step_through(tables, series, ends, season, _rows(plans), sums, dt)

    return stepped


def pytest_configure(config):
    """Put them where the machine instructions stand."""
    np.seterr(all="ignore")  # a compiled loop does not warn of a division by zero
    season = importlib.import_module("hydroloop.waterworks.season")
    season._step_through = _with_rows(season._step_through)
    for name in ("elimination", "passing", "since"):
        module = importlib.import_module(f"hydroloop.tracing.{name}")
        for operation in (add_product, add_scaled, multiply, scale, invert):
            if hasattr(module, operation.__name__):
                setattr(module, operation.__name__, operation)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item):
    """Let no test run for long while the map is made."""
    if "MUTANTS_TIMES" in os.environ:
        signal.signal(signal.SIGVTALRM, _too_long)
        signal.setitimer(signal.ITIMER_VIRTUAL, MOST, 1.0)  # again, where it is caught
    try:
        return (yield)
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)


def _too_long(*_):
    raise TimeoutError("too slow, interpreted")


def pytest_runtest_logreport(report):
    if report.when == "setup":
        TIMES[report.nodeid] = report.duration
    elif report.when == "call":
        TIMES[report.nodeid] += report.duration
        if not report.passed:
            TIMES.pop(report.nodeid)


def pytest_sessionfinish():
    """Keep the times of what passed."""
    if "MUTANTS_TIMES" in os.environ:
        with open(os.environ["MUTANTS_TIMES"], "w", encoding="utf-8") as file:
            json.dump(TIMES, file)
