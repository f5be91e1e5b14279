"""Studies of one town's works: what they compute, kept apart from what is said of it.

Each module is one study, and is loaded by itself.
"""

__all__ = [
    "capacity_study",
    "capacity_years",
    "contact_seasons",
    "design_check",
    "hourly_week",
    "operators_round",
    "remedies",
    "separation",
    "wet_weather",
]
