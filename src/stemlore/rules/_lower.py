"""What the readers of a tree share: spans resolved, levels found.

A span is a number (or a day) known to lie between two bounds. Comparing it is
a condition that is unknown while the limit lies between them. Written out
once, here, so that no reader knows spans.
"""

from __future__ import annotations

from functools import lru_cache

from stemlore.errors import RuleError
from stemlore.model import field_spec
from stemlore.rules.build import rebuilt
from stemlore.rules.nodes import (
    UNKNOWN,
    Aggregate,
    And,
    Compare,
    Constant,
    DateBound,
    Field,
    Node,
    Or,
    Span,
    Step,
    Within,
    children,
)

__all__ = ["LEVELS", "has_aggregate", "level_of", "lowered"]

LEVELS = {"vehicle": 0, "axle": 1, "position": 2}


def _low(of: Node) -> Node:
    return of.low if isinstance(of, Span) else of


def _high(of: Node) -> Node:
    return of.high if isinstance(of, Span) else of


def _is_known(of: Node) -> bool:
    return isinstance(of, Constant) and of.value is not None


def _compare_spans(of: Compare) -> Node:
    left, right, operator = of.left, of.right, of.operator
    if operator in (">", ">="):
        left, right = right, left
        operator = "<" if operator == ">" else "<="
    # surely: the greatest left against the least right; possibly: the other way round
    surely = Compare(operator, _high(left), _low(right))
    possibly = Compare(operator, _low(left), _high(right))
    return And((possibly, Or((surely, UNKNOWN))))


@lru_cache(maxsize=8192)
def lowered(of: Node) -> Node:
    """Return the tree without spans: the same condition, written out."""
    parts = children(of)
    if isinstance(of, Compare) and (isinstance(of.left, Span) or isinstance(of.right, Span)):
        return lowered(_compare_spans(of))
    if isinstance(of, Within) and not (_is_known(of.low) and _is_known(of.high)):
        # one bound may settle a fail while the other is missing
        return lowered(And((Compare(">=", of.value, of.low), Compare("<=", of.value, of.high))))
    if not parts:
        return of
    new = tuple(lowered(part) for part in parts)
    if isinstance(of, Span):
        raise RuleError("a span may only be compared with a limit")
    return of if all(a is b for a, b in zip(parts, new, strict=True)) else _same_over(of, new)


def _same_over(of: Node, parts: tuple[Node, ...]) -> Node:
    if isinstance(of, Compare):  # its sides are settled and in one unit already
        return Compare(of.operator, parts[0], parts[1])
    return rebuilt(of, parts)


@lru_cache(maxsize=8192)
def level_of(of: Node) -> int:
    """Return 0 if a tree reads the vehicle only, 1 if an axle, 2 if a position, outside aggregates."""
    match of:
        case Aggregate():
            return 0
        case Field(path) | DateBound(path) | Step(path):
            return LEVELS[field_spec(path).level]
    return max((level_of(part) for part in children(of)), default=0)


@lru_cache(maxsize=8192)
def has_aggregate(of: Node) -> bool:
    """Return whether something over members stands in the tree."""
    return isinstance(of, Aggregate) or any(has_aggregate(part) for part in children(of))
