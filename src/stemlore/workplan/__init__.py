"""Doing the job right: which parts, what to renew, how tight, how much air, in which order.

Belongs here: plans made from the rules that judge the finished job, and what
dated pressures tell. Does not: any condition of its own on what fits.

May import the rooms from rules and packs down.
"""

from stemlore.workplan.catalogue import CatalogueItem, read_catalogue, table_catalogue
from stemlore.workplan.diagnosis import diagnose_many, diagnose_pressure
from stemlore.workplan.plan import (
    Candidate,
    Choice,
    Gap,
    Notice,
    Renewal,
    SetPoint,
    Step,
    WorkPlan,
)
from stemlore.workplan.planning import plan_work
from stemlore.workplan.pressure_diagnosis import (
    Caution,
    Clue,
    Evidence,
    ExpectedDay,
    Inspection,
    LossVerdict,
    PressureDiagnosis,
)
from stemlore.workplan.setting import Conditions

__all__ = [
    "Candidate",
    "CatalogueItem",
    "Caution",
    "Choice",
    "Clue",
    "Conditions",
    "Evidence",
    "ExpectedDay",
    "Gap",
    "Inspection",
    "LossVerdict",
    "Notice",
    "PressureDiagnosis",
    "Renewal",
    "SetPoint",
    "Step",
    "WorkPlan",
    "diagnose_many",
    "diagnose_pressure",
    "plan_work",
    "read_catalogue",
    "table_catalogue",
]
