"""The challenge: a teacher's brief, what teams may change and at what price, and how plans do."""

from hydroloop.judging.brief import Allowed, Brief, Target, read_brief
from hydroloop.judging.grading import Board, Graded, grade
from hydroloop.judging.handed_in import Attempt, Refused, handed_in
from hydroloop.judging.prices import Charge, charged

__all__ = [
    "Allowed",
    "Attempt",
    "Board",
    "Brief",
    "Charge",
    "Graded",
    "Refused",
    "Target",
    "charged",
    "grade",
    "handed_in",
    "read_brief",
]
