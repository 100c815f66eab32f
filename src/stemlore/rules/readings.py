"""What to measure next: the readings that settle the most, in the order of a walk."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import attrs

from stemlore.model import Position, field_spec
from stemlore.rules._layout import Subject
from stemlore.rules._lower import has_aggregate
from stemlore.rules._walker import View, evaluate, straddles, unsure_dates
from stemlore.rules.nodes import (
    Aggregate,
    Choose,
    DateBound,
    Field,
    FirstKnown,
    Node,
    Or,
    Step,
    children,
    walk,
)
from stemlore.units import Unit

if TYPE_CHECKING:
    from stemlore.rules.report import Finding, Report

__all__ = ["Reading", "next_readings"]

Key = tuple[Any, str]


@attrs.frozen(kw_only=True)
class Reading:
    """One reading that is wanted.

    Attributes
    ----------
    field : str
        Path of the field.
    subject : str
        Which wheel or axle; empty for the vehicle.
    meaning, how : str
        What it is and how it is taken.
    unit : Unit or None
        Unit it is stored in.
    settles : tuple of str
        Rules for which, once the readings before it in the list are there too, nothing else is wanted.
    helps : int
        Findings that wait for it, alone or with others.
    """

    field: str
    subject: str
    meaning: str
    how: str
    unit: Unit | None
    settles: tuple[str, ...]
    helps: int

    def __str__(self) -> str:
        place = f" ({self.subject})" if self.subject else ""
        return f"{self.meaning}{place}"


def next_readings(report: Report) -> tuple[Reading, ...]:
    """Return the readings that would settle what is unknown.

    Of two ways to know the same (a marking or a table) the one that is wanted
    already, or the shorter, is asked for. Readings that only advice waits
    for come in too; rules that no reading can settle do not.
    """
    wants: list[tuple[Finding, frozenset[Key], bool]] = []
    asked: set[Key] = set()
    for finding in report.unknown:
        if finding.reason:
            continue
        needed = frozenset(_wanted(finding, report, asked))
        if needed:
            asked |= needed
            wants.append((finding, needed, _settled_by_it(finding)))
    chosen = _greedy([needed for _, needed, _ in wants])
    rank = {key: number for number, key in enumerate(chosen)}

    def on_the_walk(key: Key) -> tuple[Any, ...]:
        where, path = key
        return (field_spec(path).walk, _order(where), rank[key])

    readings = []
    taken: set[Key] = set()
    for key in sorted(chosen, key=on_the_walk):
        taken.add(key)
        waiting = [(finding, needed, sure) for finding, needed, sure in wants if key in needed]
        spec = field_spec(key[1])
        readings.append(
            Reading(
                field=key[1],
                subject=_place(key[0]),
                meaning=spec.meaning,
                how=spec.how,
                unit=spec.unit if spec.kind == "number" else None,
                settles=tuple(dict.fromkeys(f.rule for f, need, sure in waiting if sure and need <= taken)),
                helps=len(waiting),
            )
        )
    return tuple(readings)


def _settled_by_it(finding: Finding) -> bool:
    """Return whether nothing more can be wanted once what is wanted now is known."""
    if finding.subject.unstated:
        return False  # wheels come to light, and their readings are wanted then
    view = finding._about.view()
    when, check, body = finding._open.when, finding._open.check, finding._open.rule.body
    if when is not None and evaluate(when, view) is None and (body or evaluate(check, view) is None):
        return False  # only whether it applies is asked for so far
    trees = [tree for tree in (when, check) if tree is not None]
    if view.group is not None and not view.group.complete and any(has_aggregate(tree) for tree in trees):
        return False
    # while it is not known which of two values counts, only the condition is asked for
    return not any(
        evaluate(part.condition, view) is None
        and None in (evaluate(part.then, view), evaluate(part.otherwise, view))
        for tree in trees
        for part in walk(tree)
        if isinstance(part, Choose) and not has_aggregate(tree)
    )


def _order(where: Any) -> tuple[int, str]:
    if where is None:
        return (0, "")
    if isinstance(where, Subject):
        return (where.axle or 99, str(where))
    return (where if isinstance(where, int) else 0, "")


def _place(where: Any) -> str:
    if where is None:
        return ""
    if isinstance(where, (Subject, Position)):
        return str(where)
    return f"axle {where}"


def _greedy(needs: list[frozenset[Key]]) -> list[Key]:
    """Order all keys so that each next one settles as many findings as can be."""
    open_needs = [set(need) for need in needs]
    order: list[Key] = []
    while True:
        score: dict[Key, list[float]] = {}
        for need in open_needs:
            for key in need:
                mark = score.setdefault(key, [0, 0.0])
                mark[0] += len(need) == 1
                mark[1] += 1 / len(need)
        if not score:
            return order
        best = max(sorted(score, key=lambda key: (str(key[0] or ""), key[1])), key=lambda key: score[key])
        order.append(best)
        for need in open_needs:
            need.discard(best)


def _wanted(finding: Finding, report: Report, asked: set[Key]) -> set[Key]:
    if finding.subject.unstated:
        return {(finding.subject.axle, finding.subject.unstated)}
    view = finding._about.view()
    opened = finding._open
    if opened.when is not None and evaluate(opened.when, view) is None:
        # first whether the rule applies: the rest may not be wanted at all
        return _needed(opened.when, view, asked)
    if opened.rule.body is not None:
        where = view.member.subject if view.member else None
        return {(where, path) for path in opened.rule.reads if view.load(path) is None}
    return _needed(opened.check, view, asked)


def _needed(of: Node, view: View, asked: set[Key]) -> set[Key]:
    """Return one set of readings that would make a tree known."""
    if evaluate(of, view) is not None:
        return set()
    match of:
        case Field(path):
            return {(_subject(view, path), path)}
        case DateBound(path) | Step(path):
            return {(_subject(view, path), path)} if view.load(path) is None else unsure_dates(of, view)
        case Or(sides) if straddles(sides, view):
            return unsure_dates(of, view)
        case FirstKnown(first, second):
            one, two = _needed(first, view, asked), _needed(second, view, asked)
            if not one or not two:
                return one or two
            # a maker's word is asked for only where nothing else can answer
            return min(one, two, key=lambda need: (_is_maker(need), len(need - asked), len(need)))
        case Choose(condition, then, otherwise):
            chosen = evaluate(condition, view)
            if chosen is not None:
                return _needed(then if chosen else otherwise, view, asked)
            return _needed(condition, view, asked)
        case Aggregate():
            return _needed_members(of, view, asked)
    out: set[Key] = set()
    for part in children(of):
        out |= _needed(part, view, asked)
    return out


def _is_maker(need: set[Key]) -> bool:
    return any(path.startswith("maker.") for _, path in need)


def _needed_members(of: Aggregate, view: View, asked: set[Key]) -> set[Key]:
    out: set[Key] = set()
    for member in view.members():
        out |= _needed(of.of, member, asked)
    if view.group is not None and not view.group.complete:
        if not view.job.vehicle.axles:
            out.add((None, "vehicle.axles"))
        for axle in view.job.vehicle.axles:
            if axle.fitment is None and view.group.subject.axle in (None, axle.number):
                out.add((axle.number, "axle.fitment"))
    return out


def _subject(view: View, path: str) -> Any:
    prefix = path.partition(".")[0]
    if prefix in ("vehicle", "event"):
        return None
    if prefix == "axle" or view.member is None:
        return view.axle.number
    return view.member.subject
