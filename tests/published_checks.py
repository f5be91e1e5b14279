"""Printed numbers that hydroloop is held against: one shape for all, so that docs can list them.

A module in ``tests/published`` defines ``CHECKS``, a list of `Check`, and one test::

    @pytest.mark.parametrize("check", CHECKS, ids=str)
    def test_printed_values(check):
        \"\"\"What we compute agrees with what was printed.\"\"\"
        check.holds()
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass


def half(printed: str) -> float:
    """Half of the last printed digit: ``half("0.054")`` is 0.0005, ``half("116")`` is 0.5."""
    _, _, decimals = printed.partition(".")
    return 0.5 * 10.0 ** -len(decimals)


@dataclass(frozen=True)
class Check:
    """One printed number and the call that must come to it.

    Attributes
    ----------
    source : str
        Author, year, table, example or page; "as given in ..." where the original was not seen.
    quantity : str
        What the number is, with the inputs that matter.
    printed : float
        The number as printed, in `units`.
    tolerance : float
        Largest allowed difference, in `units`: half of the last printed digit (`half`), or what
        the source's own rounding needs.
    ours : callable
        Takes nothing and returns our number, in `units`.
    units : str
        Units as printed.
    known : str
        "read" (seen in print), "second-hand" (as given elsewhere) or "memory".
    """

    source: str
    quantity: str
    printed: float
    tolerance: float
    ours: Callable[[], float]
    units: str = "-"
    known: str = "read"

    def __post_init__(self) -> None:
        if self.known not in ("read", "second-hand", "memory"):
            raise ValueError(f"known is {self.known!r}: write read, second-hand or memory")

    def __str__(self) -> str:
        return f"{self.source}: {self.quantity}"

    def holds(self) -> None:
        """Fail, with both numbers, unless ours lies within the tolerance of the printed one."""
        ours = float(self.ours())
        # The last term forgives binary rounding of a value that lies exactly on the edge.
        allowed = self.tolerance + 1e-12 * max(1.0, abs(self.printed))
        assert math.isfinite(ours), f"{self}: ours is {ours}"
        assert abs(ours - self.printed) <= allowed, (
            f"{self}: printed {self.printed} {self.units}, ours {ours:.6g}, "
            f"tolerance {self.tolerance}"
        )
