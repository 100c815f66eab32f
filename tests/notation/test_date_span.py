"""Spans of days."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import NotationError, RecordError
from stemlore.notation import DateSpan
from stemlore.rules._kleene import calendar_years


@pytest.mark.parametrize(
    ("text", "earliest", "latest", "written"),
    [
        ("2018-06-04", date(2018, 6, 4), date(2018, 6, 4), "2018-06-04"),
        ("2018-W23", date(2018, 6, 4), date(2018, 6, 10), "2018-W23"),
        (" 2018-w23 ", date(2018, 6, 4), date(2018, 6, 10), "2018-W23"),
        ("2018-06-04/2018-06-10", date(2018, 6, 4), date(2018, 6, 10), "2018-W23"),
        ("2018-06", date(2018, 6, 1), date(2018, 6, 30), "2018-06"),
        ("2016-02", date(2016, 2, 1), date(2016, 2, 29), "2016-02"),
        ("2018-12", date(2018, 12, 1), date(2018, 12, 31), "2018-12"),
        ("2018", date(2018, 1, 1), date(2018, 12, 31), "2018"),
        ("2018/2019", date(2018, 1, 1), date(2019, 12, 31), "2018-01-01/2019-12-31"),
        ("2018-06-04 / 2018-07", date(2018, 6, 4), date(2018, 7, 31), "2018-06-04/2018-07-31"),
        ("2018/2018-06", date(2018, 1, 1), date(2018, 6, 30), "2018-01-01/2018-06-30"),
        ("2018-03-01/2018-03-01", date(2018, 3, 1), date(2018, 3, 1), "2018-03-01"),
        # ISO 8601: week 53 exists in 2015 and 2020; week 1 may begin in the old year
        ("2020-W53", date(2020, 12, 28), date(2021, 1, 3), "2020-W53"),
        ("2019-W01", date(2018, 12, 31), date(2019, 1, 6), "2019-W01"),
        ("0001", date(1, 1, 1), date(1, 12, 31), "0001"),
        ("9999-12-31", date(9999, 12, 31), date(9999, 12, 31), "9999-12-31"),
        ("9999", date(9999, 1, 1), date(9999, 12, 31), "9999"),
    ],
)
def test_reads_and_writes(text: str, earliest: date, latest: date, written: str) -> None:
    value = DateSpan.parse(text)
    assert value == DateSpan(earliest, latest)
    assert str(value) == written
    assert DateSpan.parse(written) == value


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("", 0, ""),
        ("18", 0, ""),
        ("20180604", 0, ""),
        ("0000", 0, ""),
        ("2018-6-4", 5, "2018-06-04"),
        ("2018/06/04", 5, "2018-06-04"),
        ("2018-02-29", 8, ""),
        ("2018-13", 5, ""),
        ("2018-W53", 6, ""),
        ("2018-W00", 6, ""),
        ("9999-W52", 6, ""),
        ("2018W23", 4, "2018-W23"),
        ("24.06.2018", 0, "2018-06-24"),
        ("06/24/2018", 0, "2018-06-24"),
        ("04/06/2018", 0, ""),  # April or June: not guessed, not even suggested
        ("2019/2018", 5, "2018-01-01/2019-12-31"),
        ("2018-06-04T12:00", 10, ""),
        ("2018/2019/2020", 9, ""),
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        DateSpan.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_day_and_is_day() -> None:
    assert DateSpan.day(date(2018, 6, 4)).is_day
    assert not DateSpan.week(2018, 23).is_day


def test_constructor_refuses_disorder_and_moments() -> None:
    with pytest.raises(RecordError, match="lies before"):
        DateSpan(date(2018, 6, 10), date(2018, 6, 4))
    with pytest.raises(RecordError) as caught:
        DateSpan(datetime(2018, 6, 4), "2018-06-10")  # type: ignore[arg-type]
    assert [fault.path for fault in caught.value.faults] == ["earliest", "latest"]


def test_a_week_that_is_not_there_is_a_value_error() -> None:
    with pytest.raises(ValueError, match="week"):
        DateSpan.week(2018, 53)
    with pytest.raises(ValueError, match="last date"):
        DateSpan.week(9999, 52)


@pytest.mark.parametrize(
    ("start", "day", "years"),
    [
        (date(2020, 2, 29), date(2021, 2, 27), 364 / 365),
        (date(2020, 2, 29), date(2021, 2, 28), 1.0),  # in other years the anniversary is 28 February
        (date(2020, 2, 29), date(2024, 2, 28), 3 + 365 / 366),
        (date(2020, 2, 29), date(2024, 2, 29), 4.0),
        (date(2019, 3, 1), date(2029, 2, 28), 9 + 364 / 365),
        (date(2019, 3, 1), date(2019, 3, 1), 0.0),
        (date(1, 1, 1), date(9999, 12, 31), 9998 + 364 / 365),
    ],
)
def test_age_of_a_day(start: date, day: date, years: float) -> None:
    least, greatest = DateSpan.day(start).age_on(day) or (-1, -1)
    assert least == greatest == pytest.approx(years, abs=1e-6)


@given(st.dates(max_value=date(9000, 1, 1)), st.dates(max_value=date(9000, 1, 1)))
def test_ages_are_those_of_the_rules(start: date, day: date) -> None:
    years = calendar_years(start, day)
    assert DateSpan.day(start).age_on(day) == (None if years is None else (years, years))


def test_a_span_to_come_has_no_age_and_one_that_has_begun_starts_at_nought() -> None:
    span = DateSpan.parse("2018-06")
    assert span.age_on(date(2018, 5, 31)) is None
    assert span.age_on(date(2018, 6, 1)) == (0.0, 0.0)
    assert span.age_on(date(2018, 6, 30)) == (0.0, pytest.approx(29 / 365, abs=1e-6))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("03.04.2021", "day and month cannot be told apart"),
        ("3/4/2021", "day and month cannot be told apart"),
        ("25.11.2021", "the year comes first"),
        ("04-04-2021", "the year comes first"),
        ("03.04.21", "the year needs four figures"),
    ],
)
def test_a_year_that_comes_last_is_told_as_that(text: str, why: str) -> None:
    with pytest.raises(NotationError, match=why):
        DateSpan.parse(text)
