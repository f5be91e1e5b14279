"""A report of a run, for a reader who was not there."""
