"""What a rule is written with: names for fields, parameters, tables and members."""

from __future__ import annotations

from datetime import date
from typing import Literal

from stemlore.errors import DimensionError, RuleError
from stemlore.model import field_spec
from stemlore.rules._combine import (
    arithmetic,
    as_node,
    bounds_of,
    compare,
    equals,
    in_unit,
    one_of,
    truth,
    within,
)
from stemlore.rules.nodes import (
    Age,
    Aggregate,
    Choose,
    Constant,
    DateBound,
    Field,
    FirstKnown,
    Function,
    Kind,
    Lookup,
    Node,
    Parameter,
    Span,
    Today,
    walk,
)
from stemlore.rules.nodes import And as _And
from stemlore.rules.nodes import Arithmetic as _Arithmetic
from stemlore.rules.nodes import Compare as _Compare
from stemlore.rules.nodes import Equals as _Equals
from stemlore.rules.nodes import Not as _Not
from stemlore.rules.nodes import OneOf as _OneOf
from stemlore.rules.nodes import Or as _Or
from stemlore.rules.nodes import Settled as _Settled
from stemlore.rules.nodes import Within as _Within
from stemlore.tables import Table, table
from stemlore.units import DIMENSIONLESS, unit

__all__ = [
    "all_of",
    "any_of",
    "choose",
    "constant",
    "every",
    "exp",
    "field",
    "first_known",
    "greater",
    "lesser",
    "log",
    "lookup",
    "parameter",
    "same",
    "some",
    "spread",
    "today",
    "years_since",
]


def field(path: str) -> Node:
    """Return a reference to a field, such as ``tyre.tread_depth_main_grooves``.

    Raises
    ------
    UnknownFieldError
        If no record has it; names the nearest.
    RuleError
        If it holds records, which a rule cannot compare.
    """
    spec = field_spec(path)
    match spec.kind:
        case "number":
            return Field(path, "number", spec.unit)
        case "integer":
            return Field(path, "number", DIMENSIONLESS)
        case "flag":
            return Field(path, "flag", None)
        case "word" | "text" | "notation":
            return Field(path, "word", None)
        case "date":
            return Field(path, "date", None)
    raise RuleError(f"field {path!r} holds {spec.kind}, which a rule cannot read", advice="use its parts")


def parameter(name: str) -> Node:
    """Return a reference to a dated value of a pack; a season is a condition."""
    return Parameter(name)


def constant(value: str | date | float | bool) -> Node:
    """Return a fixed value: text with a unit, a word, a day, a flag or a plain number."""
    return as_node(value)


def today() -> Node:
    """Return the day that counts: the event's, else the rulebook's."""
    return Today()


def choose(condition: object, then: object, otherwise: object) -> Node:
    """Return one of two values by a condition."""
    test = truth(condition)
    first = as_node(then, like=otherwise if isinstance(otherwise, Node) else None)
    second = as_node(otherwise, like=first)
    kind, first, second = _one_kind("choose()", first, second)
    return Choose(test, first, second, kind, first.unit)


def first_known(first: object, second: object) -> Node:
    """Return the first value that is known: a maker's, else one of practice."""
    one, two = as_node(first), as_node(second, like=first if isinstance(first, Node) else None)
    kind, one, two = _one_kind("first_known()", one, two)
    return FirstKnown(one, two, kind, one.unit)


def _one_kind(what: str, one: Node, two: Node) -> tuple[Kind, Node, Node]:
    if "open" in (one.kind, two.kind):
        return "open", one, two
    if one.kind != two.kind:
        raise DimensionError(
            f"{what} cannot give a {one.kind} or a {two.kind}", advice="give both the same kind"
        )
    if isinstance(bounds_of(one), Span) or isinstance(bounds_of(two), Span):
        raise RuleError(f"a span cannot stand in {what}", advice="compare it first")
    if one.kind == "number":
        two = in_unit(two, one.unit or DIMENSIONLESS)
    return one.kind, one, two


def lookup(
    name: str, key: object, column: str, *, how: Literal["exact", "stepped", "interpolated"] = "exact"
) -> Node:
    """Return a column of a reference table at a key; not in the table = unknown.

    Parameters
    ----------
    name, column : str
        Table and column.
    key : node or value
        What to look up by.
    how : {'exact', 'stepped', 'interpolated'}
        The row of this key; of the greatest key not above it; or between two rows.
    """
    found = table(name)
    spec = next((each for each in found.columns if each.name == column), None)
    if spec is None:
        raise RuleError(
            f"table {name!r} has no column {column!r}", advice=", ".join(c.name for c in found.columns)
        )
    at = _key(found, as_node(key), how)
    if spec.type in ("number", "integer"):
        return Lookup(name, column, at, how, "number", unit(spec.unit) if spec.unit else DIMENSIONLESS)
    if how != "exact":
        raise RuleError("only numbers can be stepped or interpolated")
    return Lookup(name, column, at, how, "word")


def _key(found: Table, at: Node, how: str) -> Node:
    """Return the key in the unit of the table's own, or say why it cannot be one."""
    if len(found.key) != 1:
        raise RuleError(
            f"table {found.name!r} is looked up by {' and '.join(found.key)} together, which a rule cannot do"
        )
    by = found.column(found.key[0])
    kind = "number" if by.type in ("number", "integer") else "word"
    if kind == "word" and how != "exact":
        raise RuleError(f"table {found.name!r} is looked up by words, which cannot be {how}")
    if at.kind == "open":
        return at
    if at.kind != kind or isinstance(at, Span):
        raise DimensionError(f"table {found.name!r} is looked up by a {kind}, not by a {at.kind}")
    return in_unit(at, unit(by.unit) if by.unit else DIMENSIONLESS) if kind == "number" else at


def every(condition: object) -> Node:
    """Return the condition that all members of the subject meet this one."""
    return Aggregate("every", _member(truth(condition)), "flag")


def some(condition: object) -> Node:
    """Return the condition that at least one member of the subject meets this one."""
    return Aggregate("some", _member(truth(condition)), "flag")


def same(value: Node) -> Node:
    """Return the condition that all members of the subject have the same value."""
    if value.kind == "date":
        raise RuleError("days that may be spans cannot be compared for sameness")
    return Aggregate("same", _member(value), "flag")


def spread(value: Node) -> Node:
    """Return greatest less least value of the members, as a span while some are missing."""
    if value.kind == "open":
        raise RuleError("spread() takes a value of known unit", advice="leave parameters out of it")
    if value.kind != "number" or isinstance(value, Span):
        raise DimensionError(f"a {value.kind} has no spread")
    gap = value.unit
    if gap is not None and gap.dimension.temperature:
        gap = unit("delta_degC")
    inner = _member(value)
    return Span(
        Aggregate("spread_low", inner, "number", gap), Aggregate("spread_high", inner, "number", gap), gap
    )


def _member(of: Node) -> Node:
    if any(isinstance(part, Aggregate) for part in walk(of)):
        raise RuleError("every(), some(), same() and spread() cannot stand in each other")
    return of


def years_since(of: Node) -> Node:
    """Return the calendar years since a date field; a span where the date is one."""
    if not isinstance(of, Field) or of.kind != "date":
        raise RuleError("years_since() takes a date field", advice="such as field('tyre.manufactured')")
    return Span(
        Age(DateBound(of.path, "latest"), clamp=True), Age(DateBound(of.path, "earliest")), unit("year")
    )


def exp(of: object) -> Node:
    """Return e to the power of a plain number."""
    return Function("exp", in_unit(as_node(of), DIMENSIONLESS))


def log(of: object) -> Node:
    """Return the natural logarithm of a plain number."""
    return Function("log", in_unit(as_node(of), DIMENSIONLESS))


def lesser(one: object, two: object) -> Node:
    """Return the smaller value: two upper limits that both bind."""
    first = as_node(one)
    second = as_node(two, like=first)
    return choose(compare("<=", first, second), first, second)


def greater(one: object, two: object) -> Node:
    """Return the greater value: two lower limits that both bind."""
    first = as_node(one)
    second = as_node(two, like=first)
    return choose(compare(">=", first, second), first, second)


def all_of(*conditions: object) -> Node:
    """Return the condition that all of these hold."""
    parts = tuple(truth(part) for part in conditions)
    return parts[0] if len(parts) == 1 else _And(parts) if parts else Constant(True, "flag")


def any_of(*conditions: object) -> Node:
    """Return the condition that one of these holds."""
    parts = tuple(truth(part) for part in conditions)
    return parts[0] if len(parts) == 1 else _Or(parts) if parts else Constant(False, "flag")


def rebuilt(of: Node, parts: tuple[Node, ...]) -> Node:
    """Make a node again over other parts, with its dimensions checked anew."""
    match of:
        case _And():
            return all_of(*parts)
        case _Or():
            return any_of(*parts)
        case _Not():
            return _Not(truth(parts[0]))
        case _Arithmetic(operator) if of.kind == "open":
            return arithmetic(operator, *parts)
        case _Arithmetic(operator, _, _, made_in):  # also a conversion, whose unit only it knows
            return _Arithmetic(operator, parts[0], parts[1], made_in)
        case _Compare(operator):
            return compare(operator, *parts)
        case _Within():
            return within(*parts)
        case _Equals():
            return equals(*parts)
        case _OneOf(_, options) if of.value.kind == "open":
            return one_of(parts[0], options)
        case _OneOf(_, options):
            return _OneOf(parts[0], options)
        case Choose():
            return choose(*parts)
        case FirstKnown():
            return first_known(*parts)
        case Function():
            return Function(of.name, in_unit(parts[0], DIMENSIONLESS))
        case _Settled():
            return _Settled(parts[0], parts[0].unit)
        case Span():
            return Span(parts[0], parts[1], parts[0].unit, of.kind)
        case Aggregate():
            gap = of.unit if of.unit is not None or of.kind == "flag" else parts[0].unit
            return Aggregate(of.how, parts[0], of.kind, gap)
        case Lookup():
            return lookup(of.table, parts[0], of.column, how=of.how)
        case Age():
            return of
    return of
