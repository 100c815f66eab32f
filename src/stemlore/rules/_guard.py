"""Guarded decisions: what is measured is known only within its uncertainty.

With ``decision="guarded"`` a reading stands for the span of values that it
can mean, reading less and plus its expanded uncertainty. A pass is then a
value that conforms wherever in the span it lies, a fail one that does not,
and a reading nearer to the limit than its uncertainty is unknown: neither is
proven. That is the decision rule of ISO 14253-1 for proving conformity and
nonconformity; JCGM 106 calls the margin a guard band.
"""

from __future__ import annotations

import attrs

from stemlore.errors import RuleError
from stemlore.rules._combine import arithmetic, compare, in_unit
from stemlore.rules.nodes import Compare, Node, Span
from stemlore.rules.rule import Shown
from stemlore.units import DIMENSIONLESS

__all__ = ["guarded"]


def guarded(check: Node, shows: Shown | None, uncertainty: Node) -> tuple[Node, Shown]:
    """Return a check and what it shows with the uncertainty of the measured side put in."""
    if not isinstance(check, Compare) or shows is None:
        raise RuleError(
            "an uncertainty needs a check that compares one reading with one limit",
            advice="write one rule for each side",
        )
    measured = shows.measured
    if isinstance(measured, Span):
        low, high = measured.low, measured.high
    else:
        low = high = measured
    wide = in_unit(uncertainty, measured.unit or DIMENSIONLESS)
    span = Span(arithmetic("-", low, wide), arithmetic("+", high, wide), measured.unit)
    if check.left == measured:
        made = compare(check.operator, span, check.right)
    elif check.right == measured:
        made = compare(check.operator, check.left, span)
    else:
        raise RuleError(
            "the side that is measured does not stand alone", advice="compare it with the limit itself"
        )
    return made, attrs.evolve(shows, measured=span)
