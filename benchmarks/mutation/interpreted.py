"""The compiled loops of a package as plain Python, so that a changed line in one counts at once;
those of the other stay machine code. The arithmetic on lanes, written in machine instructions, gets
its meaning here."""

from __future__ import annotations

import importlib
from types import SimpleNamespace

import numba
import numpy as np

OTHER = {"waterworks": "tracing", "tracing": "waterworks"}
NOTHING = 1e-200


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
    def stepped(tables, series, ends, season, plans, *rest):
        tables = type(tables)(*(_rows(table) for table in tables))
        step_through(tables, series, ends, season, _rows(plans), *rest)

    return stepped


def stand_in(package: str) -> None:
    """Load a package without machine code, after the one that keeps it."""
    importlib.import_module(f"hydroloop.{OTHER[package]}")
    numba.config.DISABLE_JIT = True
    np.seterr(all="ignore")  # a compiled loop does not warn of a division by zero
    if package == "waterworks":
        season = importlib.import_module("hydroloop.waterworks.stepping")
        if season._step_through.__name__ != "stepped":  # a second batch of tests is run
            season._step_through = _with_rows(season._step_through)
        return
    for name in ("elimination", "passing", "since", "used_label"):
        module = importlib.import_module(f"hydroloop.tracing.{name}")
        for operation in (add_product, add_scaled, multiply, scale, invert):
            if hasattr(module, operation.__name__):
                setattr(module, operation.__name__, operation)
