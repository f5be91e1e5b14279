"""Compiled loops: keep the machine code between starts, and never use a stale one."""

from __future__ import annotations

import contextlib
import warnings
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numba
from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic, overload
from numba.np.arrayobj import make_array

from hydroloop.errors import HydroloopWarning

_MARK = "compiled-from.txt"


def compiled(function: Callable[..., Any]) -> Any:
    """Compile a function when it is first called, and keep the machine code for the next start,
    beside the package or in the user's cache folder. Where neither can be written to, every process
    compiles anew, which takes some seconds and is said once. Other threads run meanwhile."""
    settings: dict[str, Any] = {"nogil": True, "error_model": "numpy"}
    try:
        return numba.njit(cache=True, **settings)(function)
    except RuntimeError:
        warnings.warn(
            "Compiled code cannot be kept, as no folder for it can be written: every start takes "
            "some seconds longer. Name a folder in the environment variable NUMBA_CACHE_DIR.",
            HydroloopWarning,
            stacklevel=2,
        )
        return numba.njit(**settings)(function)


def stamp(sources: Iterable[Path]) -> int:
    """Check sum of what some files hold, in any order: it tells sources from others."""
    found = 0
    for path in sorted(sources):
        found = zlib.crc32(path.read_bytes(), found)
    return found


def forget_stale(function: Any, sources: Iterable[Path]) -> None:
    """Throw away machine code, of this function and all in its folder, that was kept from other
    sources. The compiler itself looks only at the file of the function that is kept, not at those
    of the functions that it calls; after an update it could go on with the old ones."""
    # Interpreted, as NUMBA_DISABLE_JIT asks, a function has no machine code and no statistics.
    kept_in = getattr(getattr(function, "stats", None), "cache_path", None)
    if not kept_in:
        return
    now = str(stamp(sources))
    folder = Path(kept_in)
    with contextlib.suppress(OSError):
        if (folder / _MARK).read_text(encoding="ascii") == now:
            return
    # A folder that can no longer be written cannot have been filled by another version either.
    with contextlib.suppress(OSError):
        for pattern in ("*.nbi", "*.nbc"):
            for file in folder.glob(pattern):
                file.unlink(missing_ok=True)
        folder.mkdir(parents=True, exist_ok=True)
        (folder / _MARK).write_text(now, encoding="ascii")


def lent(arrays: Any) -> Any:
    """A tuple of arrays, in tuples or not, on which a compiled loop keeps no count of who uses
    them: counting takes longer than small rules do. Whoever lends them keeps them."""
    return arrays


@overload(lent)
def _lent(arrays):
    return lambda arrays: _without_owner(arrays)


_instruction: Any = intrinsic  # whose own types tell of the call that writes, not of the one made
_tuple: Any = types.BaseTuple


@_instruction
def _without_owner(typing, arrays):
    def freed(context: Any, builder: Any, kind: Any, value: Any) -> Any:
        if isinstance(kind, _tuple):
            for place, part in enumerate(kind.types):
                own = freed(context, builder, part, builder.extract_value(value, place))
                value = builder.insert_value(value, own, place)
        elif isinstance(kind, types.Array):
            array = make_array(kind)(context, builder, value)
            array.meminfo = ir.Constant(array.meminfo.type, None)
            value = array._getvalue()
        return value

    def code(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        return freed(context, builder, arrays, values[0])

    return arrays(arrays), code
