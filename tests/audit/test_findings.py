"""A row of findings is the counter's finding: outcome, measured, limit, margin, unit, gravity, missing."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest
from trees import jobs_from

from stemlore.audit import audit_fleet, frame_of
from stemlore.audit._judging import Judging, Tally
from stemlore.audit.outcomes import column_rules
from stemlore.model import Job
from stemlore.rules import Finding, Outcome, Rulebook, check, rulebook

JOBS = jobs_from(20, 40)
Row = tuple[Any, ...]


def by_columns(jobs: list[Job], book: Rulebook, *, contiguous: bool) -> dict[tuple[Any, ...], Row]:
    # the frame as it stands, so that readings no table would let through are held equal too
    frame = frame_of(jobs).with_columns(
        (pl.int_range(pl.len(), dtype=pl.Int64) + 1).alias("row"), pl.col("vehicle_id").alias("vehicle")
    )
    judging = Judging(frame.schema, column_rules(book), book.on, contiguous=contiguous)
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
    from stemlore.testing.strategies import jobs, sample

    book = rulebook("DE", on="2026-11-25")
    fleet = [*sample(jobs(book=book), 40, seed=5), *JOBS]
    run = audit_fleet(frame_of(fleet), book)
    # readings that cannot be stand in some, which a table is not believed: hold only the others equal
    spoilt = set(run.quality.collect()["vehicle_id"])
    made = run.findings.collect()
    assert spoilt
    assert len(spoilt) < len(fleet)
    columns = by_columns(fleet, book, contiguous=True)
    held = 0
    for row in made.iter_rows(named=True):
        if str(row["vehicle_id"]) not in spoilt:
            other = columns[row["vehicle_id"], row["rule"], row["position"]]
            assert (row["outcome"], row["measured"], row["margin"]) == (other[0], other[1], other[5])
            held += 1
    assert held > 1000
    assert made.height == len(columns)


HALF_DATES = [  # the law asks for a day between the two
    (
        "DE",
        "eu.vehicle.monitoring_required",
        ("vehicle.first_registration", date(2024, 7, 6), date(2024, 7, 8)),
        {"vehicle_category": "N2", "vehicle_monitoring": "none"},
    ),
    (
        "DE",
        "de.tyre.age_100",
        ("tyre.manufactured", date(2018, 8, 1), date(2018, 10, 1)),
        {"vehicle_category": "O1", "vehicle_permit_100": True},
    ),
    (
        "DE",
        "de.tyre.winter_road",
        ("tyre.manufactured", date(2017, 12, 30), date(2018, 1, 2)),
        {"vehicle_category": "M1", "event_winter_road": True, "tyre_snowflake": False, "tyre_mud_snow": True},
    ),
    (
        "GB",
        "gb.tyre.age",
        ("tyre.manufactured", date(2014, 8, 1), date(2014, 10, 1)),
        {"vehicle_category": "N3"},
    ),
]


@pytest.mark.parametrize(("place", "rule", "dated", "row"), HALF_DATES, ids=lambda each: str(each)[:30])
@pytest.mark.parametrize("end", ["earliest", "latest"])
def test_a_date_of_which_one_end_alone_is_told_is_missing(
    place: str, rule: str, dated: tuple[str, date, date], row: dict[str, Any], end: str
) -> None:
    path, before, after = dated
    column = path.replace(".", "_")
    days = {"earliest": before, "latest": after}
    wheel = {
        "vehicle_id": 1,
        "axle_number": 1,
        "side": "left",
        "place": "single",
        "axle_fitment": "single",
        **row,
        **{f"{column}_{each}": day if each == end else None for each, day in days.items()},
    }
    frame = pl.DataFrame([wheel], schema_overrides={f"{column}_{each}": pl.Date for each in days})
    findings = audit_fleet(frame, rulebook(place, on="2024-09-01")).findings.collect()
    found = findings.row(by_predicate=pl.col("rule") == rule, named=True)
    assert found["outcome"] == "unknown"
    assert path in found["missing"]
