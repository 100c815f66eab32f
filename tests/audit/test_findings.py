"""A row of findings is the counter's finding: outcome, measured, limit, margin, unit, gravity, missing."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest
from trees import jobs_from

from stemlore.audit import audit_fleet, frame_of
from stemlore.audit._judging import Judging, Tally
from stemlore.model import Job
from stemlore.rules import Finding, Outcome, Rulebook, check, rulebook

JOBS = jobs_from(20, 40)
Row = tuple[Any, ...]


def by_columns(jobs: list[Job], book: Rulebook, *, contiguous: bool) -> dict[tuple[Any, ...], Row]:
    # the frame as it stands, so that readings no table would let through are held equal too
    frame = frame_of(jobs).with_columns(
        (pl.int_range(pl.len(), dtype=pl.Int64) + 1).alias("row"), pl.col("vehicle_id").alias("vehicle")
    )
    judging = Judging(frame.schema, book, book.on, contiguous=contiguous)
    judged = judging.judge(frame)
    made = judging.findings(judged, judging.counts(judged), tuple(Outcome), Tally())
    columns = ("outcome", "measured", "measured_word", "limit", "limit_word", "margin", "unit", "gravity")
    found = {}
    for row in made.iter_rows(named=True):
        missing = None if row["missing"] is None else sorted(row["missing"])
        found[row["vehicle_id"], row["rule"], row["position"]] = (*(row[name] for name in columns), missing)
    assert len(found) == made.height
    return found


def by_row(each: Finding) -> Row:
    missing = sorted(each.missing) if each.outcome is Outcome.UNKNOWN else None
    unit = None if each.unit is None else each.unit.symbol
    shown = (*_typed(each.measured), *_typed(each.limit))
    return (each.outcome.word, *shown, each.margin, unit, each.gravity.value, missing)


def _typed(value: Any) -> tuple[float | None, str | None]:
    if isinstance(value, bool):
        return None, str(value).lower()
    if isinstance(value, (str, date)):
        return None, str(value)
    return value, None


def differences(jobs: list[Job], book: Rulebook, *, contiguous: bool = True) -> list[Any]:
    columns = by_columns(jobs, book, contiguous=contiguous)
    out: list[Any] = []
    for number, job in enumerate(jobs):
        report = check(job, book)
        assert not report.faults
        for each in report.findings:
            key = (number, each.rule, str(each.subject))
            if columns.pop(key, None) != (mine := by_row(each)):
                out.append((key, mine))
    return [*out, *columns]


@pytest.mark.parametrize("place", ["DE", "GB", "US-UT"])
@pytest.mark.parametrize("on", ["2024-02-29", "2026-11-25"])
@pytest.mark.parametrize("contiguous", [True, False])
def test_every_finding_is_the_counters(place: str, on: str, contiguous: bool) -> None:
    assert differences(JOBS, rulebook(place, on=on), contiguous=contiguous) == []


@pytest.mark.parametrize("place", ["DE", "GB", "US-UT"])
def test_findings_of_jobs_with_readings_past_all_measure(place: str) -> None:
    from stemlore.testing.strategies import jobs, sample

    book = rulebook(place, on="2026-11-25")
    drawn = sample(jobs(messy=True, book=book), 60, seed=7)
    found = differences(drawn, book)
    assert found == []


def test_a_run_gives_the_same_rows() -> None:
    book = rulebook("DE", on="2026-11-25")
    run = audit_fleet(frame_of(JOBS), book)
    # readings below zero stand in these jobs, which a table is not believed: hold only the others equal
    spoilt = set(run.quality.collect()["vehicle_id"])
    made = run.findings.collect()
    assert spoilt
    assert len(spoilt) < len(JOBS)
    columns = by_columns(JOBS, book, contiguous=True)
    held = 0
    for row in made.iter_rows(named=True):
        if str(row["vehicle_id"]) not in spoilt:
            other = columns[row["vehicle_id"], row["rule"], row["position"]]
            assert (row["outcome"], row["measured"], row["margin"]) == (other[0], other[1], other[5])
            held += 1
    assert held > 1000
    assert made.height == len(columns)
