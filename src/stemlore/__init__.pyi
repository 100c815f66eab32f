from stemlore.errors import StemloreError
from stemlore.interchange import ReportRecord, job_to_json, read_job, report_from_json, report_to_json, schema
from stemlore.model import (
    Assembly,
    Axle,
    Condition,
    Event,
    Job,
    MakerInstruction,
    Position,
    Sensor,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    Work,
    change,
)
from stemlore.rules import Basis, Finding, Gravity, Outcome, Report, Rulebook, Tie, check, discover, rulebook
from stemlore.tables import table

__all__ = [
    "Assembly",
    "Axle",
    "Basis",
    "Condition",
    "Event",
    "Finding",
    "Gravity",
    "Job",
    "MakerInstruction",
    "Outcome",
    "Position",
    "Report",
    "ReportRecord",
    "Rulebook",
    "Sensor",
    "StemloreError",
    "Tie",
    "Tyre",
    "Valve",
    "Vehicle",
    "Wheel",
    "Work",
    "__version__",
    "change",
    "check",
    "discover",
    "job_to_json",
    "read_job",
    "report_from_json",
    "report_to_json",
    "rulebook",
    "schema",
    "table",
]

__version__: str
