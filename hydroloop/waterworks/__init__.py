"""The water works: rules, the network they act on, and the season's run."""

from hydroloop.waterworks.simulate import season_record, simulate

__all__ = ["season_record", "simulate"]
