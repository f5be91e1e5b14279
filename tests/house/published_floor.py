"""The number of published checks, below which it must not fall. Raise it when checks are added."""

FLOOR = 900
