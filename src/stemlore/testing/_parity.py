"""Every rule of a pack says the same of a wheel in a row and in a column, on random readings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from types import MappingProxyType
from typing import Any
from unittest import SkipTest

import attrs

from stemlore.errors import StemloreError
from stemlore.model import Job
from stemlore.rules import Outcome, Rulebook, check, rulebook
from stemlore.testing._material import Material

__all__ = ["rows_and_columns_agree"]

_EXAMPLES = 4
"""How many lists of jobs are drawn for each day."""


def rows_and_columns_agree(material: Material) -> Iterator[str]:
    """Judge random jobs one by one and in columns, in every span between two changes of the pack.

    Raises
    ------
    SkipTest
        Where Polars or Hypothesis is not installed; pytest then skips the case.
    """
    try:
        import hypothesis as _hypothesis  # noqa: F401 - only whether it is there

        import stemlore.audit as _audit  # noqa: F401
    except ImportError as error:
        raise SkipTest(f"rows were not held against columns: {error}") from error
    for day in material.days:
        try:
            book = _own_book(material, day)
        except StemloreError as error:
            yield f"on {day} the rulebook cannot be opened: {error}"
            continue
        if book.rules:
            yield from (f"on {day}: {each}" for each in _drawn_differences(book)[:3])


def _drawn_differences(book: Rulebook) -> list[str]:
    """Return how rows and columns differ on the simplest jobs on which they do."""
    from hypothesis import HealthCheck, Phase, given, settings
    from hypothesis import strategies as st

    from stemlore.audit import frame_of, outcomes
    from stemlore.testing.strategies import jobs

    told: list[str] = []

    @settings(
        max_examples=_EXAMPLES,
        database=None,
        derandomize=True,
        deadline=None,
        phases=[Phase.generate, Phase.shrink],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.lists(jobs(messy=True, book=book), min_size=1, max_size=6))
    def hold(some: list[Job]) -> None:
        frame = outcomes(frame_of(some), book).collect()
        if found := list(_differences(some, book, frame)):
            told[:] = found
            raise _DifferenceError

    try:
        hold()
    except _DifferenceError:
        return told
    return []


class _DifferenceError(Exception):
    """Rows and columns differ."""


def _own_book(material: Material, day: date) -> Rulebook:
    """Return a rulebook with the pack's own rules alone, without those that no column can judge."""
    rules = {name: rule for name, rule in material.pack.rules.items() if rule.body is None}
    own = attrs.evolve(material.pack, rules=MappingProxyType(rules))
    beside = [
        attrs.evolve(
            whole,
            rules=MappingProxyType(
                {
                    name: rule
                    for name, rule in whole.rules.items()
                    if rule.body is None and any(name in each.supersedes for each in rules.values())
                }
            ),
        )
        for whole in material.beside.values()
    ]
    return rulebook(material.pack.place, on=day, also=(*beside, own))


def _differences(some: list[Job], book: Rulebook, frame: Any) -> Iterator[str]:
    by_column = {name: frame[name].drop_nulls().to_list() for name in book.rules}
    by_row: dict[str, list[tuple[int, str, Job]]] = {name: [] for name in book.rules}
    for job in some:
        report = check(job, book)
        for fault in report.faults:
            yield f"{fault} of {job!r}"
        for found in report.findings:
            by_row[found.rule].append((int(found.outcome), str(found.subject), job))
    for name, rows in by_row.items():
        columns = by_column[name]
        if len(rows) != len(columns):
            yield f"{name}: {len(rows)} subjects one by one, {len(columns)} in columns, of {some!r}"
            continue
        for (code, subject, job), other in zip(rows, columns, strict=True):
            if code != other:
                yield (
                    f"{name} on {subject}: {Outcome(code).word} by itself, {Outcome(other).word} in columns, "
                    f"of {job!r}"
                )
                break
