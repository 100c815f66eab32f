"""What a finding shows, worked out from the report when it is read."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from stemlore.model import Job
from stemlore.provenance import fingerprint_of
from stemlore.rules._layout import Group, Member
from stemlore.rules._resolve import OpenRule, RuleGroup, shown_nodes
from stemlore.rules._walker import View, evaluate, missing_fields
from stemlore.rules.nodes import Choose, Field, FirstKnown, Node, children
from stemlore.rules.plain import plain_job
from stemlore.rules.rule import Shown
from stemlore.units import settle

if TYPE_CHECKING:
    from stemlore.rules.report import Report

__all__ = ["figures", "instruction", "measure_all", "missing", "report_fingerprint", "view_of"]

_PASS, _FAIL = 0, 1


def view_of(job: Job, day: date, at: Member | Group) -> View:
    """Return the view of a member or group."""
    if isinstance(at, Member):
        return View(job, day, at.axle, member=at)
    return View(job, day, at.axle, group=at)


def measure_all(group: RuleGroup, report: Report, subjects: tuple[Any, ...]) -> list[Any]:
    """Return for each subject the four values a rule shows, of all rules in a row."""
    try:
        return group.measure(report.job, report.day, subjects)
    except Exception:  # one faulty rule must not take the others' figures with it
        return [_walked(group, view_of(report.job, report.day, at)) for at in subjects]


def _walked(group: RuleGroup, view: View) -> tuple[Any, ...]:
    out: list[Any] = []
    for each in group.rules:
        for node in shown_nodes(each.shows):
            try:
                out.append(None if node is None else evaluate(node, view))
            except Exception:
                out.append(None)
    return tuple(out)


def figures(
    shows: Shown | None, values: tuple[Any, Any, Any, Any], code: int
) -> tuple[Any, Any, float | None]:
    """Return measured, limit and margin as the outcome wants them."""
    if shows is None:
        return None, None, None
    low, high, limit, upper = values
    decided = code in (_PASS, _FAIL)
    match shows.side:
        case "most":  # a pass rests on the greatest it can be, a fail on the least
            measured = high if code == _PASS else low
            margin = _less(limit, measured)
        case "least":
            measured = low if code == _PASS else high
            margin = _less(measured, limit)
        case "between":
            measured = low
            below, above = _less(measured, limit), _less(upper, measured)
            if below is None or above is None:
                margin = None
            else:
                margin = min(below, above)
                limit = limit if below <= above else upper
        case _:
            measured, margin = low, None
    return (measured if measured is not None else high), limit, margin if decided else None


def _less(a: Any, b: Any) -> float | None:
    if isinstance(a, date) or isinstance(b, date) or a is None or b is None or isinstance(a, str):
        return None
    return settle(float(a) - float(b))


def instruction(each: OpenRule, view: View) -> str | None:
    """Return the source of the maker's instruction that a rule's limit was taken from."""
    for tree in (each.check, each.when):
        if tree is not None and (found := _deciding(tree, view)) is not None:
            return found
    return None


def _deciding(of: Node, view: View) -> str | None:
    if isinstance(of, FirstKnown):
        if evaluate(of.first, view) is not None:
            return _source(of.first, view)
        return _deciding(of.second, view)
    if isinstance(of, Choose):
        chosen = evaluate(of.condition, view)
        return None if chosen is None else _deciding(of.then if chosen else of.otherwise, view)
    if isinstance(of, Field):
        return _source(of, view)
    for part in children(of):
        if (found := _deciding(part, view)) is not None:
            return found
    return None


def _source(of: Node, view: View) -> str | None:
    if isinstance(of, Field) and of.path.startswith("maker.") and view.member is not None:
        told = view.job.instructions_at(view.member.assembly.position).get(of.path.partition(".")[2])
        return None if told is None else str(told[1])
    return next((found for part in children(of) if (found := _source(part, view)) is not None), None)


def missing(each: OpenRule, view: View) -> tuple[tuple[Any, str], ...]:
    """Return the missing fields that could still change an unknown outcome, with their subjects."""
    found: set[tuple[Any, str]] = set()
    if each.when is not None and evaluate(each.when, view) is None:
        found |= missing_fields(each.when, view)
    if each.rule.body is not None:
        found |= {
            (view.member.subject if view.member else None, path)
            for path in each.rule.reads
            if view.load(path) is None
        }
    elif evaluate(each.check, view) is None:
        found |= missing_fields(each.check, view)
    return tuple(sorted(found, key=lambda item: (str(item[0] or ""), item[1])))


def report_fingerprint(report: Report) -> str:
    """SHA-256 over the job's present values and everything the rulebook rests on."""
    return fingerprint_of({"job": plain_job(report.job), "book": report.book.fingerprint})
