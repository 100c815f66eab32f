"""Missing stays missing, whatever is computed with it; so does what is no finite number."""

from __future__ import annotations

import itertools
import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.rules import _kleene as kleene

TRUTH = (True, False, None)
ODD = (math.nan, math.inf, -math.inf)


# Kleene's strong tables: S. C. Kleene, Introduction to Metamathematics (1952), § 64
@pytest.mark.parametrize(
    ("a", "b", "both", "either"),
    [
        (True, True, True, True),
        (True, False, False, True),
        (True, None, None, True),
        (False, False, False, False),
        (False, None, False, None),
        (None, None, None, None),
    ],
)
def test_and_and_or_are_kleenes(a, b, both, either):
    assert kleene.all_true((a, b)) is kleene.all_true((b, a)) is both
    assert kleene.any_true((a, b)) is kleene.any_true((b, a)) is either


def test_or_is_and_turned_round():
    def turned(value):
        return None if value is None else not value

    for values in itertools.product(TRUTH, repeat=3):
        assert kleene.any_true(values) is turned(kleene.all_true([turned(each) for each in values]))


def test_nothing_is_all_true_and_not_any():
    assert kleene.all_true(()) is True
    assert kleene.any_true(()) is False


@pytest.mark.parametrize("odd", ODD)
def test_a_number_that_is_not_finite_is_missing(odd):
    assert kleene.finite(odd) is None
    assert kleene.finite(0.0) == 0.0
    assert kleene.finite(1.7e308) == 1.7e308


@pytest.mark.parametrize("operator", ["+", "-", "*"])
def test_what_overflows_or_lacks_a_part_is_missing(operator):
    assert kleene.combine(operator, None, 1.0) is None
    assert kleene.combine(operator, 1.0, None) is None
    huge = -1.7e308 if operator == "-" else 1.7e308
    assert kleene.combine(operator, 1.7e308, huge) is None


def test_sums_differences_and_products():
    assert kleene.combine("+", 2.0, 3.0) == 5.0
    assert kleene.combine("-", 2.0, 3.0) == -1.0
    assert kleene.combine("*", 2.0, 3.0) == 6.0


def test_whole_numbers_are_computed_with_as_doubles():
    # exactly it is 2**53 + 1, which no double can be; columns hold doubles
    made = kleene.combine("+", 2**53, 1)
    assert isinstance(made, float)
    assert made == 2.0**53
    assert isinstance(kleene.spread((2**53, 1), True, low=False), float)


@pytest.mark.parametrize(
    ("a", "b"), [(1.0, 0.0), (1.0, -0.0), (0.0, 0.0), (1e300, 1e-300), (None, 1.0), (1.0, None)]
)
def test_a_quotient_without_value_is_missing(a, b):
    assert kleene.quotient(a, b) is None


@pytest.mark.parametrize(
    ("a", "b"), [(-8.0, 1 / 3), (0.0, -1.0), (-0.0, -1.0), (1e300, 2.0), (None, 0.0), (0.0, None)]
)
def test_a_power_outside_the_real_numbers_is_missing(a, b):
    assert kleene.power(a, b) is None


def test_powers_exponentials_and_logarithms():
    assert kleene.power(-2.0, 3.0) == -8.0
    assert kleene.power(0.0, 0.0) == 1.0
    assert kleene.power(1e-300, 2.0) == 0.0
    assert kleene.quotient(1.0, 4.0) == 0.25
    assert kleene.exponential(0.0) == 1.0
    assert kleene.exponential(-1e300) == 0.0
    assert kleene.exponential(710.0) is None
    assert kleene.exponential(None) is None
    assert kleene.logarithm(math.e) == 1.0
    assert [kleene.logarithm(each) for each in (0.0, -0.0, -1.0, None)] == [None] * 4


def test_a_value_is_settled_unless_it_is_missing():
    assert kleene.settled(1.6000004) == 1.6
    assert kleene.settled(None) is None


def test_an_unknown_condition_chooses_what_both_agree_on():
    assert kleene.choose(True, 1.0, 2.0) == 1.0
    assert kleene.choose(False, 1.0, 2.0) == 2.0
    assert kleene.choose(None, 1.0, 2.0) is None
    assert kleene.choose(None, 2.0, 2.0) == 2.0
    assert kleene.choose(None, None, 2.0) is None
    assert kleene.choose(True, None, 2.0) is None


# a period of years ends on the last day of a month that lacks the day: Regulation (EEC) 1182/71, art. 3(2)(c)
def test_an_anniversary_of_29_february():
    born = date(2020, 2, 29)
    assert kleene.calendar_years(born, born) == 0
    assert kleene.calendar_years(born, date(2021, 2, 27)) == round(364 / 365, 6)
    assert kleene.calendar_years(born, date(2021, 2, 28)) == 1


def test_in_a_leap_year_the_anniversary_is_29_february_again():
    assert kleene.calendar_years(date(2020, 2, 29), date(2024, 2, 28)) < 4
    assert kleene.calendar_years(date(2020, 2, 29), date(2024, 2, 29)) == 4


def test_a_day_to_come_is_no_age():
    assert kleene.calendar_years(date(2024, 1, 2), date(2024, 1, 1)) is None
    assert kleene.calendar_years(date(2024, 1, 2), date(2024, 1, 1), True) == 0.0
    assert kleene.calendar_years(None, date(2024, 1, 1)) is None


@given(st.dates(date(1900, 1, 1), date(2090, 1, 1)), st.integers(0, 20_000))
def test_an_age_never_falls_and_is_whole_on_anniversaries(start, days):
    today = start + timedelta(days)
    age, later = kleene.calendar_years(start, today), kleene.calendar_years(start, today + timedelta(1))
    assert 0 <= age < later
    assert (age == int(age)) is (
        (today.month, today.day) == (start.month, start.day)
        or (
            (start.month, start.day) == (2, 29)
            and (today.month, today.day) == (2, 28)
            and today.year % 4 != 0
        )
    )


def test_a_day_of_the_year_is_month_times_100_plus_day():
    assert kleene.month_day(date(2024, 2, 29)) == 229.0
    assert kleene.month_day(date(2024, 12, 31)) == 1231.0


STARTS = (date(2000, 1, 1), date(2010, 1, 1), date(2020, 1, 1))


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        (date(1999, 12, 31), date(1999, 12, 31), None),
        (date(1999, 12, 31), date(2000, 1, 1), None),
        (date(2000, 1, 1), date(2000, 1, 1), 1.0),
        (date(2009, 1, 1), date(2011, 1, 1), 1.0),
        (date(2019, 12, 31), date(2020, 1, 1), None),
        (date(2020, 1, 1), date(2030, 1, 1), 1.6),
        (None, date(2020, 1, 1), None),
    ],
)
def test_a_step_is_known_where_the_span_lies_in_one_value(low, high, found):
    assert kleene.step(STARTS, (1.0, 1.0, 1.6), low, high) == found


def test_lookups_end_where_the_table_ends():
    keys, values = (0.0, 10.0, 30.0), (1.0, 2.0, 4.0)
    assert [kleene.stepped(keys, values, at) for at in (0.0, 9.9, 10.0, 30.0)] == [1.0, 1.0, 2.0, 4.0]
    assert [kleene.interpolated(keys, values, at) for at in (0.0, 5.0, 20.0, 30.0)] == [1.0, 1.5, 3.0, 4.0]
    for read in (kleene.stepped, kleene.interpolated):
        assert [read(keys, values, at) for at in (-0.1, 30.1, None)] == [None] * 3
        assert read((), (), 1.0) is None


def test_known_members_settle_that_they_differ_but_never_that_they_agree():
    assert kleene.same(("a", "a"), True) is True
    assert kleene.same(("a", None), True) is None
    assert kleene.same(("a", "a"), False) is None
    assert kleene.same(("a", None, "b"), False) is False
    assert kleene.same((None, None), True) is None
    assert kleene.same((), True) is None
    assert kleene.same((0.0, -0.0), True) is True


def test_a_spread_is_known_from_below_before_it_is_known():
    assert kleene.spread((1.0, 4.0, None), True, low=True) == 3.0
    assert kleene.spread((1.0, 4.0, None), True, low=False) is None
    assert kleene.spread((1.0, 4.0), False, low=False) is None
    assert kleene.spread((1.0, 4.0), True, low=False) == 3.0
    assert kleene.spread((None,), True, low=True) is None
    assert kleene.spread((1.7e308, -1.7e308), True, low=True) is None
