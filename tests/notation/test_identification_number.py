"""Tyre identification numbers and the date in them."""

from __future__ import annotations

from datetime import date

import pytest

from stemlore.errors import NotationError, RecordError
from stemlore.notation import DateSpan, TyreIdentificationNumber


@pytest.mark.parametrize(
    ("text", "code", "date_code", "decade", "written"),
    [
        ("DOT U2LL LMLR 5107", "U2LLLMLR", "5107", None, "DOT U2LL LMLR 5107"),
        ("dot u2ll lmlr 5107", "U2LLLMLR", "5107", None, "DOT U2LL LMLR 5107"),
        ("DOTU2LLLMLR5107", "U2LLLMLR", "5107", None, "DOT U2LL LMLR 5107"),
        ("U2LL-LMLR-5107", "U2LLLMLR", "5107", None, "DOT U2LL LMLR 5107"),
        ("DOT 1U2 LLLMLR 2318", "1U2LLLMLR", "2318", None, "DOT 1U2 LLLMLR 2318"),
        ("1U2LLLMLR2318", "1U2LLLMLR", "2318", None, "DOT 1U2 LLLMLR 2318"),
        ("DOT 2318", "", "2318", None, "DOT 2318"),
        ("2318", "", "2318", None, "DOT 2318"),
        ("２３１８", "", "2318", None, "DOT 2318"),
        ("DOT U2LL LMLR 408", "U2LLLMLR", "408", None, "DOT U2LL LMLR 408"),
        ("DOT U2LL LMLR 408◁", "U2LLLMLR", "408", 1990, "DOT U2LL LMLR 408◁"),
        ("408<", "", "408", 1990, "DOT 408◁"),
        ("408 Δ", "", "408", 1990, "DOT 408◁"),
        ("DOT	U2LL LMLR 5107", "U2LLLMLR", "5107", None, "DOT U2LL LMLR 5107"),
        ("DOTU 2LLL 2318", "U2LLL", "2318", None, "DOT U2LL L 2318"),
        ("408 △", "", "408", 1990, "DOT 408◁"),
        ("DOT U2LL LMLR", "U2LLLMLR", "", None, "DOT U2LLLMLR"),
        ("DOT U2 5107", "U2", "5107", None, "DOT U2 5107"),
    ],
)
def test_reads_and_writes(text: str, code: str, date_code: str, decade: int | None, written: str) -> None:
    value = TyreIdentificationNumber.parse(text)
    assert value == TyreIdentificationNumber(code=code, date_code=date_code, decade=decade)
    assert str(value) == written
    assert TyreIdentificationNumber.parse(written) == value


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("2318", "2018-W23"),
        ("DOT U2LL LMLR 5107", "2007-W51"),
        ("0100", "2000-W01"),
        ("5320", "2020-W53"),
        ("0199", "2099-W01"),  # four figures exist since 2000; a future date is not judged here
        ("408◁", "1998-W40"),
        ("100◁", "1990-W10"),
        ("DOT U2LL LMLR", None),
    ],
)
def test_date_that_one_year_explains(text: str, span: str | None) -> None:
    assert TyreIdentificationNumber.parse(text).made == (DateSpan.parse(span) if span else None)


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("408", date(1978, 10, 2), date(1998, 10, 4)),
        # A vehicle maker's owner manual of 2006 reads 031 as 1981 or 1991: the 1990s need no mark.
        ("031", date(1971, 1, 18), date(1991, 1, 20)),
        ("100", date(1970, 3, 2), date(2000, 3, 12)),  # three figures were in order until July 2000
        ("400", date(1970, 9, 28), date(1990, 10, 7)),
        ("532", date(1992, 12, 28), date(1993, 1, 3)),  # of 1972, 1982, 1992 only the last has week 53
    ],
)
def test_three_figures_span_all_their_decades(text: str, earliest: date, latest: date) -> None:
    assert TyreIdentificationNumber.parse(text).made == DateSpan(earliest, latest)


@pytest.mark.parametrize(
    ("text", "position", "suggestion"),
    [
        ("", 0, ""),
        ("DOT", 3, ""),
        ("0018", 0, ""),
        ("DOT 5418", 4, ""),
        ("5318", 0, ""),  # 2018 has 52 weeks
        ("533", 0, ""),
        ("000", 0, ""),
        ("23", 0, ""),
        ("23180", 0, ""),
        ("DOT U2LL LMLR 51 07", 17, "DOT U2LL LMLR 5107"),
        ("DOT U2LL5107", 4, "DOT U2LL 5107"),
        ("DOT U2LLLM408", 4, "DOT U2LL LM 408"),
        ("DOT U2LL LMLR 5107◁", 18, ""),
        ("◁", 0, ""),
        ("408◁ ◁", 5, ""),
        ("408◁ 12", 5, ""),
        ("DOT U2LL LMLR LMLR 5107", 4, ""),
        ("DOT: U2LL LMLR 5107", 3, "DOT U2LL LMLR 5107"),
        ("DOT U2LL ÄMLR 5107", 9, ""),
    ],
)
def test_refuses(text: str, position: int, suggestion: str) -> None:
    with pytest.raises(NotationError) as caught:
        TyreIdentificationNumber.parse(text)
    assert (caught.value.position, caught.value.suggestion) == (position, suggestion)


def test_week_53_is_refused_with_advice() -> None:
    with pytest.raises(NotationError, match="2018 has no week 53; read the week on the tyre again"):
        TyreIdentificationNumber.parse("5318")


@pytest.mark.parametrize(
    ("values", "path"),
    [
        ({}, "code"),
        ({"code": "u2"}, "code"),
        ({"code": "U2LLLMLRXX"}, "code"),
        ({"code": "U2LL123"}, "code"),
        ({"code": "U2LL", "date_code": "12345"}, "date_code"),
        ({"date_code": "5318"}, "date_code"),
        ({"date_code": "2318", "decade": 1990}, "decade"),
        ({"date_code": "408", "decade": 1980}, "decade"),
        ({"date_code": 2318}, "date_code"),
    ],
)
def test_constructor_refuses(values: dict[str, object], path: str) -> None:
    with pytest.raises(RecordError) as caught:
        TyreIdentificationNumber(**values)  # type: ignore[arg-type]
    assert [fault.path for fault in caught.value.faults] == [path]


@pytest.mark.parametrize(
    ("text", "partial"),
    [("DOT U2LL LMLR 5107", False), ("DOT U2LL LMLR", True), ("5107", True), ("DOT U2LL LMLR 408", False)],
)
def test_one_sidewall_may_bear_a_part_of_the_number(text: str, partial: bool) -> None:
    assert TyreIdentificationNumber.parse(text).is_partial is partial


@pytest.mark.parametrize(
    ("text", "day", "ages"),
    [
        # week 23 of 2018 goes from 4 to 10 June
        ("2318", date(2024, 6, 10), (6.0, 6 + 6 / 365)),
        ("2318", date(2024, 6, 3), (6 - 7 / 366, 6 - 1 / 366)),
        ("2318", date(2018, 6, 8), (0.0, 4 / 365)),
        ("2318", date(2018, 6, 3), None),
        ("DOT U2LL LMLR", date(2024, 1, 1), None),
    ],
)
def test_age_on_a_day(text: str, day: date, ages: tuple[float, float] | None) -> None:
    assert TyreIdentificationNumber.parse(text).age_on(day) == (ages and pytest.approx(ages, abs=1e-6))


def test_three_figures_leave_the_age_between_decades() -> None:
    least, greatest = TyreIdentificationNumber.parse("408").age_on(date(2000, 1, 1)) or (0, 0)
    assert (int(least), int(greatest)) == (1, 21)  # 1978, 1988 or 1998
    marked = TyreIdentificationNumber.parse("408<").age_on(date(2000, 1, 1)) or (0, 0)
    assert [int(age) for age in marked] == [1, 1]
