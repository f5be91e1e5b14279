"""Compiled loops: keep the machine code between starts, and never use a stale one."""

from __future__ import annotations

import contextlib
import warnings
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numba

from hydroloop.errors import HydroloopWarning

_MARK = "compiled-from.txt"


def compiled(function: Callable[..., Any]) -> Any:
    """Compile a function when it is first called, and keep the machine code for the next start.

    It is kept beside the package, or in the user's cache folder. Where neither can be written to,
    every process compiles anew, which takes some seconds and is said once.

    Parameters
    ----------
    function : callable
        Function of numbers, arrays and named tuples of them.

    Returns
    -------
    callable
        The same, compiled; other threads run while it does.

    Examples
    --------
    >>> with warnings.catch_warnings(action="ignore"):  # a line typed in has no folder
    ...     add_one = compiled(lambda x: x + 1)
    >>> add_one(2)
    3
    """
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
    """Number that tells sources from others.

    Parameters
    ----------
    sources : iterable of Path
        Files, in any order.

    Returns
    -------
    int
        Check sum of what they hold.

    Examples
    --------
    >>> stamp([]) == 0 and stamp([Path(__file__)]) != 0
    True
    """
    found = 0
    for path in sorted(sources):
        found = zlib.crc32(path.read_bytes(), found)
    return found


def forget_stale(function: Any, sources: Iterable[Path]) -> None:
    """Throw away machine code that was kept from other sources.

    The compiler itself looks only at the file of the function that is kept, not at those of the
    functions that it calls; after an update it could go on with the old ones.

    Parameters
    ----------
    function : callable
        One of the compiled functions; all that are kept in the same folder go with it.
    sources : iterable of Path
        Files of all functions that are compiled together.

    Examples
    --------
    >>> from hydroloop.tracing import elimination
    >>> forget_stale(elimination.factor, Path(elimination.__file__).parent.glob("*.py"))
    """
    kept_in = getattr(function.stats, "cache_path", None)
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
