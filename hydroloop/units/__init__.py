"""Units: the only place that knows any unit but those held inside.

A quantity is written as a number and a unit, ``"4.5 Mgal/day"``, or as a range, ``"8 % to 14 %"``.
Inside, numbers are held in the unit of their dimension (`DIMENSIONS`); on the way out they are
printed in American or metric units.
"""

from hydroloop.units.parsing import Quantity, in_unit, one_line, parse, quoted, refusal
from hydroloop.units.printing import DisplayUnit, display_unit, format_quantity
from hydroloop.units.words import DIMENSIONS, WITHOUT_UNIT, Dimension

__all__ = [
    "DIMENSIONS",
    "WITHOUT_UNIT",
    "Dimension",
    "DisplayUnit",
    "Quantity",
    "display_unit",
    "format_quantity",
    "in_unit",
    "one_line",
    "parse",
    "quoted",
    "refusal",
]
