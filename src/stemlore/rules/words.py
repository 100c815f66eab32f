"""A tree in words: the reading for people and for the docs."""

from __future__ import annotations

from datetime import date
from typing import Any

from stemlore.model import field_spec
from stemlore.rules.nodes import (
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
    Parameter,
    Settled,
    Span,
    Step,
    Today,
    Unknown,
    Within,
)
from stemlore.tables import table
from stemlore.units import DIMENSIONLESS, Unit, show

__all__ = ["in_words", "value_words"]

_ORDER = {"<": "is below", "<=": "is at most", ">": "is above", ">=": "is at least"}
_OPPOSITE = {"<": "is not below", "<=": "is above", ">": "is not above", ">=": "is below"}
_AGGREGATES = {
    "every": "for every wheel, {}",
    "some": "for at least one wheel, {}",
    "same": "all wheels have the same {}",
    "spread_low": "difference in {} between wheels",
    "spread_high": "difference in {} between wheels",
}


def value_words(value: Any, unit: Unit | None) -> str:
    """Write one value: a number with its unit, a word with spaces, a day."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return show(float(value), unit or DIMENSIONLESS)
    if isinstance(value, date):
        return value.isoformat()
    return str(value).replace("_", " ")


def in_words(of: Node) -> str:
    """Write a tree as a phrase.

    Parameters
    ----------
    of : Node
        A condition or a value, with or without its parameters put in.
    """
    match of:
        case Field(path, "flag"):  # as a statement, not as a question
            return field_spec(path).meaning.removeprefix("whether ")
        case Field(path):
            return field_spec(path).meaning
        case DateBound(path, end):
            return f"{end} {field_spec(path).meaning}"
        case Parameter(name):
            return f"[{name}]"
        case Step(path):
            return f"the value by {field_spec(path).meaning}"
        case Constant(value, _, unit):
            return value_words(value, unit)
        case Today():
            return "today"
        case MonthDay():
            return "day of the year"
        case InDays(_, words):
            return words
        case Unknown():
            return "not decided"
        case Span(low, Aggregate() | Settled(Aggregate()) as high):
            return in_words(high) if low != high else in_words(low)
        case Span(Age(DateBound(path)), _) | Age(DateBound(path)):
            return f"years since {field_spec(path).meaning}"
        case Span(DateBound(path), _):
            return field_spec(path).meaning
        case Span(low, high):
            return f"between {in_words(low)} and {in_words(high)}"
        case Settled(inner):
            return in_words(inner)
        case Lookup(name, column, key):
            title = table(name).column(column).title
            return f"{title[:1].lower()}{title[1:]} by {in_words(key)} (table {name})"
        case Function(name, inner):
            return f"{name}({in_words(inner)})"
        case Arithmetic(operator, left, right):
            sign = {"*": "×", "-": "−", "**": "^"}.get(operator, operator)
            return f"{_bracketed(left)} {sign} {_bracketed(right)}"
        case Choose(Compare(operator, left, right), then, otherwise) if {left, right} == {then, otherwise}:
            greater = (operator in (">", ">=")) == (left == then)
            return f"the {'greater' if greater else 'lesser'} of {in_words(then)} and {in_words(otherwise)}"
        case Choose(condition, then, otherwise):
            return f"{in_words(then)} where {in_words(condition)}, else {in_words(otherwise)}"
        case FirstKnown(first, second):
            return f"{in_words(first)}, else {in_words(second)}"
        case Aggregate("same", inner) if inner.kind == "flag":
            return f"all wheels agree on whether {in_words(inner)}"
        case Aggregate(how, inner):
            return _AGGREGATES[how].format(in_words(inner))
    return _condition_words(of)


def _bracketed(of: Node) -> str:
    words = in_words(of)
    return f"({words})" if isinstance(of, (Arithmetic, Choose, FirstKnown)) else words


def _condition_words(of: Node) -> str:
    match of:
        case Compare(operator, MonthDay(), Constant(value)) if isinstance(value, float):
            edge = "from" if operator == ">=" else "to"
            return f"{edge} {int(value) // 100:02}-{int(value) % 100:02}"
        case Compare(operator, left, right):
            return f"{in_words(left)} {_ORDER[operator]} {in_words(right)}"
        case Within(value, low, high):
            return f"{in_words(value)} is between {in_words(low)} and {in_words(high)}"
        case Equals(left, right):
            return f"{in_words(left)} is {in_words(right)}"
        case OneOf(value, options):
            listed = ", ".join(value_words(option, value.unit) for option in options)
            return f"{in_words(value)} is {'one of ' if len(options) > 1 else ''}{listed}"
        case And(parts):
            return ", and ".join(in_words(part) for part in parts)
        case Or(parts):
            return "either " + ", or ".join(in_words(part) for part in parts)
        case Not(Field() as flag):
            return f"it is not so that {in_words(flag)}"
        case Not(OneOf(value, options)):
            listed = " nor ".join(value_words(option, value.unit) for option in options)
            return f"{in_words(value)} is {'neither' if len(options) > 1 else 'not'} {listed}"
        case Not(Equals(left, right)):
            return f"{in_words(left)} is not {in_words(right)}"
        case Not(Compare(operator, left, right)):
            return f"{in_words(left)} {_OPPOSITE[operator]} {in_words(right)}"
        case Not(inner):
            return f"not ({in_words(inner)})"
    return type(of).__name__
