"""The values at which the rules of a rulebook change their mind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

import attrs

from stemlore.model import FIELDS, FieldSpec
from stemlore.rules import Rulebook
from stemlore.rules.nodes import Age, Constant, DateBound, Node, Step, walk
from stemlore.units import DIMENSIONLESS, Dimension, Unit, convert, settle, unit

__all__ = ["NO_LIMITS", "Limits", "limits_of"]

_DAY = timedelta(days=1)
_YEAR = unit("year")


@attrs.frozen(eq=False)
class Limits:
    """Numbers by dimension, and days by field."""

    numbers: Mapping[Dimension, tuple[tuple[float, Unit], ...]]
    days: Mapping[str, tuple[date, ...]]
    packs: tuple[str, ...] = ()

    def near(self, spec: FieldSpec) -> tuple[float, ...]:
        """Return each limit that a number can meet, and one step to both sides of it."""
        if spec.kind not in ("number", "integer"):
            return ()
        stored = spec.unit or DIMENSIONLESS
        found: dict[float, None] = {}
        for value, given in self.numbers.get(stored.dimension, ()):
            limit = convert(value, given, stored)
            step = 1.0 if spec.kind == "integer" else 0.1 if abs(limit) >= 1 else 0.01
            found.update(dict.fromkeys((limit, settle(limit - step), settle(limit + step))))
        return tuple(found)

    def days_near(self, path: str) -> tuple[date, ...]:
        """Return each day on which the rules change their mind over a date field, with its neighbours."""
        found: dict[date, None] = {}
        for day in self.days.get(path, ()):
            if date.min + _DAY < day < date.max - _DAY:
                found.update(dict.fromkeys((day, day - _DAY, day + _DAY)))
        return tuple(found)


NO_LIMITS = Limits({}, {})
"""What there is without a rulebook."""


def limits_of(book: Rulebook) -> Limits:
    """Return the limits of all rules in force in a rulebook."""
    numbers: dict[Dimension, dict[tuple[float, Unit], None]] = {}
    days: dict[str, dict[date, None]] = {}
    for each in book.rules.values():
        parts = [part for tree in (each.when, each.check) if tree is not None for part in walk(tree)]
        for value, given in _numbers(parts):
            numbers.setdefault(given.dimension, {})[value, given] = None
        for path, day in _days(parts, book.on):
            if path in FIELDS:
                days.setdefault(path, {})[day] = None
    return Limits(
        {dimension: tuple(found) for dimension, found in numbers.items()},
        {path: tuple(found) for path, found in days.items()},
        tuple(book.packs),
    )


def _numbers(parts: list[Node]) -> Iterator[tuple[float, Unit]]:
    for part in parts:
        match part:
            case Constant(float() as value, _, given):
                yield value, given or DIMENSIONLESS
            case Step(_, _, values, _, given):
                for each in values:
                    if isinstance(each, float):
                        yield each, given or DIMENSIONLESS


def _days(parts: list[Node], today: date) -> Iterator[tuple[str, date]]:
    paths = {part.path for part in parts if isinstance(part, DateBound)}
    for part in parts:
        match part:
            case Step(path, starts):
                yield from ((path, day) for day in starts if day != date.min)
            case Constant(date() as day):
                yield from ((path, day) for path in paths)
            case Constant(float() as years, _, given) if given == _YEAR and paths:
                yield from ((path, _before(today, years)) for path in paths)
            case Age(DateBound(path)):
                yield path, today


def _before(day: date, years: float) -> date:
    whole = int(years)
    if not 0 < day.year - whole <= date.max.year:
        return date.min
    try:
        return day.replace(year=day.year - whole)
    except ValueError:  # 29 February
        return day.replace(year=day.year - whole, day=28)
