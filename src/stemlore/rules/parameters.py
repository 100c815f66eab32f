"""Dated, cited values of packs, and what they come to on a day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Literal

import attrs

from stemlore.errors import DayError
from stemlore.provenance import Citation
from stemlore.rules.nodes import Constant, Node, Step
from stemlore.rules.seasons import Season
from stemlore.units import Unit

__all__ = ["DatedValue", "ParameterHistory", "UsedParameter", "Value"]


Value = float | str | bool | Season


@attrs.frozen(kw_only=True)
class DatedValue:
    """A value and the days on which it holds.

    Attributes
    ----------
    value : float, str, bool, Season or None
        In the parameter's unit; None where it was repealed without another.
    figures : tuple of str
        Every figure that the source prints.
    starts : date or None
        First day; None = open, where the parameter counts from a field.
    ends : date or None
        Last day; None = open.
    unseen : bool
        Whether the start is not in the sources; ``starts`` is then the day it was seen.
    citation : Citation
        Source, clause and grade.
    """

    value: Value | None
    figures: tuple[str, ...]
    citation: Citation
    starts: date | None = None
    ends: date | None = None
    unseen: bool = False

    def holds_on(self, day: date) -> bool:
        """Return whether the day lies within."""
        return (self.starts is None or self.starts <= day) and (self.ends is None or day <= self.ends)


@attrs.frozen(kw_only=True)
class ParameterHistory:
    """One parameter with all its dated values, oldest first.

    Attributes
    ----------
    name : str
        ``pack.file.key``.
    kind : {'number', 'word', 'flag', 'season'}
        What its values are.
    unit : Unit or None
        The unit of a number.
    counts_from : str
        Field whose date decides which value holds; empty = the day.
    where : str
        File and line.
    """

    name: str
    doc: str
    kind: Literal["number", "word", "flag", "season"]
    values: tuple[DatedValue, ...]
    unit: Unit | None = None
    counts_from: str = ""
    where: str = ""

    @property
    def first_day(self) -> date | None:
        """The first day on which the sources show a value; None = open."""
        first = self.values[0]
        return None if first.unseen else first.starts

    def on(self, day: date) -> DatedValue | None:
        """Return the value in force on a day; None where none was seen or it was repealed.

        Raises
        ------
        DayError
            If the day lies before the first value.
        """
        for value in self.values:
            if value.holds_on(day):
                return value
        first = self.values[0]
        if first.starts is not None and day < first.starts and not first.unseen:
            raise DayError(
                f"parameter {self.name} has no value on {day}: its first is of {first.starts}",
                advice="ask for a later day",
            )
        return None

    def ended_on(self, day: date) -> bool:
        """Return whether the sources show that no value holds on a day any more."""
        if self.counts_from:
            return False
        begun = [value for value in self.values if value.starts is None or value.starts <= day]
        if not begun:
            return False
        if begun[-1].holds_on(day):
            return begun[-1].value is None
        # after the last one known, another may have come on a day that was not seen
        return not any(value.unseen for value in self.values[len(begun) :])

    def reason_on(self, day: date) -> str:
        """Return why the sources show no value for a day that lies before one was seen; else empty."""
        if self.counts_from:
            return ""
        later = next(
            (value for value in self.values if value.starts is not None and day < value.starts), None
        )
        if later is None or not later.unseen or any(value.holds_on(day) for value in self.values):
            return ""
        return f"{self.doc}: seen in force on {later.starts}; its start is not in the sources"

    def at(self, day: date) -> DatedValue | None:
        """Return the value that a date of the vehicle or tyre falls under, where it counts from one."""
        return next((value for value in reversed(self.values) if (value.starts or date.min) <= day), None)

    def changes(self) -> tuple[date, ...]:
        """Return the days on which the value by the day changes."""
        if self.counts_from:
            return ()
        days = {value.starts for value in self.values if value.starts}
        days |= {value.ends + timedelta(days=1) for value in self.values if value.ends}
        return tuple(sorted(days))

    def node(self, day: date) -> Node:
        """Return what stands in a tree for this parameter on a day."""
        node_kind: Any = "flag" if self.kind == "season" else self.kind
        if self.counts_from:
            starts = tuple(value.starts or date.min for value in self.values)
            values: Any = tuple(value.value for value in self.values)
            closing = self.values[-1].ends
            if closing is not None:
                starts, values = (*starts, closing + timedelta(days=1)), (*values, None)
            return Step(self.counts_from, starts, values, node_kind, self.unit, self.name)
        found = self.on(day)
        if found is None or found.value is None:
            return Constant(None, node_kind, self.unit, self.name)
        if isinstance(found.value, Season):
            return found.value.node(self.name)
        return Constant(found.value, node_kind, self.unit, self.name)


@attrs.frozen
class UsedParameter:
    """A dated value that a finding rests on."""

    name: str
    value: Value | None
    unit: Unit | None
    figures: tuple[str, ...]
    starts: date | None
    ends: date | None
    citation: Citation

    @classmethod
    def of(cls, history: ParameterHistory, dated: DatedValue) -> UsedParameter:
        """Return one dated value of a parameter with the parameter's name and unit."""
        return cls(
            history.name, dated.value, history.unit, dated.figures, dated.starts, dated.ends, dated.citation
        )
