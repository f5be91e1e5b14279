"""Units of operator texts, exact, and the room that their rounded constants need.

Operator texts work with 7.48 gal/ft3, 8.34 lb/gal and 0.785 for pi/4. With exact constants results
differ by 0.007, 0.065 and 0.05 %, so that 0.15 % is added to the tolerance of what they print.
"""

from __future__ import annotations

from published_checks import half

FT = 0.3048  # international foot [m]
INCH = FT / 12
MILE = 5280 * FT
GAL = 231 * 0.0254**3  # US gallon [m3]
MGD = 1e6 * GAL  # [m3/d]
GPM = 1440 * GAL  # [m3/d]
LB = 0.45359237  # [kg]
GPD_FT2 = GAL / FT**2  # [m/d]
GPM_FT2 = GPM / FT**2  # [m/d]
GPD_FT = GAL / FT  # [m3/m/d]
HOUR, MINUTE = 1 / 24, 1 / 1440  # [d]
ROUNDED_CONSTANTS = 0.0015


def operator_tolerance(printed: str, own: float | None = None) -> float:
    """Half of the last printed digit, or the source's own rounding, and 0.15 %."""
    return (half(printed) if own is None else own) + ROUNDED_CONSTANTS * abs(float(printed))
