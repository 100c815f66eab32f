"""A work plan as it travels: frozen structs with the names of the live plan."""

from __future__ import annotations

from datetime import date
from typing import Any, Final, Literal

import msgspec

from stemlore.errors import Fault
from stemlore.interchange._report_records import CitationRecord, CoverageRecord, Shown, Wire

__all__ = [
    "PLAN_SCHEMA",
    "CandidateRecord",
    "ChoiceRecord",
    "GapRecord",
    "NoticeRecord",
    "PlanRecord",
    "RenewalRecord",
    "SetPointRecord",
    "StepRecord",
    "WheelRecord",
    "WhyRecord",
]

PLAN_SCHEMA: Final = "stemlore.plan/1"
"""What the key ``schema`` of a plan's document says."""

Verdict = Literal["fits", "excluded", "undecided"]
Side = Literal["least", "most", "between", "equal"]
_AGREES = 1e-6  # of a value: bounds and target were rounded apart


class WheelRecord(Wire, frozen=True):
    """A wheel of the job: where it sits, and what tyre and rim it has."""

    position: str
    tyre: str | None
    rim: str | None


class NoticeRecord(Wire, frozen=True):
    """What must be known before work begins, or where work must stop."""

    text: str
    stops: bool
    positions: tuple[str, ...]
    rule: str


class WhyRecord(Wire, frozen=True):
    """A rule that keeps a part off: what was measured against which limit, and on which side it must lie."""

    rule: str
    title: str
    what: str | None
    side: Side | None
    measured: Shown
    limit: Shown
    margin: float | None
    unit: str | None
    sentence: str


class CandidateRecord(Wire, frozen=True):
    """A part of the catalogue, judged in its place.

    ``valve`` and ``sensor`` hold what the catalogue says of it, as a job's
    document writes it; ``carried`` is what the shop's list says beside.
    """

    code: str
    verdict: Verdict
    rules: tuple[str, ...]
    missing: tuple[str, ...]
    why: tuple[WhyRecord, ...]
    valve: dict[str, Any]
    sensor: dict[str, Any] | None
    carried: dict[str, str]


class ChoiceRecord(Wire, frozen=True):
    """What may be fitted at wheels that are alike; what fits is ranked, best first."""

    positions: tuple[str, ...]
    keep: str
    best: str | None
    likely: str | None
    fits: tuple[CandidateRecord, ...]
    undecided: tuple[CandidateRecord, ...]
    excluded: tuple[CandidateRecord, ...]
    in_the_way: tuple[str, ...]
    deciding: dict[str, tuple[str, ...]]


class RenewalRecord(Wire, frozen=True):
    """A part that is renewed, kept or looked at, and why."""

    positions: tuple[str, ...]
    part: str
    action: str
    strength: str
    reason: str
    note: str
    citation: CitationRecord


class SetPointRecord(Wire, frozen=True):
    """A value to set; ``target`` is null where only the maker may say, or where it is a ceiling."""

    what: str
    title: str
    positions: tuple[str, ...]
    unit: str
    target: float | None
    low: float | None
    high: float | None
    rules: tuple[str, ...]
    told_by: str
    note: str


class StepRecord(Wire, frozen=True):
    """One step of the work."""

    key: str
    title: str
    reason: str
    positions: tuple[str, ...]
    values: tuple[SetPointRecord, ...]
    details: tuple[str, ...]
    cautions: tuple[str, ...]
    citation: CitationRecord


class GapRecord(Wire, frozen=True):
    """Something that the plan cannot choose or set, and why."""

    text: str
    rule: str
    positions: tuple[str, ...]
    missing: tuple[str, ...]


class PlanRecord(Wire, frozen=True):
    """A work plan read back: what to know, choose, renew and set, and in which order.

    It has the names of :class:`~stemlore.workplan.WorkPlan`, without job and
    rules; positions and units are text. ``on`` is the day whose law holds,
    ``day`` that of the visit. Two plans that say the same are equal.
    """

    schema: Literal["stemlore.plan/1"]
    is_complete: bool
    on: date
    day: date
    visit: str | None
    category: str | None
    coverage: CoverageRecord
    wheels: tuple[WheelRecord, ...]
    notices: tuple[NoticeRecord, ...]
    choices: tuple[ChoiceRecord, ...]
    renewals: tuple[RenewalRecord, ...]
    set_points: tuple[SetPointRecord, ...]
    steps: tuple[StepRecord, ...]
    gaps: tuple[GapRecord, ...]
    safety: str

    @property
    def stops(self) -> tuple[NoticeRecord, ...]:
        """The notices that stop the work."""
        return tuple(each for each in self.notices if each.stops)

    def contradictions(self) -> list[Fault]:
        """Return where the plan contradicts itself: nobody may work by it then."""
        faults: list[Fault] = []
        complete = not self.gaps and not self.stops
        if self.is_complete != complete:
            told = f"says {self.is_complete}, but gaps and notices say {complete}"
            faults.append(Fault("is_complete", told))
        for index, choice in enumerate(self.choices):
            faults += (each.under(f"choices[{index}]") for each in _choice_faults(choice))
        for index, point in enumerate(self.set_points):
            faults += (each.under(f"set_points[{index}]") for each in _point_faults(point))
        for index, step in enumerate(self.steps):
            for number, point in enumerate(step.values):
                place = f"steps[{index}].values[{number}]"
                faults += (each.under(place) for each in _point_faults(point))
        return faults


def _choice_faults(choice: ChoiceRecord) -> list[Fault]:
    faults = []
    first = choice.fits[0].code if choice.fits else None
    if choice.best != first:
        faults.append(Fault("best", f"says {choice.best}, but the first that fits is {first}"))
    open_ = {each.code for each in choice.undecided}
    if choice.likely is not None and choice.likely not in open_:
        faults.append(Fault("likely", f"says {choice.likely}, which is not among the undecided"))
    lists: tuple[tuple[Verdict, tuple[CandidateRecord, ...]], ...] = (
        ("fits", choice.fits),
        ("undecided", choice.undecided),
        ("excluded", choice.excluded),
    )
    for name, listed in lists:
        for index, each in enumerate(listed):
            if each.verdict != name:
                faults.append(Fault(f"{name}[{index}].verdict", f"says {each.verdict}, but stands in {name}"))
    return faults


def _point_faults(point: SetPointRecord) -> list[Fault]:
    low, high, target = point.low, point.high, point.target
    faults = []
    if low is not None and target is not None and target < low - _AGREES * abs(low):
        faults.append(Fault("target", f"{target:g} lies below {low:g}"))
    if high is not None and target is not None and target > high + _AGREES * abs(high):
        faults.append(Fault("target", f"{target:g} lies above {high:g}"))
    return faults


def plan_parts() -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the schema of a plan, and those of its parts."""
    (top,), parts = msgspec.json.schema_components([PlanRecord], ref_template="#/$defs/{name}")
    return parts.pop(top["$ref"].rpartition("/")[2]), parts
