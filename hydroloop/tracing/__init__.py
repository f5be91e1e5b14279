"""Tracing: one linear operator follows the water of a record, forward and backward."""

from pathlib import Path

from hydroloop.compiling import forget_stale
from hydroloop.tracing import elimination
from hydroloop.tracing.ages import age_distribution, ages
from hydroloop.tracing.because import because, used_parts
from hydroloop.tracing.cycling import cycles
from hydroloop.tracing.drops import drops
from hydroloop.tracing.follow import follow
from hydroloop.tracing.labels import trace
from hydroloop.tracing.last_use import last_use
from hydroloop.tracing.leaving import label_leaving
from hydroloop.tracing.long_run import long_run
from hydroloop.tracing.material import Material, trace_material
from hydroloop.tracing.operator import LANES, Operator, has_water, operator
from hydroloop.tracing.parcels import Fates, fates
from hydroloop.tracing.since import Cohorts, Way, follow_cohorts, time_within
from hydroloop.tracing.use_shares import count_uses, uses_at
from hydroloop.tracing.used_label import used_shares
from hydroloop.tracing.where_and_when import as_counted, find_gate, find_step, find_store

# All loops of this package call each other, so they are kept or forgotten together.
forget_stale(elimination.factor, Path(__file__).parent.glob("*.py"))

__all__ = [
    "LANES",
    "Cohorts",
    "Fates",
    "Material",
    "Operator",
    "Way",
    "age_distribution",
    "ages",
    "as_counted",
    "because",
    "count_uses",
    "cycles",
    "drops",
    "fates",
    "find_gate",
    "find_step",
    "find_store",
    "follow",
    "follow_cohorts",
    "has_water",
    "label_leaving",
    "last_use",
    "long_run",
    "operator",
    "time_within",
    "trace",
    "trace_material",
    "used_parts",
    "used_shares",
    "uses_at",
]
