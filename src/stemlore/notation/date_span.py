"""A span of days, as far as a date is known."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final, Self

import attrs

from stemlore.errors import Fault
from stemlore.notation._checks import refuse
from stemlore.notation._text import Scanner, read_designation
from stemlore.units import settle

__all__ = ["DateSpan"]

_WHAT: Final = "date"


@attrs.frozen
class DateSpan:
    """The days on which something may have happened, first and last included.

    Attributes
    ----------
    earliest : datetime.date
        First day.
    latest : datetime.date
        Last day.
    """

    earliest: date
    latest: date

    def __attrs_post_init__(self) -> None:
        refuse(_WHAT, self._faults())

    def _faults(self) -> Iterator[Fault]:
        right = True
        for name in ("earliest", "latest"):
            value = getattr(self, name)
            if not isinstance(value, date) or isinstance(value, datetime.datetime):
                right = False
                yield Fault(name, f"a day (datetime.date) is needed, not {value!r}")
        if right and self.latest < self.earliest:
            yield Fault("latest", f"{self.latest} lies before {self.earliest}")

    @classmethod
    def day(cls, day: date) -> Self:
        """Return the span of one day."""
        return cls(day, day)

    @classmethod
    def week(cls, year: int, week: int) -> Self:
        """Return Monday to Sunday of a week of ISO 8601; ValueError if that year has no such week."""
        first = date.fromisocalendar(year, week, 1)
        try:
            return cls(first, first + timedelta(days=6))
        except OverflowError:
            raise ValueError(f"week {week} of {year} ends after the last date there is") from None

    @property
    def is_day(self) -> bool:
        """Whether the day is known exactly."""
        return self.earliest == self.latest

    def age_on(self, day: date) -> tuple[float, float] | None:
        """Return the least and the greatest age on a day, in calendar years.

        Whole years to the last anniversary, then the part of the year that has
        passed. An anniversary of 29 February falls on 28 February in other
        years. None where the whole span lies after the day: that is no age.
        """
        if day < self.earliest:
            return None
        return 0.0 if day < self.latest else _years(self.latest, day), _years(self.earliest, day)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ISO 8601: ``2018-06-04``, ``2018-W23``, ``2018-06``, ``2018``, or two with ``/`` between.

        Raises
        ------
        NotationError
            With the character where reading stopped.
        """
        return read_designation(_WHAT, text, cls._read, _near)

    @classmethod
    def _read(cls, scanner: Scanner) -> Self:
        if found := _YEAR_LAST.fullmatch(scanner.plain.strip()):
            raise scanner.fail(_year_last(int(found[1]), int(found[2])))
        first, last = _period(scanner)
        scanner.skip()
        if scanner.take("/"):
            scanner.skip()
            second_at = scanner.at
            second, last = _period(scanner)
            if second < first or last < first:
                raise scanner.fail("the span ends before it begins", second_at)
        scanner.finish("nothing more belongs to a date")
        return cls(first, last)

    def __str__(self) -> str:
        first, last = self.earliest, self.latest
        if first == last:
            return first.isoformat()
        if first.weekday() == 0 and (last - first).days == 6:
            year, week, _ = first.isocalendar()
            return f"{year:04d}-W{week:02d}"
        if first.day == 1 and first.year == last.year and last == _month_end(last.year, last.month):
            if first.month == last.month:
                return f"{first.year:04d}-{first.month:02d}"
            if (first.month, last.month) == (1, 12):
                return f"{first.year:04d}"
        return f"{first.isoformat()}/{last.isoformat()}"


def _years(start: date, day: date) -> float:
    whole = day.year - start.year
    last = _anniversary(start, day.year)
    if last > day:
        whole -= 1
        last = _anniversary(start, day.year - 1)
    # no date follows the year 9999; the one after it would have 365 days
    length = 365 if last.year == date.max.year else (_anniversary(start, last.year + 1) - last).days
    return settle(whole + (day - last).days / length)


def _anniversary(start: date, year: int) -> date:
    try:
        return start.replace(year=year)
    except ValueError:  # 29 February in a year without one
        return date(year, 2, 28)


def _month_end(year: int, month: int) -> date:
    if month == 12:
        return date(year, 12, 31)
    return date(year, month + 1, 1) - timedelta(days=1)


def _period(scanner: Scanner) -> tuple[date, date]:
    start = scanner.at
    year = _figures(scanner, 4, "the year needs four figures")
    if year == 0:
        raise scanner.fail("there is no year 0000", start)
    if not scanner.take("-"):
        return date(year, 1, 1), date(year, 12, 31)
    if scanner.take("W"):
        week_at = scanner.at
        week = _figures(scanner, 2, "the week needs two figures")
        try:
            span = DateSpan.week(year, week)
        except ValueError:
            raise scanner.fail(f"{year} has no week {week:02d}", week_at) from None
        return span.earliest, span.latest
    month_at = scanner.at
    month = _figures(scanner, 2, "the month needs two figures")
    if not 1 <= month <= 12:
        raise scanner.fail("months go from 01 to 12", month_at)
    if not scanner.take("-"):
        return date(year, month, 1), _month_end(year, month)
    day_at = scanner.at
    day = _figures(scanner, 2, "the day needs two figures")
    try:
        exact = date(year, month, day)
    except ValueError:
        raise scanner.fail(f"{year}-{month:02d} has no day {day:02d}", day_at) from None
    return exact, exact


def _figures(scanner: Scanner, count: int, why: str) -> int:
    start = scanner.at
    figures = scanner.digits()
    if len(figures) != count:
        raise scanner.fail(why, start)
    return int(figures)


_YEAR_FIRST: Final = re.compile(r"(\d{4})[-/. ](\d\d?)[-/. ](\d\d?)", re.ASCII)
_YEAR_LAST: Final = re.compile(r"(\d\d?)[-/. ](\d\d?)[-/. ](\d{4})", re.ASCII)
_WEEK: Final = re.compile(r"(\d{4})[-/. ]?W ?(\d\d?)", re.ASCII)


def _year_last(first: int, second: int) -> str:
    if first != second and first <= 12 and second <= 12:
        return "day and month cannot be told apart; write the year first, then the month"
    return "the year comes first, then the month"


def _near(plain: str) -> Iterator[str]:
    text = plain.strip()
    if found := _YEAR_FIRST.fullmatch(text):
        yield f"{found[1]}-{int(found[2]):02d}-{int(found[3]):02d}"
    elif found := _YEAR_LAST.fullmatch(text):
        first, second = int(found[1]), int(found[2])
        if first > 12 or first == second:  # else it may be day or month: no suggestion
            yield f"{found[3]}-{second:02d}-{first:02d}"
        elif second > 12:
            yield f"{found[3]}-{first:02d}-{second:02d}"
    elif found := _WEEK.fullmatch(text):
        yield f"{found[1]}-W{int(found[2]):02d}"
    elif text.count("/") == 1:
        first_part, last_part = text.split("/")
        yield f"{last_part}/{first_part}"
