"""What a finding shows, worked out from the report when it is read."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from stemlore.model import Job
from stemlore.provenance import Citation, fingerprint_of
from stemlore.rules._figures import Figures, figures, shown_nodes
from stemlore.rules._layout import Group, Member
from stemlore.rules._resolve import OpenRule, RuleGroup
from stemlore.rules._walker import View, evaluate, missing_fields
from stemlore.rules.nodes import Aggregate, Choose, Constant, Field, FirstKnown, Lookup, Node, Step, children
from stemlore.rules.parameters import UsedParameter
from stemlore.rules.plain import plain_job
from stemlore.tables import table

if TYPE_CHECKING:
    from stemlore.rules.report import Report

__all__ = [
    "instruction",
    "measure_all",
    "missing",
    "parameters_used",
    "report_fingerprint",
    "tables_used",
    "view_of",
]


def view_of(job: Job, day: date, at: Member | Group) -> View:
    """Return the view of a member or group."""
    if isinstance(at, Member):
        return View(job, day, at.axle, member=at)
    return View(job, day, at.axle, group=at)


def measure_all(
    group: RuleGroup,
    job: Job,
    day: date,
    rows: Iterable[Any],
    codes: list[bytes],
    subjects: Callable[[], Sequence[Member | Group]],
) -> list[Figures]:
    """Return for each subject measured, limit and margin of all rules.

    ``rows`` are the subjects to go through once, ``subjects`` gives them again.
    """
    try:
        return group.measure(job, day, rows, codes)
    except Exception:  # one faulty rule must not take the others' figures with it
        return [
            _walked(group, view_of(job, day, at), each) for at, each in zip(subjects(), codes, strict=True)
        ]


def _walked(group: RuleGroup, view: View, codes: bytes) -> Figures:
    out: list[tuple[Any, Any, float | None]] = []
    for each, code in zip(group.rules, codes, strict=True):
        try:
            low, high, limit, upper = (
                None if node is None else evaluate(node, view) for node in shown_nodes(each.shows)
            )
            out.append(figures(each.shows, (low, high, limit, upper), code))
        except Exception:
            out.append((None, None, None))
    measured, limits, margins = zip(*out, strict=True)
    return measured, limits, margins


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
    views = tuple(view.members()) if isinstance(of, Aggregate) and view.group is not None else (view,)
    for at in views:
        for part in children(of):
            if (found := _deciding(part, at)) is not None:
                return found
    return None


def parameters_used(each: OpenRule, view: View, on: date) -> tuple[UsedParameter, ...]:
    """Return the dated values that a rule used on a subject, in the order the rule names them."""
    trees = [tree for tree in (each.check, each.when) if tree is not None]
    leaves = [leaf for tree in trees for leaf, _ in _leaves(tree, view)]
    names = {leaf.origin for leaf in leaves if isinstance(leaf, (Constant, Step))}
    used = []
    for history in each.parameters:
        if history.name not in names and not each.reason:
            continue
        span = view.load(history.counts_from) if history.counts_from else None
        if history.counts_from:
            dated = None if span is None else history.at(span.earliest)
        else:
            dated = history.on(on)
        if dated is not None:
            used.append(UsedParameter.of(history, dated))
    return tuple(used)


def _leaves(of: Node, view: View) -> Iterator[tuple[Node, View]]:
    """Yield the constants, steps and lookups that a tree's value rests on: none of branches not taken."""
    if isinstance(of, (Constant, Step, Lookup)):
        yield of, view
    parts = children(of)
    if isinstance(of, FirstKnown):
        parts = (of.first if evaluate(of.first, view) is not None else of.second,)
    elif isinstance(of, Choose) and (chosen := evaluate(of.condition, view)) is not None:
        parts = (of.condition, of.then if chosen else of.otherwise)
    views = tuple(view.members()) if isinstance(of, Aggregate) and view.group is not None else (view,)
    for each in views:
        for part in parts:
            yield from _leaves(part, each)


def tables_used(each: OpenRule, view: View) -> tuple[Citation, ...]:
    """Return where the table values come from that a rule read on a subject."""
    trees = [tree for tree in (each.check, each.when) if tree is not None]
    found: dict[Citation, None] = {}
    for tree in trees:
        for leaf, at in _leaves(tree, view):
            if isinstance(leaf, Lookup) and evaluate(leaf, at) is not None:
                found |= dict.fromkeys(_cited(leaf, evaluate(leaf.key, at)))
    return tuple(found)


def _cited(of: Lookup, key: Any) -> list[Citation]:
    cited = table(of.table).citation_map(of.column)
    if of.how == "exact":
        return [cited[key]]
    rows = sorted(cited, key=lambda row: float(cast(float, row)))
    after = bisect_right([float(cast(float, row)) for row in rows], key)
    return [cited[row] for row in rows[after - 1 : after + (of.how == "interpolated")]]


def _source(of: Node, view: View) -> str | None:
    if isinstance(of, Field) and of.path.startswith("maker.") and view.member is not None:
        if view.member.subject.position is None:
            return None
        told = view.job.instructions_at(view.member.subject.position).get(of.path.partition(".")[2])
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
