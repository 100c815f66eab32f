"""Findings as plain rows, for whoever writes them out: no object is made for any of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from stemlore.rules import _facts as facts
from stemlore.rules._resolve import RuleGroup, shown_nodes
from stemlore.rules._text import _TAIL, _Writer
from stemlore.rules.nodes import Constant
from stemlore.rules.rule import Shown

if TYPE_CHECKING:
    from stemlore.rules.report import Judged, Report

__all__ = ["Row", "rows_of"]

Row = tuple[int, int, int, Any, Any, float | None]
"""Number of the rule, number of the subject, outcome code, measured, limit, margin."""

_Rows = Callable[[Any, Any, Any, list[bytes], int], list[Row]]
_FAULT = 4


def rows_of(judged: Judged, report: Report, numbers: Mapping[str, int], first: int) -> list[Row]:
    """Return the rows of one group; a rule that raised has none.

    Parameters
    ----------
    judged : Judged
        The group with its subjects and codes.
    report : Report
        The report that it stands in.
    numbers : mapping of str to int
        Number of each rule in the rulebook.
    first : int
        Number of the group's first subject.
    """
    group = judged.group
    made: _Rows | None = group.__dict__.get("_rows")
    if made is None:
        made = group.__dict__["_rows"] = _compile(group, numbers)
    try:
        rows = made(report.job, report.day, judged.subjects, judged.codes, first)
    except Exception:  # one faulty rule must not take the others' figures with it
        rows = _plainly(judged, report, numbers, first)
    return [row for row in rows if row[2] != _FAULT] if report.faults else rows


def _plainly(judged: Judged, report: Report, numbers: Mapping[str, int], first: int) -> list[Row]:
    shown = judged.facts(report)
    return [
        (
            numbers[each.rule.id],
            first + at,
            codes[index],
            *facts.figures(each.shows, shown[at][4 * index : 4 * index + 4], codes[index]),
        )
        for at, codes in enumerate(judged.codes)
        for index, each in enumerate(judged.group.rules)
    ]


def _compile(group: RuleGroup, numbers: Mapping[str, int]) -> _Rows:
    writer = _Writer(group.subject)
    writer.names |= {"figures": facts.figures, "floor": math.floor}
    # one unpacking is cheaper than an index for each rule
    writer.line(_TAIL, "".join(f"c{index}, " for index in range(len(group.rules))) + "= codes")
    outputs = [
        f"({numbers[each.rule.id]}, at, c{index}, {_figures(writer, each.shows, index)})"
        for index, each in enumerate(group.rules)
    ]
    made: _Rows = writer.finish(f"rows_{group.subject}", outputs, "rows")
    return made


def _figures(writer: _Writer, shows: Shown | None, index: int) -> str:
    """Return the text that gives measured, limit and margin as :func:`facts.figures` does."""
    if shows is None:
        return "None, None, None"
    nodes = shown_nodes(shows)
    low, high, limit, upper = ("None" if node is None else writer.atom(node) for node in nodes)
    code = f"c{index}"
    plain = low == high and all(node is not None and node.kind == "number" for node in nodes[:3])
    if shows.side == "equal" and low == high:
        return f"{low}, {limit}, None"
    if not plain or shows.side not in ("least", "most"):
        return f"*figures({writer.constant(shows)}, ({low}, {high}, {limit}, {upper}), {code})"
    apart = f"{limit} - {low}" if shows.side == "most" else f"{low} - {limit}"
    known = f"{low} is not None"
    if not isinstance(nodes[2], Constant):
        known += f" and {limit} is not None"
    elif nodes[2].value is None:
        return f"{low}, None, None"
    # units.settle, written out: a call for each row would cost more than all the rest
    gap = f"d{index}"
    writer.line(_TAIL, f"{gap} = {apart} if {code} < 2 and {known} else None")
    settled = f"floor({gap} * 1e6 + 0.5) / 1e6 if -1e9 < {gap} < 1e9 else float({gap})"
    return f"{low}, {limit}, None if {gap} is None else {settled}"
