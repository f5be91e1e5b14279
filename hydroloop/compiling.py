"""Compiled loops: keep the machine code between runs, and never use a stale one."""

from __future__ import annotations

import warnings
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path
from types import ModuleType
from typing import Any

from numba import njit

from hydroloop.errors import HydroloopWarning


def source_stamp(modules: Iterable[ModuleType]) -> int:
    """Number that changes when the source of any of these modules changes.

    The compiler's own check sees only the file of the function that is kept, not those of the rules
    that it calls; a stamp bound into the function makes it see all of them.

    Parameters
    ----------
    modules : iterable of module
        All modules whose functions are compiled together.

    Returns
    -------
    int
        Checksum, zero or more.

    Examples
    --------
    >>> import hydroloop.errors
    >>> source_stamp([hydroloop.errors]) >= 0
    True
    """
    stamp = 0
    for module in modules:
        stamp = zlib.crc32(Path(str(module.__file__)).read_bytes(), stamp)
    return stamp


def kept(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compile a function and keep the machine code for the next start, where a folder allows it.

    Parameters
    ----------
    function : callable
        Function that the compiler can take.

    Returns
    -------
    callable
        The compiled function; it is compiled when first called.
    """
    try:
        return njit(cache=True)(function)
    except RuntimeError:
        warnings.warn(
            "Compiled code cannot be kept, as no folder for it can be written: every start takes "
            "some seconds longer. Name a folder in the environment variable NUMBA_CACHE_DIR.",
            HydroloopWarning,
            stacklevel=2,
        )
        return njit(function)
