"""Arithmetic on lanes: the same number of several members, side by side.

A loop over sixteen numbers of one array and of another is slow when compiled, because the compiler
must ask each time whether the arrays overlap. These few operations say that all is read before
anything is written, so each becomes a few instructions. Places are counted in numbers, not in
lanes, and are not checked: they come from the plan of the elimination.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic
from numba.np.arrayobj import make_array

NOTHING = 1e-200
"""Water of a class [m3] below this is none: what is smaller is only slow."""
LEAST_WATER = 1e-180
"""Water [m3] below this has no label: what of its classes is next to nothing would be missed."""

_LINE = 64  # bytes that a processor reads at once: lanes that cross two lines take twice as long
_instruction: Any = intrinsic  # whose own types tell of the call that writes, not of the one made
_FUSED = ("contract",)  # a product and the sum it goes into may be rounded once


def aligned(*shape: int) -> np.ndarray:
    """Zeros that begin where a line of the processor's memory does."""
    size = int(np.prod(shape))
    spare = _LINE // 8
    room = np.zeros(size + spare)
    begin = -(room.ctypes.data // 8) % spare
    return room[begin : begin + size].reshape(shape)


class _Lanes:
    """Writes the instructions of one operation."""

    def __init__(self, context: Any, builder: Any, lanes: int):
        self.context, self.builder = context, builder
        self.kind = ir.VectorType(ir.DoubleType(), lanes)

    def at(self, place: tuple[Any, Any]) -> Any:
        """Pointer to the lanes of an array that begin at a number; a place is (type, value)."""
        array, number = (self.builder.extract_value(place[1], part) for part in (0, 1))
        if place[0][1].bitwidth < 64:
            widen = self.builder.sext if place[0][1].signed else self.builder.zext
            number = widen(number, ir.IntType(64))
        data = make_array(place[0][0])(self.context, self.builder, array).data
        return self.builder.bitcast(self.builder.gep(data, [number]), self.kind.as_pointer())

    def load(self, place: tuple[Any, Any]) -> Any:
        return self.builder.load(self.at(place), align=8)

    def store(self, value: Any, place: tuple[Any, Any]) -> None:
        self.builder.store(value, self.at(place), align=8)

    def every(self, number: Any) -> Any:
        """The same number in all lanes."""
        none, place = ir.Constant(self.kind, ir.Undefined), ir.IntType(32)
        first = self.builder.insert_element(none, number, ir.Constant(place, 0))
        same = ir.Constant(ir.VectorType(place, self.kind.count), [0] * self.kind.count)
        return self.builder.shuffle_vector(first, none, same)

    def add(self, to: tuple[Any, Any], one: Any, other: Any) -> None:
        """Add a product to the lanes at a place."""
        product = self.builder.fmul(one, other, flags=_FUSED)
        self.store(self.builder.fadd(self.load(to), product, flags=_FUSED), to)


def _operation(write: Callable[..., None], lanes: Any, *kinds: Any) -> tuple[Any, Any] | None:
    """Type and code of an operation, or none if a place is not one of contiguous numbers."""
    arrays = [kind.types[0] for kind in kinds if isinstance(kind, types.Tuple)]
    if any(array.layout != "C" or array.dtype != types.float64 for array in arrays):
        return None

    def code(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        given = zip(signature.args[:-1], values[:-1], strict=True)
        write(_Lanes(context, builder, len(lanes)), *given)
        return context.get_dummy_value()

    return types.void(*kinds, lanes), code


@_instruction
def add_product(typing, to, one, other, lanes):
    """``to += one * other`` in all lanes; each is (array, number at which its lanes begin)."""

    def write(on: _Lanes, to: Any, one: Any, other: Any) -> None:
        on.add(to, on.load(one), on.load(other))

    return _operation(write, lanes, to, one, other)


@_instruction
def add_scaled(typing, to, factor, one, lanes):
    """``to += factor * one`` in all lanes."""

    def write(on: _Lanes, to: Any, factor: Any, one: Any) -> None:
        on.add(to, on.every(factor[1]), on.load(one))

    return _operation(write, lanes, to, factor, one)


@_instruction
def multiply(typing, to, one, lanes):
    """``to *= one`` in all lanes."""

    def write(on: _Lanes, to: Any, one: Any) -> None:
        on.store(on.builder.fmul(on.load(to), on.load(one)), to)

    return _operation(write, lanes, to, one)


@_instruction
def scale(typing, to, factor, lanes):
    """``to *= factor`` in all lanes, and zero where that comes to nothing."""

    def write(on: _Lanes, to: Any, factor: Any) -> None:
        value = on.builder.fmul(on.load(to), on.every(factor[1]))
        zero, least = (ir.Constant(on.kind, [x] * on.kind.count) for x in (0.0, NOTHING))
        some = on.builder.fcmp_ordered(">", value, least)
        on.store(on.builder.select(some, value, zero), to)

    return _operation(write, lanes, to, factor)


@_instruction
def invert(typing, to, lanes):
    """``to = 1 / to`` in all lanes, or zero where there is nothing."""

    def write(on: _Lanes, to: Any) -> None:
        value, kind = on.load(to), on.kind
        zero, one, least = (ir.Constant(kind, [x] * kind.count) for x in (0.0, 1.0, LEAST_WATER))
        some = on.builder.fcmp_ordered(">", value, least)
        on.store(on.builder.select(some, on.builder.fdiv(one, value), zero), to)

    return _operation(write, lanes, to)
