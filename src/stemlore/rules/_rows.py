"""Findings as plain rows, for whoever writes them out: no object is made for any of them."""

from __future__ import annotations

from itertools import repeat
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stemlore.rules.report import Judged, Report

__all__ = ["Row", "rows_of"]

Row = tuple[int, int, int, Any, Any, float | None]
"""Number of the rule, number of the subject, outcome code, measured, limit, margin."""

_FAULT = 4


def rows_of(judged: Judged, report: Report, first: int) -> list[Row]:
    """Return the rows of one group; a rule that raised has none.

    Parameters
    ----------
    judged : Judged
        The group with its subjects and codes.
    report : Report
        The report that it stands in.
    first : int
        Number of the group's first subject.
    """
    group = judged.group
    numbers: list[int] | None = group.__dict__.get("_numbers")
    if numbers is None:
        order = {rule: number for number, rule in enumerate(report.book.rules)}
        numbers = group.__dict__["_numbers"] = [order[each.rule.id] for each in group.rules]
    rows: list[Row] = []
    for at, (codes, figures) in enumerate(zip(judged.codes, judged.figures(report), strict=True), first):
        rows += zip(numbers, repeat(at), codes, *figures, strict=False)
    return [row for row in rows if row[2] != _FAULT] if report.faults else rows
