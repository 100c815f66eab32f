"""Work plans to and from JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from stemlore.errors import DocumentError, Fault
from stemlore.interchange._plan_records import (
    PLAN_SCHEMA,
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
    plan_parts,
)
from stemlore.interchange._report_writing import citation_record, coverage_record, shown_value
from stemlore.interchange._text import duplicate_faults, open_document
from stemlore.model import Assembly, Position, plain_values
from stemlore.rules import Finding
from stemlore.rules.words import in_words

if TYPE_CHECKING:  # whoever reads jobs and reports does not load the planning
    from stemlore.workplan import Candidate, Choice, Renewal, SetPoint, Step, WorkPlan

__all__ = ["PLAN_SCHEMA", "plan_from_json", "plan_record", "plan_schema", "plan_to_json"]


def plan_to_json(plan: WorkPlan | PlanRecord, *, indent: int = 0) -> str:
    """Write a plan as JSON that :func:`plan_from_json` reads back.

    Every candidate is written with its verdict, the excluded ones with rule,
    measured, limit and margin, and with what the shop's list carries beside
    it. The job as it will be is ``job_to_json(plan.planned)``, what a check
    will say of it ``report_to_json(plan.outlook)``.

    Parameters
    ----------
    plan : WorkPlan or PlanRecord
        What :func:`plan_work` answered, or a record read back.
    indent : int
        Spaces a level; 0 for one line.
    """
    body = msgspec.json.encode(plan_record(plan))
    return (msgspec.json.format(body, indent=indent) if indent > 0 else body).decode()


def plan_record(plan: WorkPlan | PlanRecord) -> PlanRecord:
    """Return all that a plan says, as plain values; a record as it is."""
    if isinstance(plan, PlanRecord):
        return plan
    from stemlore.workplan.plan import MAKERS_FIRST

    return PlanRecord(
        schema=PLAN_SCHEMA,
        is_complete=plan.is_complete,
        on=plan.book.on,
        day=plan.outlook.day,
        visit=plan.job.event.kind,
        category=plan.job.vehicle.category,
        coverage=coverage_record(plan.book.coverage),
        wheels=tuple(_wheel(each) for each in plan.planned.assemblies),
        notices=tuple(
            NoticeRecord(text=each.text, stops=each.stops, positions=_texts(each.positions), rule=each.rule)
            for each in plan.notices
        ),
        choices=tuple(_choice(each) for each in plan.choices),
        renewals=tuple(_renewal(each) for each in plan.renewals),
        set_points=tuple(_point(each) for each in plan.set_points),
        steps=tuple(_step(each) for each in plan.steps),
        gaps=tuple(
            GapRecord(
                text=each.text, rule=each.rule, positions=_texts(each.positions), missing=tuple(each.missing)
            )
            for each in plan.gaps
        ),
        safety=MAKERS_FIRST,
    )


def _texts(positions: Iterable[Position]) -> tuple[str, ...]:
    return tuple(str(each) for each in positions)


def _wheel(assembly: Assembly) -> WheelRecord:
    tyre, rim = assembly.tyre.size, assembly.wheel.rim
    return WheelRecord(
        position=str(assembly.position),
        tyre=None if tyre is None else str(tyre),
        rim=None if rim is None else str(rim),
    )


def _choice(choice: Choice) -> ChoiceRecord:
    best, likely = choice.best, choice.likely
    return ChoiceRecord(
        positions=_texts(choice.positions),
        keep=choice.keep,
        best=None if best is None else best.item.code,
        likely=None if likely is None else likely.item.code,
        fits=tuple(_candidate(each) for each in choice.fits),
        undecided=tuple(_candidate(each) for each in choice.undecided),
        excluded=tuple(_candidate(each) for each in choice.excluded),
        in_the_way=tuple(choice.in_the_way),
        deciding={path: tuple(codes) for path, codes in choice.deciding.items()},
    )


def _candidate(of: Candidate) -> CandidateRecord:
    item = of.item
    return CandidateRecord(
        code=item.code,
        verdict=of.verdict,
        rules=of.rules,
        missing=tuple(of.missing),
        why=tuple(_why(each) for each in of.findings()) if of.verdict == "excluded" else (),
        valve=plain_values(item.valve),
        sensor=None if item.sensor is None else plain_values(item.sensor),
        carried=dict(item.carried),
    )


def _why(finding: Finding) -> WhyRecord:
    shows = finding._open.shows
    return WhyRecord(
        rule=finding.rule,
        title=finding.title,
        what=None if shows is None else shows.label or in_words(shows.measured),
        side=None if shows is None else shows.side,
        measured=shown_value(finding.measured),
        limit=shown_value(finding.limit),
        margin=finding.margin,
        unit=None if finding.unit is None else str(finding.unit),
        sentence=finding.sentence(),
    )


def _renewal(of: Renewal) -> RenewalRecord:
    return RenewalRecord(
        positions=_texts(of.positions),
        part=of.part,
        action=of.action,
        strength=of.strength,
        reason=of.reason,
        note=of.note,
        citation=citation_record(of.citation),
    )


def _point(of: SetPoint) -> SetPointRecord:
    return SetPointRecord(
        what=of.what,
        title=of.title,
        positions=_texts(of.positions),
        unit=str(of.unit),
        target=of.target,
        low=of.low,
        high=of.high,
        rules=tuple(of.rules),
        told_by=of.told_by,
        note=of.note,
    )


def _step(of: Step) -> StepRecord:
    return StepRecord(
        key=of.key,
        title=of.title,
        reason=of.reason,
        positions=_texts(of.positions),
        values=tuple(_point(each) for each in of.values),
        details=tuple(of.details),
        cautions=tuple(of.cautions),
        citation=citation_record(of.citation),
    )


# --- reading ---------------------------------------------------------------------------------


def plan_from_json(source: Path | str | bytes | Mapping[str, Any]) -> PlanRecord:
    """Read a plan that was written by :func:`plan_to_json`.

    Parameters
    ----------
    source : Path, str, bytes or mapping
        A Path is a file; str and bytes are the document itself.

    Returns
    -------
    PlanRecord
        Read-only, with the names of :class:`~stemlore.workplan.WorkPlan`.

    Raises
    ------
    DocumentError
        If it is no such document, or contradicts itself.
    """
    document = open_document("plan", source)
    given = document.root.get("schema")
    if given != PLAN_SCHEMA:
        told = "must be given" if given is None else f"{str(given)[:60]!r} is not a plan's schema"
        raise DocumentError(document.what, [Fault("schema", told, f"this release reads {PLAN_SCHEMA}")])
    doubles = list(duplicate_faults(document, -1))
    if doubles:
        raise DocumentError(document.what, doubles)
    try:
        record = msgspec.convert(document.root, PlanRecord)
    except msgspec.ValidationError as error:
        why, _, path = str(error).partition(" - at ")
        place = path.strip("`").removeprefix("$").removeprefix(".")
        raise DocumentError(document.what, [Fault(place, why)]) from error
    faults = record.contradictions()
    if faults:
        raise DocumentError(document.what, faults)
    return record


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a plan's document."""
    own, parts = plan_parts()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": PLAN_SCHEMA}
    return {**own, **head, "$defs": parts}
