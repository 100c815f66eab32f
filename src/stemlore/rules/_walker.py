"""The plain reading of a tree: node by node, for one subject.

Slow and obvious. It answers where generated text raised, says which missing
fields matter, and is what the other readings are held equal to.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any, cast

import attrs

from stemlore.model import Axle, Job, field_spec, own_reader
from stemlore.rules import _kleene as kleene
from stemlore.rules._layout import Group, Member, record_of
from stemlore.rules.nodes import (
    UNKNOWN,
    Age,
    Aggregate,
    And,
    Arithmetic,
    Choose,
    Compare,
    Constant,
    DateBound,
    Equals,
    Field,
    FirstKnown,
    Function,
    InDays,
    Lookup,
    MonthDay,
    Node,
    Not,
    OneOf,
    Or,
    Settled,
    Step,
    Today,
    Unknown,
    Within,
    children,
    walk,
)
from stemlore.tables import table

__all__ = ["View", "evaluate", "missing_fields", "straddles", "unsure_dates"]


@attrs.frozen
class View:
    """One subject of a job on a day: what a tree's fields are read from."""

    job: Job
    today: date
    axle: Axle
    member: Member | None = None
    group: Group | None = None

    def load(self, path: str) -> Any:
        """Return a field's value, dates as spans, designations as text."""
        prefix, _, name = path.partition(".")
        if prefix == "own":
            return self._own(path)
        record = record_of(prefix, self.job, self.member, self.axle)
        value = None if record is None else getattr(record, name)
        if isinstance(value, float):
            return kleene.finite(value)
        return value

    def _own(self, path: str) -> Any:
        if field_spec(path).level == "vehicle":
            return own_reader(path)(self.job.own)
        return None if self.member is None else own_reader(path)(self.member.assembly.own)

    def members(self) -> Iterator[View]:
        """Yield the view of each member of the group."""
        for member in self.group.members if self.group else ():
            yield View(self.job, self.today, member.axle, member)


def _text(value: Any) -> Any:
    return value if value is None or isinstance(value, (str, bool, float, int)) else str(value)


def lookup_table(of: Lookup) -> Any:
    """Return what a lookup reads: a mapping, or keys and values in order."""
    rows = table(of.table).lookup_map(of.column)
    if of.how == "exact":
        return rows
    pairs = sorted((float(cast(float, key)), float(cast(float, value))) for key, value in rows.items())
    return tuple(key for key, _ in pairs), tuple(value for _, value in pairs)


def evaluate(of: Node, view: View) -> Any:
    """Return what a tree without spans gives for one subject; None where it is unknown."""
    match of:
        case Constant(value):
            return value
        case Field(path):
            return _text(view.load(path))
        case DateBound(path, end):
            span = view.load(path)
            return None if span is None else getattr(span, end)
        case Today():
            return view.today
        case MonthDay():
            return kleene.month_day(view.today)
        case InDays(edges):
            return kleene.in_days(edges, view.today)
        case Unknown():
            return None
        case Age():
            return age_of(of, view)
        case Step(path, starts, values):
            span = view.load(path)
            return None if span is None else kleene.step(starts, values, span.earliest, span.latest)
        case Aggregate():
            return _aggregate(of, view)
        case And(parts):
            return kleene.all_true(evaluate(part, view) for part in parts)
        case Or(parts):
            return kleene.any_true(evaluate(part, view) for part in parts)
        case Choose(condition, then, otherwise):
            return kleene.choose(evaluate(condition, view), evaluate(then, view), evaluate(otherwise, view))
        case FirstKnown(first, second):
            value = evaluate(first, view)
            return evaluate(second, view) if value is None else value
    return _apply(of, [evaluate(part, view) for part in children(of)])


def _apply(of: Node, known: list[Any]) -> Any:
    match of:
        case Arithmetic("/"):
            return kleene.quotient(*known)
        case Arithmetic("**"):
            return kleene.power(*known)
        case Arithmetic(operator):
            return kleene.combine(operator, *known)
        case Function("exp"):
            return kleene.exponential(*known)
        case Function():
            return kleene.logarithm(*known)
        case Settled():
            return kleene.settled(*known)
        case Lookup():
            rows = lookup_table(of)
            if of.how == "exact":
                return rows.get(known[0])
            keys, values = rows
            reader = kleene.stepped if of.how == "stepped" else kleene.interpolated
            return reader(keys, values, known[0])
    if any(value is None for value in known):
        return None
    match of:
        case Not():
            return not known[0]
        case Compare("<"):
            return known[0] < known[1]
        case Compare("<="):
            return known[0] <= known[1]
        case Compare(">"):
            return known[0] > known[1]
        case Compare():
            return known[0] >= known[1]
        case Within():  # lowered() leaves those with known bounds only
            return known[1] <= known[0] <= known[2]
        case Equals():
            return known[0] == known[1]
        case OneOf(_, options):
            return known[0] in options
    raise TypeError(f"{type(of).__name__} cannot be walked")


def age_of(of: Age, view: View) -> float | None:
    """Return the age in calendar years at the view's day."""
    return kleene.calendar_years(evaluate(of.of, view), view.today, of.clamp)


def _aggregate(of: Aggregate, view: View) -> Any:
    values = [evaluate(of.of, member) for member in view.members()]
    complete = view.group is not None and view.group.complete
    match of.how:
        case "every":
            return kleene.all_true(values if complete else [*values, None])
        case "some":
            return kleene.any_true(values if complete else [*values, None])
        case "same":
            return kleene.same(values, complete)
    return kleene.spread(values, complete, low=of.how == "spread_low")


def missing_fields(of: Node, view: View) -> set[tuple[Any, str]]:
    """Return the missing fields, by subject, that could still change what a tree gives.

    Only for a tree that is unknown; a part that is known settles itself.
    """
    match of:
        case Field(path) | DateBound(path):
            return {(_subject_of(view, path), path)} if view.load(path) is None else set()
        case Step(path):
            return {(_subject_of(view, path), path)} if view.load(path) is None else unsure_dates(of, view)
        case Or(sides) if straddles(sides, view):
            return unsure_dates(of, view)
        case Aggregate():
            return _missing_members(of, view)
        case Choose(condition, then, otherwise):
            chosen = evaluate(condition, view)
            if chosen is None:
                parts: tuple[Node, ...] = (condition, then, otherwise)
            else:
                parts = (then if chosen else otherwise,)
            return _missing_of(parts, view)
    return _missing_of(children(of), view)


def straddles(parts: tuple[Node, ...], view: View) -> bool:
    """Return whether a comparison with a span is not known though both its bounds are."""
    return UNKNOWN in parts and all(
        evaluate(part, view) is not None for part in parts if part is not UNKNOWN and part != UNKNOWN
    )


def unsure_dates(of: Node, view: View) -> set[tuple[Any, str]]:
    """Return the dates in a tree that are known as a span of days only."""
    found: set[tuple[Any, str]] = set()
    for part in walk(of):
        if isinstance(part, (DateBound, Step)):
            span = view.load(part.path)
            if span is not None and not span.is_day:
                found.add((_subject_of(view, part.path), part.path))
    return found


def _missing_of(parts: tuple[Node, ...], view: View) -> set[tuple[Any, str]]:
    out: set[tuple[Any, str]] = set()
    for part in parts:
        if evaluate(part, view) is None:
            out |= missing_fields(part, view)
    return out


def _missing_members(of: Aggregate, view: View) -> set[tuple[Any, str]]:
    out: set[tuple[Any, str]] = set()
    for member in view.members():
        if evaluate(of.of, member) is None:
            out |= missing_fields(of.of, member)
    if view.group is not None and not view.group.complete:
        for axle in view.job.vehicle.axles:
            if axle.fitment is None and view.group.subject.axle in (None, axle.number):
                out.add((axle.number, "axle.fitment"))
        if not view.job.vehicle.axles:
            out.add((None, "vehicle.axles"))
    return out


def _subject_of(view: View, path: str) -> Any:
    prefix = path.partition(".")[0]
    if prefix in ("vehicle", "event"):
        return None
    if prefix == "axle" or view.member is None:
        return view.axle.number
    return view.member.subject
