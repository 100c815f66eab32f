"""Rules read over columns: the same trees, for millions of wheels.

Here belong the Polars reading of a tree, frames made from jobs, outcomes of a
rulebook over a frame, and audits of whole fleets. What a rule says belongs to
rules, how a report looks to pages and figures.

May import rules and below, and polars and pyarrow (extra ``audit``).
"""

from __future__ import annotations

from stemlore.audit.columns import translate
from stemlore.audit.frames import frame_of
from stemlore.audit.inspection import Inspection, inspect_source
from stemlore.audit.mapping import ColumnMap, FleetMapping, read_mapping
from stemlore.audit.outcomes import counts, outcomes
from stemlore.audit.run import AuditRun, audit_fleet

__all__ = [
    "AuditRun",
    "ColumnMap",
    "FleetMapping",
    "Inspection",
    "audit_fleet",
    "counts",
    "frame_of",
    "inspect_source",
    "outcomes",
    "read_mapping",
    "translate",
]
