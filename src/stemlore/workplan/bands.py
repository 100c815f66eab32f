"""What the rules allow a value to be: bands read out of the very trees that judge it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import attrs

from stemlore.model import Assembly, Job, field_spec
from stemlore.rules import Gravity, Rulebook
from stemlore.rules._facts import instruction, missing
from stemlore.rules._layout import layout_of
from stemlore.rules._resolve import OpenRule
from stemlore.rules._walker import View, evaluate
from stemlore.rules.nodes import And, Compare, Field, Node, Within
from stemlore.rules.trial import trial

__all__ = ["Band", "band", "view_at"]


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
    """

    low: float | None = None
    high: float | None = None
    rules: tuple[OpenRule, ...] = ()
    unknown: tuple[OpenRule, ...] = ()
    missing: tuple[str, ...] = ()
    told_by: str = ""

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


def band(job: Job, book: Rulebook, day: date, assembly: Assembly, path: str) -> Band:
    """Return what the rules allow a number at one wheel to be.

    Advice alone sets no bound.
    """
    view = view_at(job, day, assembly)
    if view is None:
        return Band()
    low: float | None = None
    high: float | None = None
    rules: list[OpenRule] = []
    unknown: list[OpenRule] = []
    lacking: dict[str, None] = {}
    told = ""
    for each in trial(book, (path,)).rules:
        if each.rule.gravity is Gravity.ADVISE or (each.rule.spare is False and assembly.position.spare):
            continue
        bounds = list(_bounds(each.check, path))
        applies = True if each.when is None else evaluate(each.when, view)
        if not bounds or applies is False:
            continue
        rules.append(each)
        for side, node in bounds:
            value = evaluate(node, view) if applies else None
            if value is None:
                if each not in unknown:
                    unknown.append(each)
                lacking |= dict.fromkeys(name for _, name in missing(each, view) if name != path)
            elif side == "low":
                low = value if low is None else max(low, value)
            else:
                high = value if high is None else min(high, value)
        told = told or instruction(each, view) or ""
    return Band(
        low=low,
        high=high,
        rules=tuple(rules),
        unknown=tuple(unknown),
        missing=tuple(lacking),
        told_by=told,
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


def unit_of(path: str) -> Any:
    """Return the unit of a number's field."""
    return field_spec(path).unit
