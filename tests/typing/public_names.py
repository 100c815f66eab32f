"""What a type checker makes of the public names; checked, never run."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, assert_type

import stemlore
from stemlore import (
    Finding,
    Gravity,
    Job,
    Outcome,
    Position,
    Report,
    ReportRecord,
    Rulebook,
    StemloreError,
    Tyre,
    change,
    check,
    job_to_json,
    read_job,
    report_from_json,
    report_to_json,
    rulebook,
    schema,
    table,
)


def at_the_counter(body: str, day: date) -> str:
    job = read_job(body)
    assert_type(job, Job)
    assert_type(read_job(Path("job.json")), Job)
    book = rulebook("DE", on=day, used_in="US-CA")
    assert_type(book, Rulebook)
    report = check(job, book)
    assert_type(report, Report)
    assert_type(report.is_clean, bool)
    assert_type(report.holding, tuple[Finding, ...])
    assert_type(report.counts, Mapping[Outcome, int])
    for finding in report.failing:
        assert_type(finding.outcome, Outcome)
        assert_type(finding.gravity, Gravity)
        assert_type(finding.margin, float | None)
        assert_type(finding.missing, tuple[str, ...])
        assert_type(finding.sentence(units=("psi", "in")), str)
    for reading in report.next_readings:
        assert_type(reading.how, str)
    text = report_to_json(report, form="compact")
    assert_type(text, str)
    return text


def back_again(text: bytes) -> None:
    record = report_from_json(text)
    assert_type(record, ReportRecord)
    assert_type(record.counts, Mapping[Outcome, int])
    for finding in record.failing:
        assert_type(finding.outcome, Outcome)
    assert_type(schema("report"), dict[str, Any])


def records() -> None:
    tyre = change(Tyre(pressure="2.5 bar"), pressure="36 psi")
    assert_type(tyre, Tyre)
    assert_type(tyre.pressure, float | None)
    assert_type(Position.parse("axle 1 left"), Position)
    assert_type(job_to_json(Job()), str)
    assert_type(stemlore.__version__, str)
    assert_type(table("load_index").lookup(91).unit, str)


def errors() -> None:
    try:
        read_job("{")
    except StemloreError as error:
        assert_type(error, StemloreError)


def refused() -> None:
    rulebook("DE")  # type: ignore[call-arg]
    report_to_json(Job())  # type: ignore[arg-type]
    schema("table")  # type: ignore[arg-type]
    Tyre(pressure=2.5)  # type: ignore[arg-type]
