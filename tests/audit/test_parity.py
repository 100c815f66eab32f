"""Walker, generated text and columns give the same outcome, on random trees and on every rule we ship."""

from __future__ import annotations

import os
import random
from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Any

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from trees import DAY, conditions, job_from, jobs_from

from stemlore.audit import counts, frame_of, outcomes
from stemlore.audit.outcomes import ColumnRule, judged
from stemlore.model import Job
from stemlore.rules import Outcome, check, rulebook
from stemlore.rules._facts import view_of
from stemlore.rules._layout import layout_of
from stemlore.rules._lower import lowered
from stemlore.rules._text import compile_verdicts
from stemlore.rules._walker import View, evaluate
from stemlore.rules.nodes import Node

LEVELS = {"vehicle": 0, "axle": 1, "pair": 1, "position": 2}
_LAYOUT = {"vehicle": "vehicle", "axle": "axles", "pair": "pairs", "position": "positions"}
EXAMPLES = int(os.environ.get("STEMLORE_EXAMPLES", "60"))
SLOW: dict[str, Any] = {"deadline": None, "suppress_health_check": list(HealthCheck)}
Verdict = tuple[Node | None, Node]


def subjects_of(job: Job, kind: str) -> tuple[Any, ...]:
    layout = layout_of(job)
    of_kind: tuple[Any, ...] = getattr(layout, _LAYOUT[kind])
    return (*of_kind, *layout.spares) if kind == "position" else of_kind


def today(job: Job, day: date) -> date:
    return day if job.event.on is None else job.event.on.earliest


def walked(verdict: Verdict, view: View, unstated: bool) -> int:
    when, test = verdict
    applies = True if when is None else evaluate(when, view)
    if applies is None:
        return 2
    if not applies:
        return 3
    holds = evaluate(test, view)
    return 2 if holds is None or (holds and unstated) else 0 if holds else 1


def by_walker(kind: str, verdicts: Sequence[Verdict], jobs: Sequence[Job]) -> list[list[int]]:
    seen = [(view_of(job, today(job, DAY), at), at.subject) for job in jobs for at in subjects_of(job, kind)]
    return [[walked(each, view, bool(subject.unstated)) for view, subject in seen] for each in verdicts]


def by_text(kind: Any, verdicts: Sequence[Verdict], jobs: Sequence[Job]) -> list[list[int]]:
    judge = compile_verdicts(kind, verdicts)
    codes: list[bytes] = []
    for job in jobs:
        subjects = subjects_of(job, kind)
        made = judge(job, today(job, DAY), subjects)
        codes += [
            bytes(2 if code == 0 and at.subject.unstated else code for code in each)
            for at, each in zip(subjects, made, strict=True)
        ]
    return [[each[index] for each in codes] for index in range(len(verdicts))]


def by_columns(kind: Any, verdicts: Sequence[Verdict], frame: pl.DataFrame) -> list[list[int]]:
    rules = [ColumnRule(f"x.{kind}.r{index}", kind, *each, spare=True) for index, each in enumerate(verdicts)]
    made = judged(frame, rules, DAY).collect()
    # frames that stand vehicle by vehicle may say so, with the same outcomes
    assert judged(frame, rules, DAY, contiguous=True).collect().equals(made)
    return [made[rule.name].drop_nulls().to_list() for rule in rules]


@st.composite
def verdicts_of(draw: st.DrawFn, kind: str) -> list[Verdict]:
    level, members = LEVELS[kind], kind != "position"
    out = []
    for _ in range(draw(st.integers(1, 3))):
        test = draw(conditions(level, draw(st.integers(0, 3)), members))
        when = draw(st.none() | conditions(level, 1, members))
        out.append((None if when is None else lowered(when), lowered(test)))
    return out


JOBS = jobs_from(20, 30)
FRAME = frame_of(JOBS)


@pytest.mark.parametrize("kind", list(LEVELS))
@settings(max_examples=EXAMPLES, **SLOW)
@given(data=st.data())
def test_random_trees_read_the_same_three_ways(kind: str, data: st.DataObject) -> None:
    verdicts = data.draw(verdicts_of(kind))
    plain = by_walker(kind, verdicts, JOBS)
    assert by_text(kind, verdicts, JOBS) == plain
    assert by_columns(kind, verdicts, FRAME) == plain


@pytest.mark.parametrize("kind", list(LEVELS))
@settings(max_examples=EXAMPLES // 3, **SLOW)
@given(data=st.data(), seed=st.integers(0, 2**32))
def test_random_trees_on_random_jobs(kind: str, data: st.DataObject, seed: int) -> None:
    jobs = jobs_from(seed, 3)
    verdicts = data.draw(verdicts_of(kind))
    plain = by_walker(kind, verdicts, jobs)
    assert by_text(kind, verdicts, jobs) == plain
    assert by_columns(kind, verdicts, frame_of(jobs)) == plain


@pytest.mark.parametrize("place", ["DE", "US", "FR", "US-CA"])
@pytest.mark.parametrize("on", ["2015-06-01", "2024-02-29", "2024-12-31", "2026-11-25"])
def test_every_rule_we_ship(place: str, on: str) -> None:
    book = rulebook(place, on=on)
    made = outcomes(FRAME, book).collect()
    expected: dict[str, list[int]] = {name: [] for name in book.rules}
    for job in JOBS:
        report = check(job, book)
        assert report.faults == ()
        found = {(each.rule, str(each.subject)): int(each.outcome) for each in report.findings}
        for name, each in book.rules.items():
            words = [str(at.subject) for at in subjects_of(job, each.rule.subject)]
            expected[name] += [found.pop((name, subject)) for subject in words if (name, subject) in found]
        assert not found
    for name, codes in expected.items():
        assert made[name].drop_nulls().to_list() == codes, name


def test_counts_are_those_of_the_outcomes() -> None:
    book = rulebook("DE", on="2026-11-25")
    made = outcomes(FRAME, book).collect()
    for rule, *found in counts(FRAME, book).iter_rows():
        tally = Counter(made[rule].drop_nulls())
        assert found == [tally[code] for code in range(len(Outcome))], rule


def test_every_outcome_occurs_often() -> None:
    # parity proves nothing of what never happens
    tally: Counter[int] = Counter()

    @settings(max_examples=50, database=None, derandomize=True, **SLOW)
    @given(data=st.data(), kind=st.sampled_from(list(LEVELS)))
    def collect(data: st.DataObject, kind: str) -> None:
        for codes in by_columns(kind, data.draw(verdicts_of(kind)), FRAME):
            tally.update(codes)

    collect()
    total = sum(tally.values())
    assert all(tally[code] >= 0.02 * total for code in range(4)), tally


def test_jobs_hold_what_the_trees_are_about() -> None:
    jobs = [job_from(random.Random(seed)) for seed in range(200)]
    frame = frame_of(jobs)
    assert frame["unstated"].sum() > 10
    assert frame["spare"].sum() > 10
    assert frame.filter(pl.col("side").is_not_null() & pl.col("tyre_pressure_kpa").is_null()).height > 10
