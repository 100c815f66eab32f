"""What formulas are written with beside Python's operators.

Each function takes floats, arrays, columns (Polars expressions), quantities
(pint) and parts of a rule's tree. Nothing is imported for that: an array or a
column can only come from a library that is loaded already, and a part of a
tree offers methods of its own (:class:`TreePart`).
"""

from __future__ import annotations

import math
import sys
from typing import Any, Protocol, TypeAlias

from stemlore.units import HasUnits, Unit

__all__ = [
    "Number",
    "TreePart",
    "choose",
    "exp",
    "is_array",
    "is_column",
    "is_quantity",
    "is_tree",
    "log",
    "positive",
]

Number: TypeAlias = Any
"""A float, array, column, quantity or part of a tree."""


class TreePart(Protocol):
    """What a part of a rule's tree offers to formulas."""

    unit: Unit | None

    def chosen(self, then: Any, otherwise: Any) -> TreePart:
        """Return one of two values by this condition."""

    def number(self, value: float | None, unit: Unit) -> TreePart:
        """Return a fixed number as it is, not rounded; None where it is unknown."""

    def in_unit(self, unit: Unit) -> TreePart:
        """Return the same value in another unit of its dimension."""

    def exp(self) -> TreePart:
        """Return e to this power."""

    def log(self) -> TreePart:
        """Return the natural logarithm."""


def is_tree(value: object) -> bool:
    """Whether the value is part of a rule's tree."""
    return hasattr(type(value), "chosen")


def is_column(value: object) -> bool:
    """Whether the value is a Polars expression."""
    polars = sys.modules.get("polars")
    return polars is not None and isinstance(value, polars.Expr)


def is_array(value: object) -> bool:
    """Whether the value is a NumPy array."""
    numpy = sys.modules.get("numpy")
    return numpy is not None and isinstance(value, numpy.ndarray)


def is_quantity(value: object) -> bool:
    """Whether the value carries its unit, as pint's do."""
    return not isinstance(value, (int, float)) and isinstance(value, HasUnits)


def choose(condition: Number, then: Number, otherwise: Number) -> Number:
    """Return one of two values by a condition; unknown condition = unknown, unless both agree."""
    if is_tree(condition):
        return condition.chosen(then, otherwise)
    if is_column(condition):
        polars = sys.modules["polars"]
        one, two = (value if is_column(value) else polars.lit(value) for value in (then, otherwise))
        return polars.when(condition).then(one).when(~condition).then(two).when(one == two).then(one)
    if is_array(condition):
        return sys.modules["numpy"].where(condition, then, otherwise)
    return then if condition else otherwise


def exp(value: Number) -> Number:
    """Return e to the power of a plain number."""
    return _function("exp", value)


def log(value: Number) -> Number:
    """Return the natural logarithm of a plain number."""
    return _function("log", value)


def _function(name: str, value: Number) -> Number:
    if is_array(value):
        return getattr(sys.modules["numpy"], name)(value)
    if is_quantity(value):
        return type(value)(getattr(math, name)(float(value.to("").magnitude)), "")
    if is_tree(value) or is_column(value):
        return getattr(value, name)()
    return getattr(math, name)(value)


def positive(value: Number) -> Number:
    """Return the condition that a value is greater than zero, in whatever unit."""
    if is_tree(value):
        return value > value.number(0.0, value.unit)
    return value > 0
