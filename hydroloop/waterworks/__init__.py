"""The water works: rules, the network they act on, and the season's run."""

from hydroloop.waterworks.simulate import simulate

__all__ = ["simulate"]
