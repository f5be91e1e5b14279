"""Where there is no folder to keep compiled code in, tracing still runs."""

from __future__ import annotations

import numba

from hydroloop.tracing.compiling import compiled


def test_no_folder_for_compiled_code(monkeypatch):
    """The compiler's refusal to keep code is met by compiling without keeping it."""
    plain, refused = numba.njit, []

    def njit(*args, cache=False, **settings):
        if cache:
            refused.append(settings)
            raise RuntimeError("cannot cache function: no locator available")
        return plain(*args, **settings)

    monkeypatch.setattr(numba, "njit", njit)
    assert compiled(lambda x: 2 * x)(21) == 42
    assert refused
