"""What if: plans, comparisons, ranges, grids and many runs."""

from hydroloop.whatif.job import Job, changed_job, drawn_job
from hydroloop.whatif.running import run_job
from hydroloop.whatif.season_table import season_table
from hydroloop.whatif.store import read_store

__all__ = [
    "Job",
    "changed_job",
    "drawn_job",
    "read_store",
    "run_job",
    "season_table",
]
