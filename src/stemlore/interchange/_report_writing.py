"""From the live report to what travels."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import Any, cast

from stemlore.interchange._report_records import (
    REPORT_SCHEMA,
    SAFETY,
    CitationRecord,
    CoverageRecord,
    FaultRecord,
    FindingRecord,
    OutcomeWord,
    ParameterRecord,
    ReadingRecord,
    ReportRecord,
    Shown,
    TieRecord,
)
from stemlore.provenance import Citation
from stemlore.rules import Coverage, Finding, Reading, Report, RuleFault, UsedParameter

__all__ = ["citation_record", "coverage_record", "fault_record", "record_of", "shown_value"]


def record_of(report: Report, language: str, units: tuple[str, ...]) -> ReportRecord:
    """Return all that a report says, as plain values."""
    return ReportRecord(
        schema=REPORT_SCHEMA,
        form="full",
        is_clean=report.is_clean,
        counts_by_word={cast(OutcomeWord, outcome.word): count for outcome, count in report.counts.items()},
        on=report.book.on,
        day=report.day,
        notes=report.notes,
        faults=tuple(fault_record(fault) for fault in report.faults),
        findings=tuple(_finding(finding, language, units) for finding in report.findings),
        coverage=coverage_record(report.coverage),
        next_readings=tuple(_reading(reading) for reading in report.next_readings),
        fingerprint=report.fingerprint,
        safety=SAFETY,
    )


def _finding(finding: Finding, language: str, units: tuple[str, ...]) -> FindingRecord:
    return FindingRecord(
        rule=finding.rule,
        title=finding.title,
        subject=str(finding.subject),
        outcome_word=cast(OutcomeWord, finding.outcome.word),
        measured=shown_value(finding.measured),
        limit=shown_value(finding.limit),
        margin=finding.margin,
        unit=None if finding.unit is None else str(finding.unit),
        parameters=tuple(_parameter(used) for used in finding.parameters),
        instruction=finding.instruction,
        citation=citation_record(finding.citation),
        grade=finding.grade,
        missing=finding.missing,
        reason=finding.reason,
        basis=finding.basis,
        gravity=finding.gravity,
        tie=finding.tie,
        place=finding.place,
        advice=finding.advice,
        caution=finding.caution,
        pack=finding.pack,
        version=finding.version,
        sentence=finding.sentence(language=language, units=units),
    )


def shown_value(value: Any) -> Shown:
    """Return a value as JSON takes it: a day as text."""
    if isinstance(value, date):
        return value.isoformat()
    return value if value is None or isinstance(value, (bool, int, float, str)) else str(value)


def _parameter(used: UsedParameter) -> ParameterRecord:
    return ParameterRecord(
        name=used.name,
        value=shown_value(used.value),
        unit=None if used.unit is None else str(used.unit),
        figures=used.figures,
        starts=used.starts,
        ends=used.ends,
        citation=citation_record(used.citation),
    )


@lru_cache(maxsize=1024)
def citation_record(citation: Citation) -> CitationRecord:
    """Return a place in a source."""
    source = citation.source
    return CitationRecord(
        title=source.title if source else None,
        issuer=source.issuer if source else None,
        number=(source.number or None) if source else None,
        edition=(source.edition or None) if source else None,
        url=(source.url or None) if source else None,
        at=citation.at,
        grade=citation.grade,
        text=str(citation),
    )


def coverage_record(coverage: Coverage) -> CoverageRecord:
    """Return places, packs and gaps."""
    return CoverageRecord(
        complete=coverage.complete,
        packs=coverage.packs,
        ties=tuple(
            TieRecord(tie=each.tie, place=each.place, packs=each.packs, covered=each.covered, note=each.note)
            for each in coverage.ties
        ),
    )


def fault_record(fault: RuleFault) -> FaultRecord:
    """Return a rule that raised."""
    return FaultRecord(rule=fault.rule, subject=str(fault.subject), error=fault.error)


def _reading(reading: Reading) -> ReadingRecord:
    return ReadingRecord(
        field=reading.field,
        subject=reading.subject,
        meaning=reading.meaning,
        how=reading.how,
        unit=None if reading.unit is None else str(reading.unit),
        settles=reading.settles,
        helps=reading.helps,
    )
