"""Opening: a file is looked at before it is read, and never read beyond what such a file may hold.

A device, a pipe or a socket is no file: it would give bytes for ever, or none.
"""

from __future__ import annotations

import os
import stat

from hydroloop.errors import InputError, Problem
from hydroloop.units import one_line


def file_bytes(path: str | os.PathLike[str], most: int, kind: str) -> bytes:
    """All bytes of a plain file of at most so many; `kind` is what it is in a message: `a
    scenario`."""
    try:
        # Without waiting, so that a pipe that nobody writes to does not hold us up.
        handle = os.open(
            path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
        )
    except ValueError:
        raise wrong_file(path, "is no name of a file.", "Check the name.") from None
    except FileNotFoundError:
        raise wrong_file(path, "there is no such file.", "Check the path.") from None
    except OSError as error:
        raise _unreadable(path, error) from None
    try:
        found = os.fstat(handle)
        if stat.S_ISDIR(found.st_mode):
            raise wrong_file(path, "is a folder.", f"Name the file of {kind} in it.")
        if not stat.S_ISREG(found.st_mode):
            raise wrong_file(path, "is a device or a pipe, not a file.", "Save it as a file first.")
        with os.fdopen(handle, "rb", closefd=False) as file:
            content = file.read(most + 1) if found.st_size <= most else b""
    except OSError as error:
        raise _unreadable(path, error) from None
    finally:
        os.close(handle)
    size = max(found.st_size, len(content))
    if size > most:
        raise wrong_file(
            path,
            f"has {size / 1e6:,.1f} million bytes; {kind} has at most {most / 1e6:g}.",
            "Is this the right file?",
        )
    return content


def wrong_file(path: str | os.PathLike[str], what: str, cure: str) -> InputError:
    """The error for a file that cannot be taken."""
    return InputError(Problem(one_line(str(path), 200) or '""', what, cure))


def _unreadable(path: str | os.PathLike[str], error: OSError) -> InputError:
    words = (error.strerror or "it is not readable").lower()
    return wrong_file(path, f"cannot be read ({words}).", "Check the file and its permissions.")
