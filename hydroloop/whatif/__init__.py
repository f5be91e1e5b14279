"""What if: plans, comparisons, ranges, grids and many runs."""

from hydroloop.whatif.compare import Comparison, compare
from hydroloop.whatif.difference import Change
from hydroloop.whatif.job import Job, changed_job, drawn_job
from hydroloop.whatif.plan import PLAN_KEYS, STEP_KEYS, Plan, Step, read_plan, read_plan_text
from hydroloop.whatif.ready_made import READY_MADE
from hydroloop.whatif.running import run_job
from hydroloop.whatif.season_table import at_places, season_table
from hydroloop.whatif.spread import bands, rank_correlations, spread
from hydroloop.whatif.store import read_store
from hydroloop.whatif.sweep import sweep

__all__ = [
    "PLAN_KEYS",
    "READY_MADE",
    "STEP_KEYS",
    "Change",
    "Comparison",
    "Job",
    "Plan",
    "Step",
    "at_places",
    "bands",
    "changed_job",
    "compare",
    "drawn_job",
    "rank_correlations",
    "read_plan",
    "read_plan_text",
    "read_store",
    "run_job",
    "season_table",
    "spread",
    "sweep",
]
