"""Guarded decisions: a reading passes only where its uncertainty cannot change that.

With ``decision="guarded"`` the acceptance limit lies inside the limit by the
expanded uncertainty of the reading (a guard band, as in JCGM 106 and
ILAC-G8). Beyond the acceptance limit a reading passes; past the limit itself
it fails, as by simple acceptance; between the two it is unknown, for neither
is proven. So a guarded decision never passes what the simple one does not,
and never takes a failure away.
"""

from __future__ import annotations

from stemlore.errors import RuleError
from stemlore.rules._combine import arithmetic, compare, in_unit
from stemlore.rules.nodes import UNKNOWN, And, Compare, Constant, Node, Or, Span, Within
from stemlore.rules.rule import Shown
from stemlore.units import DIMENSIONLESS

__all__ = ["guarded"]


def guarded(check: Node, shows: Shown | None, uncertainty: Node) -> Node:
    """Return a check that passes only beyond the guard band.

    Parameters
    ----------
    check : Node
        A comparison of one reading with one limit, or within two.
    shows : Shown
        Which side is measured.
    uncertainty : Node
        Expanded uncertainty of the reading, in any unit of its dimension.
    """
    if shows is None or not isinstance(check, (Compare, Within)):
        raise RuleError("an uncertainty needs a check that compares a reading with a limit")
    if isinstance(uncertainty, Constant) and isinstance(uncertainty.value, float) and uncertainty.value < 0:
        raise RuleError("an uncertainty cannot be below zero")
    measured = shows.measured
    wide = in_unit(uncertainty, measured.unit or DIMENSIONLESS)
    if isinstance(check, Within):
        low, high = _moved("-", measured, wide), _moved("+", measured, wide)
        surely: Node = And((compare(">=", low, check.low), compare("<=", high, check.high)))
    else:
        # towards the limit: down where it must not be below, up where it must not be above
        moved = _moved("-" if shows.side == "least" else "+", measured, wide)
        sides = (moved, check.right) if check.left == measured else (check.left, moved)
        surely = compare(check.operator, *sides)
    return And((check, Or((surely, UNKNOWN))))


def _moved(sign: str, of: Node, by: Node) -> Node:
    if isinstance(of, Span):
        return Span(_moved(sign, of.low, by), _moved(sign, of.high, by), of.unit)
    return arithmetic("-", of, by) if sign == "-" else arithmetic("+", of, by)
