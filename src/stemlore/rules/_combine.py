"""Putting nodes together, with kinds and dimensions checked as a tree is built.

The operators of :class:`~stemlore.rules.nodes.Node` and the functions of
:mod:`stemlore.rules.build` end here; so does a tree made again once its
parameters are known.
"""

from __future__ import annotations

import math
from datetime import date, datetime
from typing import Any, Literal, cast

from stemlore.errors import BareNumberError, DimensionError, NodeTruthError, RuleError, near_misses
from stemlore.rules.nodes import (
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
    Lookup,
    Node,
    OneOf,
    Operator,
    Settled,
    Span,
    Within,
)
from stemlore.units import DIMENSIONLESS, Dimension, Unit, convert, measure, read_quantity, settle, unit

__all__ = [
    "arithmetic",
    "as_node",
    "bounds_of",
    "compare",
    "equals",
    "in_unit",
    "one_of",
    "settled",
    "truth",
    "within",
]


def truth(of: object) -> Node:
    """Return ``of`` if it is a condition, else say what is wrong with it."""
    if not isinstance(of, Node):
        raise NodeTruthError(
            f"{of!r} stands where a condition is needed",
            advice="'==' and 'in' answer at once; use .equals() .differs() .within() .one_of()",
        )
    if of.kind not in ("flag", "open"):
        raise RuleError(f"a {of.kind} stands where a condition is needed", advice="compare it with something")
    return of


def _is_open(*nodes: Node) -> bool:
    return any(part.kind == "open" for part in nodes)


def as_node(value: object, *, like: Node | None = None) -> Node:
    """Turn a value that stands in a rule into a node.

    Text with a unit becomes a number; other text a word; a day a date. A
    bare number is refused where the other side has a unit.
    """
    if isinstance(value, Node):
        return value
    if isinstance(value, bool):
        return Constant(value, "flag")
    if isinstance(value, datetime):
        raise RuleError(f"{value} has a time of day", advice="give a date")
    if isinstance(value, date):
        return Constant(value, "date")
    if isinstance(value, (int, float)):
        if (
            like is not None
            and like.kind == "number"
            and like.unit is not None
            and like.unit is not DIMENSIONLESS
        ):
            raise BareNumberError(
                f"{value!r} has no unit, and {like.unit} is on the other side",
                advice=f"write '{value} {like.unit}'",
            )
        return Constant(_known(settle(float(value))), "number", DIMENSIONLESS)
    if isinstance(value, str):
        if like is not None and like.kind == "date":
            return Constant(_day(value), "date")
        if like is not None and like.kind == "number":
            number = measure(value, like.unit or DIMENSIONLESS)
            return Constant(_known(number), "number", like.unit)
        if like is None or like.kind == "open":
            try:
                number, given = read_quantity(value)
            except (ValueError, TypeError):
                return Constant(value, "word")
            return Constant(settle(number), "number", given)
        return Constant(value, "word")
    raise RuleError(
        f"{value!r} cannot stand in a rule", advice="use a field, a parameter, text with a unit, or a day"
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise RuleError(f"{text!r} is not a day", advice="write it as 2026-11-25") from None


def _known(number: float | None) -> float:
    if number is None or not math.isfinite(number):
        raise RuleError("a constant must be a finite number")
    return number


_DIFFERENCE = unit("delta_degC")


def _temperature_sum(operator: Literal["+", "-"], left: Node, right: Node) -> Node:
    """Return a sum in which temperatures stand: a difference of two is no temperature."""
    a, b = _dimension(left), _dimension(right)
    if (left.unit or DIMENSIONLESS).factor != (right.unit or DIMENSIONLESS).factor:
        raise DimensionError(
            f"{left.unit} and {right.unit} are different scales", advice="use degC throughout"
        )
    plain = Dimension(temperature=1)
    gap = _DIFFERENCE
    if a.difference and b.difference:
        return Arithmetic(operator, left, right, left.unit)
    if operator == "-" and a == b == plain and left.unit == right.unit:
        return Arithmetic(operator, left, right, gap)
    if a == plain and b.difference:
        return Arithmetic(operator, left, right, left.unit)
    if operator == "+" and a.difference and b == plain:
        return Arithmetic(operator, left, right, right.unit)
    raise DimensionError(
        "two temperatures cannot be added",
        advice="add a difference, such as '10 delta_degC', to a temperature",
    )


def _dimension(of: Node) -> Dimension:
    return (of.unit or DIMENSIONLESS).dimension


def _number(of: Node, role: str) -> None:
    if of.kind not in ("number", "open"):
        raise DimensionError(f"a {of.kind} cannot be {role}", advice="only numbers can")
    if isinstance(of, Span):
        raise RuleError("a span cannot be computed with", advice="compare it with a limit instead")


def in_unit(of: Node, wanted: Unit) -> Node:
    """Return the node converted to another unit of its dimension."""
    given = of.unit or DIMENSIONLESS
    if given == wanted or _is_open(of):
        return of
    if given.dimension != wanted.dimension:
        raise DimensionError(
            f"{given} is a {given.dimension}, {wanted} is a {wanted.dimension}: they cannot be put together"
        )
    if isinstance(of, Constant) and isinstance(of.value, float):
        return Constant(convert(of.value, given, wanted), "number", wanted, of.origin)
    if isinstance(of, Span):
        return Span(in_unit(of.low, wanted), in_unit(of.high, wanted), wanted)
    if given.offset or wanted.offset:
        shift = given.offset * (given.factor / wanted.factor) - wanted.offset
        scaled = Arithmetic("*", of, Constant(given.factor / wanted.factor, "number", DIMENSIONLESS), wanted)
        return Arithmetic("+", scaled, Constant(shift, "number", wanted), wanted)
    return Arithmetic("*", of, Constant(given.factor / wanted.factor, "number", DIMENSIONLESS), wanted)


def arithmetic(operator: Literal["+", "-", "*", "/", "**"], left: Node, right: Node) -> Node:
    """Return a sum, difference, product, quotient or power with its unit.

    Raises
    ------
    DimensionError
        If the dimensions do not fit.
    """
    _number(left, "computed with")
    _number(right, "computed with")
    if _is_open(left, right):
        return Arithmetic(operator, left, right, None, "open")
    if operator in ("+", "-"):
        if {_dimension(left).temperature, _dimension(right).temperature} == {1}:
            return _temperature_sum(operator, left, right)
        wanted = left.unit or DIMENSIONLESS
        return Arithmetic(operator, left, in_unit(right, wanted), wanted)
    for side in (left, right):
        if side.unit is not None and side.unit.offset:
            raise DimensionError(
                f"a temperature in {side.unit} has no product, quotient or power",
                advice="take its difference from a temperature first, such as - '-273.15 degC'",
            )
    if operator == "*":
        return Arithmetic(operator, left, right, (left.unit or DIMENSIONLESS) * (right.unit or DIMENSIONLESS))
    if operator == "/":
        return Arithmetic(operator, left, right, (left.unit or DIMENSIONLESS) / (right.unit or DIMENSIONLESS))
    if _dimension(left) != DIMENSIONLESS.dimension or _dimension(right) != DIMENSIONLESS.dimension:
        raise DimensionError("a power takes plain numbers", advice="divide by a reference value first")
    return Arithmetic(operator, in_unit(left, DIMENSIONLESS), in_unit(right, DIMENSIONLESS), DIMENSIONLESS)


def _comparable(left: Node, right: Node) -> tuple[Node, Node]:
    for side in (left, right):
        if side.kind not in ("number", "date", "open"):
            raise DimensionError(f"a {side.kind} has no order", advice="use .equals() or .one_of()")
    left, right = bounds_of(left), bounds_of(right)
    if _is_open(left, right):
        return left, right
    if left.kind != right.kind:
        raise DimensionError(f"a {left.kind} cannot be compared with a {right.kind}")
    if left.kind == "number":
        if isinstance(left, Constant) and not isinstance(right, Constant):
            left = in_unit(left, right.unit or DIMENSIONLESS)
        else:
            right = in_unit(right, left.unit or DIMENSIONLESS)
        left, right = settled(left), settled(right)
    return left, right


def bounds_of(of: Node) -> Node:
    """Return a date field as the span of days that it can mean; anything else as it is."""
    if isinstance(of, Field) and of.kind == "date":
        return Span(DateBound(of.path, "earliest"), DateBound(of.path, "latest"), None, "date")
    return of


def settled(of: Node) -> Node:
    """Wrap a computed number so that it is rounded before it is compared."""
    if isinstance(of, Span):
        return Span(settled(of.low), settled(of.high), of.unit, of.kind)
    if isinstance(of, Choose) and of.kind == "number":
        return Choose(of.condition, settled(of.then), settled(of.otherwise), "number", of.unit)
    if isinstance(of, FirstKnown):
        return FirstKnown(settled(of.first), settled(of.second), of.kind, of.unit)
    if isinstance(of, (Arithmetic, Function, Aggregate)) or (
        isinstance(of, Lookup) and of.how == "interpolated"
    ):
        return Settled(of, of.unit)
    return of


def compare(operator: Operator, left: Node, right: Node) -> Node:
    """Return an order between two numbers or days, in one unit and rounded."""
    return Compare(operator, *_comparable(left, right))


def within(value: Node, low: Node, high: Node) -> Node:
    """Return low <= value <= high."""
    value = bounds_of(value)
    if isinstance(value, Span):
        return And((compare(">=", value, low), compare("<=", value, high)))
    value_low, low = _comparable(value, low)
    _, high = _comparable(value, high)
    return Within(value_low, low, high)


def equals(left: Node, right: Node) -> Node:
    """Return the condition that two values of one kind are the same."""
    if not _is_open(left, right):
        if left.kind != right.kind:
            raise DimensionError(f"a {left.kind} cannot equal a {right.kind}")
        left, right = bounds_of(left), bounds_of(right)
        if isinstance(left, Span) or isinstance(right, Span):  # the same only if neither can lie apart
            return And((compare(">=", left, right), compare("<=", left, right)))
        if left.kind == "number":
            left, right = _comparable(left, right)
        left, right = _in_words_of(right, left), _in_words_of(left, right)
    return Equals(left, right)


def _in_words_of(of: Node, other: Node) -> Node:
    """Return a constant as the field it stands beside spells it; anything else as it is."""
    if isinstance(of, Field) and isinstance(other, Constant) and isinstance(other.value, str):
        return Constant(_spelled(of, other.value), other.kind, other.unit, other.origin)
    return other


def _spelled(of: Field, value: str) -> str:
    spec = of.spec
    if spec.words and value not in spec.words:
        near = near_misses(value, spec.words)
        hint = f"did you mean {near[0]}? " if near else ""
        raise RuleError(
            f"{value!r} is not a word of {of.path}", advice=f"{hint}one of {', '.join(spec.words)}"
        )
    if spec.kind == "notation" and hasattr(spec.holds, "parse"):
        return str(cast(Any, spec.holds).parse(value))
    return value


def one_of(value: Node, options: tuple[object, ...]) -> Node:
    """Return the condition that a value is one of these."""
    if not options:
        raise RuleError("one_of() needs at least one value")
    made: list[float | str] = []
    for option in options:
        constant = as_node(option, like=value)
        if not isinstance(constant, Constant) or isinstance(constant.value, (bool, date)):
            raise RuleError(f"{option!r} is not a constant", advice="one_of() takes words or numbers")
        if constant.value is None:
            raise RuleError("one_of() takes known values only")
        if value.kind != "open" and constant.kind != value.kind:
            raise DimensionError(f"{option!r} is a {constant.kind}, and a {value.kind} is compared with it")
        found = constant.value
        made.append(_spelled(value, found) if isinstance(value, Field) and isinstance(found, str) else found)
    return OneOf(settled(value) if value.kind == "number" else value, tuple(made))
