"""Jobs, reports and plans to and from JSON, and the JSON Schema of each.

Here belongs what travels: documents, their versions, their faults with paths.
What a field is belongs to model.

May import msgspec, and anything below.
"""

from __future__ import annotations

from stemlore.interchange._plan_records import (
    CandidateRecord,
    ChoiceRecord,
    GapRecord,
    NoticeRecord,
    PlanRecord,
    RenewalRecord,
    SetPointRecord,
    StepRecord,
    WheelRecord,
    WhyRecord,
)
from stemlore.interchange._report_records import (
    SAFETY,
    CitationRecord,
    CoverageRecord,
    FaultRecord,
    FindingRecord,
    ParameterRecord,
    ReadingRecord,
    ReportRecord,
    TieRecord,
)
from stemlore.interchange.documents import schema
from stemlore.interchange.jobs import JOB_SCHEMA, job_to_json, read_job
from stemlore.interchange.plans import PLAN_SCHEMA, plan_from_json, plan_record, plan_schema, plan_to_json
from stemlore.interchange.report import REPORT_SCHEMA, report_from_json, report_schema, report_to_json
from stemlore.interchange.schema import job_schema

__all__ = [
    "JOB_SCHEMA",
    "PLAN_SCHEMA",
    "REPORT_SCHEMA",
    "SAFETY",
    "CandidateRecord",
    "ChoiceRecord",
    "CitationRecord",
    "CoverageRecord",
    "FaultRecord",
    "FindingRecord",
    "GapRecord",
    "NoticeRecord",
    "ParameterRecord",
    "PlanRecord",
    "ReadingRecord",
    "RenewalRecord",
    "ReportRecord",
    "SetPointRecord",
    "StepRecord",
    "TieRecord",
    "WheelRecord",
    "WhyRecord",
    "job_schema",
    "job_to_json",
    "plan_from_json",
    "plan_record",
    "plan_schema",
    "plan_to_json",
    "read_job",
    "report_from_json",
    "report_schema",
    "report_to_json",
    "schema",
]
