"""The water record: what stood where and what flowed where, checked to the last drop."""

from hydroloop.record.build import build_record
from hydroloop.record.check import (
    ALLOWED_GAP,
    check_is_record,
    check_record,
    closure_gap,
    step_days,
)
from hydroloop.record.from_tables import edges_of, water_record
from hydroloop.record.names import ALONG, BOUNDARIES, KINDS, OPEN_WATERS, nearest
from hydroloop.record.netcdf import read_record, write_record
from hydroloop.record.network import Network
from hydroloop.record.select import flow_mask, flow_total
from hydroloop.record.steady import steady_record

__all__ = [
    "ALLOWED_GAP",
    "ALONG",
    "BOUNDARIES",
    "KINDS",
    "OPEN_WATERS",
    "Network",
    "build_record",
    "check_is_record",
    "check_record",
    "closure_gap",
    "edges_of",
    "flow_mask",
    "flow_total",
    "nearest",
    "read_record",
    "steady_record",
    "step_days",
    "water_record",
    "write_record",
]
