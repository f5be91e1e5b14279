"""Compile the inner loops, and keep what was compiled where there is a folder for it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba


def compiled(function: Callable[..., Any]) -> Any:
    """Compile a function when it is first called.

    The machine code is kept beside the package, or in the user's cache folder, for the next
    process. Where neither can be written to, every process compiles anew, which takes some seconds.

    Parameters
    ----------
    function : callable
        Function of numbers, arrays and named tuples of them.

    Returns
    -------
    callable
        The same, compiled; other threads run while it does.

    Notes
    -----
    What is kept is compiled anew when the file of the function changes, but not when the file of a
    function that it calls does. After work on one of them delete ``*.nbi`` and ``*.nbc``.

    Examples
    --------
    >>> compiled(lambda x: x + 1)(2)
    3
    """
    settings: dict[str, Any] = {"nogil": True, "error_model": "numpy"}
    try:
        return numba.njit(cache=True, **settings)(function)
    except RuntimeError:
        return numba.njit(**settings)(function)
