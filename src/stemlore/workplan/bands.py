"""What the rules allow a value to be: bands read out of the very trees that judge it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import attrs

from stemlore.model import Assembly, Job
from stemlore.rules import Gravity, Rulebook
from stemlore.rules._facts import instruction, missing
from stemlore.rules._layout import layout_of
from stemlore.rules._resolve import OpenRule
from stemlore.rules._walker import View, evaluate
from stemlore.rules.nodes import And, Choose, Compare, Field, Node, Within, walk
from stemlore.rules.trial import trial

__all__ = ["Band", "band", "least_only", "view_at"]


@attrs.frozen(kw_only=True)
class Band:
    """What the rules in force allow a field to be at one wheel.

    Attributes
    ----------
    low, high : float or None
        Bounds in the field's unit, the strictest of all rules; None where no rule sets one.
    rules : tuple of OpenRule
        The rules that apply.
    unknown : tuple of OpenRule
        Rules that apply, or may, and whose bound is not known.
    missing : tuple of str
        Readings or maker's figures that would make them known.
    told_by : str
        The maker's instruction that a bound comes from; else empty.
    low_by, high_by : OpenRule or None
        The rule that sets each bound, the strictest.
    """

    low: float | None = None
    high: float | None = None
    rules: tuple[OpenRule, ...] = ()
    unknown: tuple[OpenRule, ...] = ()
    missing: tuple[str, ...] = ()
    told_by: str = ""
    low_by: OpenRule | None = None
    high_by: OpenRule | None = None

    @property
    def is_empty(self) -> bool:
        """Whether the rules leave no value at all."""
        return self.low is not None and self.high is not None and self.low > self.high


def view_at(job: Job, day: date, assembly: Assembly) -> View | None:
    """Return the view of a wheel, with this assembly in place; None where the vehicle has none there."""
    layout = layout_of(job)
    for member in (*layout.positions, *layout.spares):
        if member.assembly.position == assembly.position:
            return View(job, day, member.axle, member=member._replace(assembly=assembly))
    return None


def band(
    job: Job, book: Rulebook, day: date, assembly: Assembly, path: str, *, with_advice: bool = False
) -> Band:
    """Return what the rules allow a number at one wheel to be.

    Advice alone sets no bound, unless it is asked for.
    """
    view = view_at(job, day, assembly)
    if view is None:
        return Band()
    low: tuple[float, OpenRule] | None = None
    high: tuple[float, OpenRule] | None = None
    rules: list[OpenRule] = []
    unknown: list[OpenRule] = []
    lacking: dict[str, None] = {}
    for each in trial(book, (path,)).rules:
        if each.rule.gravity is Gravity.ADVISE and not with_advice:
            continue
        if each.rule.spare is False and assembly.position.spare:
            continue
        bounds = list(_bounds(each.check, path))
        applies = True if each.when is None else evaluate(each.when, view)
        if not bounds or applies is False:
            continue
        rules.append(each)
        for side, node in bounds:
            value = _strictest(node, view, side) if applies else None
            if value is None:
                if each not in unknown:
                    unknown.append(each)
                lacking |= dict.fromkeys(name for _, name in missing(each, view) if name != path)
            elif side == "low":
                low = (value, each) if low is None or value > low[0] else low
            else:
                high = (value, each) if high is None or value < high[0] else high
    setting = [each[1] for each in (low, high) if each is not None] or rules
    told = next(filter(None, (instruction(each, view) for each in setting)), "")
    return Band(
        low=low and low[0],
        high=high and high[0],
        rules=tuple(rules),
        unknown=tuple(unknown),
        missing=tuple(lacking),
        told_by=told,
        low_by=low and low[1],
        high_by=high and high[1],
    )


_MIRRORED = {"<=": ">=", "<": ">", ">=": "<=", ">": "<"}


def _bounds(of: Node, path: str) -> Iterator[tuple[str, Node]]:
    """Yield the sides on which a condition bounds a field, and by what."""
    match of:
        case And(parts):
            for part in parts:
                yield from _bounds(part, path)
        case Within(Field(name), low, high) if name == path:
            yield "low", low
            yield "high", high
        case Compare(operator, Field(name), limit) if name == path:
            yield ("high" if operator in ("<", "<=") else "low"), limit
        case Compare(operator, limit, Field(name)) if name == path:
            yield ("high" if _MIRRORED[operator] in ("<", "<=") else "low"), limit


def _strictest(of: Node, view: View, side: str) -> Any:
    """Return a bound; where it hangs on something that is not known, the stricter of what it may be."""
    value = evaluate(of, view)
    if value is not None or not isinstance(of, Choose):
        return value
    if evaluate(of.condition, view) is not None:
        return _strictest(of.then if evaluate(of.condition, view) else of.otherwise, view, side)
    both = [_strictest(part, view, side) for part in (of.then, of.otherwise)]
    if None in both:
        return None
    return max(both) if side == "low" else min(both)


def least_only(opened: OpenRule, path: str) -> bool:
    """Return whether a rule's check does nothing with a field but set a greatest value for it."""
    if opened.when is not None and path in _paths(opened.when):
        return False
    sides = [side for side, _ in _bounds(opened.check, path)]
    return sides == ["high"] and _paths(opened.check).count(path) == 1


def _paths(of: Node) -> list[str]:
    return [part.path for part in walk(of) if isinstance(part, Field)]
