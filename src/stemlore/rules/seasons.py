"""Seasons: days of the year whose ends are fixed, or move with Easter or a day of the week."""

from __future__ import annotations

import re
from calendar import isleap
from datetime import date, timedelta

import attrs

from stemlore.rules.nodes import And, Compare, Constant, InDays, MonthDay, Node, Or
from stemlore.units import DIMENSIONLESS

__all__ = ["FORMS", "MovingDay", "Season", "easter_sunday", "season_end"]

FORMS = '"11-01", "easter + 7", "last sunday of 03" or "saturday before 11-11"'
"""How an end of a season is written."""

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_WHICH = {"first": 1, "second": 2, "third": 3, "fourth": 4, "last": -1}
_FIRST_YEAR, _LAST_YEAR = 1960, 2099  # of runs of days that are written out


def easter_sunday(year: int) -> date:
    """Return Easter Sunday of the Gregorian calendar, by the anonymous algorithm of 1876."""
    a, (b, c) = year % 19, divmod(year, 100)
    d, e = divmod(b, 4)
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    ell = (32 + 2 * e + 2 * i - h - k) % 7
    m = (a + 11 * h + 19 * ell) // 433
    month = (h + ell - 7 * m + 90) // 25
    return date(year, month, (h + ell - 7 * m + 33 * month + 19) % 32)


@attrs.frozen
class MovingDay:
    """A day that lies elsewhere in each year.

    Attributes
    ----------
    text : str
        As written: ``easter + 7``.
    shift : int
        Days after that day.
    """

    text: str
    shift: int = 0

    def in_year(self, year: int) -> date:
        """Return the day of a year."""
        return self._base(year) + timedelta(days=self.shift)

    def _base(self, year: int) -> date:
        if match := re.fullmatch(r"easter(?: ([+-]) (\d+))?", self.text):
            days = int(match[2] or 0)
            return easter_sunday(year) + timedelta(days=-days if match[1] == "-" else days)
        if match := re.fullmatch(r"(\w+) (\w+) of (\d\d)", self.text):
            which, weekday, month = _WHICH[match[1]], _WEEKDAYS.index(match[2]), int(match[3])
            if which > 0:
                first = date(year, month, 1)
                return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (which - 1))
            last = date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
            return last - timedelta(days=(last.weekday() - weekday) % 7)
        weekday_text, _, day_text = self.text.partition(" before ")
        month, day = (int(part) for part in day_text.split("-"))
        limit = date(year, month, day)
        return limit - timedelta(days=(limit.weekday() - _WEEKDAYS.index(weekday_text) - 1) % 7 + 1)

    def __str__(self) -> str:
        return f"{self.text} {self.shift:+d} days" if self.shift else self.text


End = tuple[int, int] | MovingDay


def season_end(text: str) -> End:
    """Read an end of a season.

    Raises
    ------
    ValueError
        If it is none of :data:`FORMS`.
    """
    if match := re.fullmatch(r"(\d\d)-(\d\d)", text):
        return _day_of_year(match[1], match[2])
    if re.fullmatch(r"easter(?: [+-] \d{1,2})?", text):
        return MovingDay(text)
    if match := re.fullmatch(r"(\w+) (\w+) of (\d\d)", text):
        if match[1] in _WHICH and match[2] in _WEEKDAYS and 1 <= int(match[3]) <= 12:
            return MovingDay(text)
    elif (match := re.fullmatch(r"(\w+) before (\d\d)-(\d\d)", text)) and match[1] in _WEEKDAYS:
        if _day_of_year(match[2], match[3]) == (2, 29):
            raise ValueError("02-29 is not in every year")
        return MovingDay(text)
    raise ValueError(f"{text!r} is no end of a season; write {FORMS}")


def _day_of_year(month: str, day: str) -> tuple[int, int]:
    try:
        date(2024, int(month), int(day))  # a leap year, so that 02-29 is a day
    except ValueError:
        raise ValueError(f"'{month}-{day}' is no day of the year") from None
    return int(month), int(day)


@attrs.frozen
class Season:
    """Days of the year from one end to the other, both included; may cross the year's end."""

    start: End
    end: End

    def __str__(self) -> str:
        return f"{_end_text(self.start)} to {_end_text(self.end)}"

    def moved(self, end: str, days: int) -> Season:
        """Return the season with its ``start`` or ``end`` some days later."""
        old: End = getattr(self, end)
        if isinstance(old, MovingDay):
            return attrs.evolve(self, **{end: attrs.evolve(old, shift=old.shift + days)})
        other = date(2024, *old) + timedelta(days=days)  # a leap year, so that 02-29 is a day
        return attrs.evolve(self, **{end: (other.month, other.day)})

    def node(self, origin: str = "") -> Node:
        """Return the condition that the day lies in the season."""
        if isinstance(self.start, MovingDay) or isinstance(self.end, MovingDay):
            return InDays(self._edges(), f"the day lies from {self}", origin)
        first = Compare(">=", MonthDay(), _month_day(self.start, origin))
        last = Compare("<=", MonthDay(), _month_day(self.end, origin))
        return And((first, last)) if self.start <= self.end else Or((first, last))

    def _edges(self) -> tuple[date, ...]:
        edges: list[date] = []
        for year in range(_FIRST_YEAR, _LAST_YEAR + 1):
            start, last = _in_year(self.start, year, (3, 1)), _in_year(self.end, year, (2, 28))
            if last < start:
                last = _in_year(self.end, year + 1, (2, 28))
            edges += (start, last + timedelta(days=1))
        return tuple(edges)


def _in_year(end: End, year: int, instead: tuple[int, int]) -> date:
    """Return a day of a year; ``instead`` stands for 29 February where there is none."""
    if isinstance(end, MovingDay):
        return end.in_year(year)
    return date(year, *(instead if end == (2, 29) and not isleap(year) else end))


def _end_text(end: End) -> str:
    return str(end) if isinstance(end, MovingDay) else f"{end[0]:02}-{end[1]:02}"


def _month_day(of: tuple[int, int], origin: str) -> Constant:
    return Constant(float(of[0] * 100 + of[1]), "number", DIMENSIONLESS, origin)
