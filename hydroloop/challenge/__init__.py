"""The challenge: a teacher's brief, what teams may change and at what price, and how plans do."""

from hydroloop.challenge.brief import Allowed, Brief, Target, read_brief
from hydroloop.challenge.grading import Board, Graded, grade
from hydroloop.challenge.handed_in import Attempt, Refused, handed_in
from hydroloop.challenge.prices import Charge, charged

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
