"""The columns reading of a tree: one Polars expression for each node.

One row is a wheel. What a row knows of its wheel, axle, vehicle and visit
stands in columns named by :attr:`FieldSpec.column`; a column that is not there
is missing in every row. Null is unknown, and Polars' ``&`` and ``|`` on
nullable booleans are Kleene's.

Polars holds that NaN is greater than any number. So fields are made null where
they are not finite, once, and so is what comes of arithmetic.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import reduce
from operator import and_, or_
from typing import Any, Literal

from stemlore.audit._aggregates import Windows
from stemlore.audit._arithmetic import age, finite, power, quotient, settled
from stemlore.audit._lookup import looked_up
from stemlore.audit._polars import pl
from stemlore.errors import RuleError
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
    Settled,
    Step,
    Today,
    Unknown,
    Within,
)

__all__ = ["Columns", "Reader", "SubjectKind", "translate"]

SubjectKind = Literal["vehicle", "axle", "pair", "position"]

_TYPES: Mapping[str, Any] = {"number": pl.Float64, "word": pl.String, "flag": pl.Boolean, "date": pl.Date}
_KIND = {"number": "number", "integer": "number", "flag": "flag", "date": "date"}
TODAY = "today"
LAW_DAY = "law_day"
"""A row's own day of law, where days differ from row to row."""


class Columns:
    """The columns of a frame, as trees read them.

    A tree reads cleaned columns, named by the field's path. Reading one asks
    for it; :meth:`cleaned` then makes all that were asked for.

    Parameters
    ----------
    schema : mapping
        Types by name of the frame's columns.
    day : date
        The day that ages count at where the frame does not say.
    """

    def __init__(self, schema: Mapping[str, Any], day: date) -> None:
        self.schema = schema
        self.day = day
        self.windows = Windows()
        self._cleaned: dict[str, pl.Expr] = {}

    def cleaned(self) -> list[pl.Expr]:
        """Return the columns that trees asked for, made ready: missing where not finite, and settled."""
        return [expr.alias(name) for name, expr in self._cleaned.items()]

    def field(self, path: str) -> pl.Expr:
        """Return a field that is no date."""
        spec = field_spec(path)
        dtype = _TYPES[_KIND.get(spec.kind, "word")]
        if spec.column not in self.schema:
            return pl.lit(None, dtype=dtype)
        if path not in self._cleaned:
            given = self.schema[spec.column]
            column = pl.col(spec.column)
            if given != dtype:
                column = column.cast(dtype)
            if dtype == pl.Float64:
                column = settled(column, known_finite=not given.is_float())
            self._cleaned[path] = column
        return pl.col(path)

    def bound(self, path: str, end: Literal["earliest", "latest"]) -> pl.Expr:
        """Return the first or last day that a date can mean; a column without an end means one day."""
        base = field_spec(path).column
        source = next((name for name in (f"{base}_{end}", base) if name in self.schema), None)
        if source is None:
            return pl.lit(None, dtype=pl.Date)
        name = f"{path} {end}"
        if name not in self._cleaned:
            column = pl.col(source)
            self._cleaned[name] = column if self.schema[source] == pl.Date else column.cast(pl.Date)
        return pl.col(name)

    def today(self) -> pl.Expr:
        """Return the day that ages count at: the visit's, else that of the row's law, else the rulebook's."""
        visit = next((name for name in ("event_on", "event_on_earliest") if name in self.schema), None)
        sources = [name for name in (visit, LAW_DAY) if name is not None and name in self.schema]
        if not sources:
            return pl.lit(self.day, dtype=pl.Date)
        if TODAY not in self._cleaned:
            days = [pl.col(each).cast(pl.Date) for each in sources]
            self._cleaned[TODAY] = pl.coalesce(*days, pl.lit(self.day, dtype=pl.Date))
        return pl.col(TODAY)


def translate(of: Node, columns: Columns, subject: SubjectKind = "position") -> pl.Expr:
    """Return the expression that a tree without spans and parameters stands for.

    Parameters
    ----------
    of : Node
        The tree.
    columns : Columns
        What its fields are read from.
    subject : {'vehicle', 'axle', 'pair', 'position'}
        Over whose members its aggregates run.
    """
    return Reader(columns, subject).read(of)


def _literal(value: Any, kind: str) -> pl.Expr:
    if kind == "number" and value is not None:
        value = float(value)
    return pl.lit(value, dtype=_TYPES[kind])


class Reader:
    """Turns trees into expressions for one kind of subject."""

    def __init__(self, columns: Columns, subject: SubjectKind) -> None:
        self.columns = columns
        self.subject = subject
        self.made: dict[Node, pl.Expr] = {}

    def read(self, of: Node) -> pl.Expr:
        """Return the expression for a node; a number is null where it is not finite."""
        made = self.made.get(of)
        if made is None:
            made = self.made[of] = self._value(of)
        return made

    def _value(self, of: Node) -> pl.Expr:
        columns = self.columns
        match of:
            case Unknown():
                return pl.lit(None, dtype=pl.Boolean)
            case Constant():
                return _literal(of.value, of.kind)
            case Field(path):
                return columns.field(path)
            case DateBound(path, end):
                return columns.bound(path, end)
            case Today():
                return columns.today()
            case MonthDay():
                day = columns.today().dt
                return (day.month().cast(pl.Float64) * 100.0) + day.day().cast(pl.Float64)
            case Step():
                return self._step(of)
            case Age(start, clamp):
                return age(self.read(start), columns.today(), clamp=clamp)
            case Arithmetic() | Function():
                return finite(self._chain(of))
            case Settled(Arithmetic() | Function() as computed):
                return settled(self._chain(computed))
            case Settled(computed):
                return settled(self.read(computed), known_finite=True)
            case Aggregate():
                return columns.windows.column(of, self.subject, self.read(of.of))
            case Lookup():
                return looked_up(of, self.read(of.key))
            case Choose(condition, then, otherwise):
                return self._choice(self.read(condition), then, otherwise)
            case FirstKnown(first, second):
                return pl.coalesce(self.read(first), self.read(second))
        return self._condition(of)

    def _chain(self, of: Node) -> pl.Expr:
        """Return arithmetic that may give infinity or NaN; both stay so through ``+ - *``, and over ``/``."""
        match of:
            case Arithmetic(operator, left, right) if operator in "+-*":
                a, b = self._chain(left), self._chain(right)
                return a + b if operator == "+" else a - b if operator == "-" else a * b
            case Arithmetic("/", left, right):
                return quotient(self._chain(left), self.read(right))
            case Arithmetic(_, left, right):
                return power(self.read(left), self.read(right))
            case Function("exp", inner):
                return self.read(inner).exp()
            case Function(_, inner):
                return self.read(inner).log()
        return self.read(of)

    def _step(self, of: Step) -> pl.Expr:
        pieces: list[tuple[date, Any]] = []
        for start, value in zip(of.starts, of.values, strict=True):
            if not pieces or pieces[-1][1] != value:
                pieces.append((start, value))
        low, high = self.columns.bound(of.path, "earliest"), self.columns.bound(of.path, "latest")
        out: Any = pl
        for index, (start, value) in enumerate(pieces):
            inside = (low >= start) & (
                (high < pieces[index + 1][0]) if index + 1 < len(pieces) else (high >= start)
            )
            out = out.when(inside).then(_literal(value, of.kind))
        return out.otherwise(pl.lit(None, dtype=_TYPES[of.kind]))  # type: ignore[no-any-return]

    def _in_days(self, edges: tuple[date, ...]) -> pl.Expr:
        day = self.columns.today()
        runs = (
            pl.date_range(a, b, closed="left", eager=True)
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        )
        known = (day >= edges[0]) & (day < edges[-1])
        return pl.when(known).then(day.is_in(pl.concat(runs).implode()))

    def _choice(self, condition: pl.Expr, then: Node, otherwise: Node) -> pl.Expr:
        a, b = self.read(then), self.read(otherwise)
        chosen = pl.when(condition).then(a).when(~condition).then(b)
        if isinstance(then, Constant) and isinstance(otherwise, Constant):
            return chosen.otherwise(a) if then.value == otherwise.value else chosen.otherwise(None)
        return chosen.when(a == b).then(a).otherwise(None)

    def _condition(self, of: Node) -> pl.Expr:
        match of:
            case Compare(operator, left, right):
                a, b = self.read(left), self.read(right)
                match operator:
                    case "<":
                        return a < b
                    case "<=":
                        return a <= b
                    case ">":
                        return a > b
                return a >= b
            case Within(value, low, high):
                x = self.read(value)
                return (self.read(low) <= x) & (x <= self.read(high))
            case Equals(left, right):
                return self.read(left) == self.read(right)
            case OneOf(value, options):
                x = self.read(value)
                return reduce(or_, [x == option for option in options])
            case And(parts):
                return reduce(and_, [self.read(part) for part in parts])
            case Or(parts):
                return reduce(or_, [self.read(part) for part in parts])
            case Not(inner):
                return ~self.read(inner)
            case InDays(edges):
                return self._in_days(edges)
        raise RuleError(
            f"{type(of).__name__} cannot be read in columns", advice="it should be resolved by now"
        )
