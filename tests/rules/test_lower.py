"""Days known as a span: a comparison that straddles is unknown; ages are calendar years."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.errors import RuleError
from stemlore.model import Assembly, Axle, Job, Tyre
from stemlore.notation import DateSpan
from stemlore.rules import choose, every, field, years_since
from stemlore.rules._layout import layout_of
from stemlore.rules._lower import has_aggregate, level_of, lowered
from stemlore.rules._walker import View, evaluate
from stemlore.rules.nodes import Span, walk

MADE = field("tyre.manufactured")
AGE = years_since(MADE)


def judged(tree, made, on=date(2024, 6, 1)):
    """Judge a condition on one tyre made in a span of days."""
    tyre = Tyre() if made is None else Tyre(manufactured=made)
    job = Job(assemblies=[Assembly(position="axle 1 left", tyre=tyre)])
    member = layout_of(job).positions[0]
    return evaluate(lowered(tree), View(job, on, Axle(number=1), member))


# week 23 of 2018 runs from Monday 4 to Sunday 10 June
@pytest.mark.parametrize(
    ("limit", "at_least", "after", "at_most", "before", "equal"),
    [
        (date(2018, 6, 3), True, True, False, False, False),
        (date(2018, 6, 4), True, None, None, False, None),
        (date(2018, 6, 7), None, None, None, None, None),
        (date(2018, 6, 10), None, False, True, None, None),
        (date(2018, 6, 11), False, False, True, True, False),
    ],
)
def test_a_comparison_that_straddles_is_unknown(limit, at_least, after, at_most, before, equal):
    assert judged(limit <= MADE, "2018-W23") is at_least
    assert judged(limit < MADE, "2018-W23") is after
    assert judged(limit >= MADE, "2018-W23") is at_most
    assert judged(limit > MADE, "2018-W23") is before
    assert judged(MADE.equals(limit), "2018-W23") is equal
    differs = judged(MADE.differs(limit), "2018-W23")
    assert differs is (None if equal is None else not equal)


def test_a_day_known_exactly_never_straddles():
    assert judged(MADE.equals(date(2018, 6, 4)), "2018-06-04") is True
    assert judged(date(2018, 6, 4) < MADE, "2018-06-04") is False


@pytest.mark.parametrize(
    "tree",
    [date(2018, 1, 1) <= MADE, MADE.equals(date(2018, 1, 1)), AGE <= "6 year", ~(AGE > "6 year")],
)
def test_a_day_that_is_missing_is_unknown(tree):
    assert judged(tree, None) is None


def test_a_range_of_days_is_two_comparisons():
    tree = MADE.within(date(2018, 6, 1), date(2018, 6, 7))
    assert judged(tree, "2018-06-07") is True
    assert judged(tree, "2018-06-08") is False
    assert judged(tree, "2018-W23") is None
    assert judged(tree, "2018-W24") is False


@pytest.mark.parametrize(
    ("on", "at_most", "less"),
    [
        (date(2024, 6, 3), True, True),  # the day before the sixth anniversary
        (date(2024, 6, 4), True, False),  # on it
        (date(2024, 6, 5), False, False),
    ],
)
def test_the_day_before_and_the_day_of_an_anniversary(on, at_most, less):
    assert judged(AGE <= "6 year", "2018-06-04", on) is at_most
    assert judged(AGE < "6 year", "2018-06-04", on) is less
    assert judged(AGE >= "6 year", "2018-06-04", on) is not less


@pytest.mark.parametrize(
    ("on", "known"),
    [
        (date(2024, 6, 3), True),  # the whole week is younger than six years
        (date(2024, 6, 4), True),  # whoever was made on Monday is six today, and six is allowed
        (date(2024, 6, 5), None),
        (date(2024, 6, 10), None),
        (date(2024, 6, 11), False),
    ],
)
def test_an_age_from_a_week_straddles_while_only_some_days_of_it_are_too_old(on, known):
    assert judged(AGE <= "6 year", "2018-W23", on) is known


@pytest.mark.parametrize(
    ("on", "years"),
    [
        # 29 February has its anniversary on the last day of February
        (date(2021, 2, 27), 0),
        (date(2021, 2, 28), 1),
        (date(2023, 2, 28), 3),
        (date(2024, 2, 28), 3),
        (date(2024, 2, 29), 4),
    ],
)
def test_the_anniversary_of_29_february(on, years):
    assert judged(f"{years} year" <= AGE, "2020-02-29", on) is True
    assert judged(f"{years + 1} year" <= AGE, "2020-02-29", on) is False


def test_an_age_counts_from_28_february_across_a_leap_year():
    assert judged(AGE >= "1 year", "2023-02-28", date(2024, 2, 28)) is True
    assert judged(AGE > "1 year", "2023-02-28", date(2024, 2, 28)) is False
    assert judged(AGE > "1 year", "2023-02-28", date(2024, 2, 29)) is True


def test_months_are_twelfths_of_a_calendar_year():
    assert judged(AGE <= "72 months", "2018-06-04", date(2024, 6, 4)) is True
    assert judged(AGE <= "71 months", "2018-06-04", date(2024, 6, 4)) is False


def test_a_day_to_come_gives_no_age():
    assert judged(AGE <= "6 year", "2025-01-01") is None
    assert judged(AGE >= "1 year", "2025-01-01") is None


def test_a_span_that_runs_into_the_future_may_be_new():
    # a year not over yet: surely not older than six, maybe made today
    assert judged(AGE <= "6 year", "2024") is True
    assert judged(AGE >= "1 year", "2024") is False


def test_an_ambiguous_decade_straddles():
    assert judged(AGE <= "6 year", "2008/2018") is None
    assert judged(AGE <= "20 year", "2008/2018") is True


@given(
    first=st.dates(date(2000, 1, 1), date(2023, 12, 31)),
    length=st.integers(0, 400),
    on=st.dates(date(2024, 6, 1), date(2026, 12, 31)),
    years=st.integers(0, 30),
)
def test_a_span_says_what_all_its_days_say(first, length, on, years):
    last = min(first + timedelta(days=length), date(2024, 6, 1))
    tree = f"{years} year" >= AGE
    ends = {judged(tree, DateSpan.day(day), on) for day in (first, last)}
    assert judged(tree, DateSpan(first, last), on) is (ends.pop() if len(ends) == 1 else None)


def test_a_lowered_tree_holds_no_span_and_is_the_same_where_there_was_none():
    tree = every((AGE <= "6 year") & (date(2018, 1, 1) <= MADE))
    assert not any(isinstance(part, Span) for part in walk(lowered(tree)))
    plain = field("tyre.studded") & (field("tyre.pressure") >= "2 bar")
    assert lowered(plain) == plain


def test_a_span_inside_a_choice_s_condition_is_lowered():
    limit = choose(AGE > "6 year", "3 mm", "1.6 mm")
    tree = field("tyre.tread_depth_main_grooves") >= limit
    assert not any(isinstance(part, Span) for part in walk(lowered(tree)))


def test_a_span_that_is_not_compared_is_refused():
    with pytest.raises(RuleError, match="only be compared"):
        lowered(AGE)


def test_levels():
    assert level_of(field("vehicle.category").equals("M1")) == 0
    assert level_of(field("axle.steered")) == 1
    assert level_of(date(2018, 1, 1) <= MADE) == 2
    assert level_of(every(field("tyre.studded"))) == 0
    assert has_aggregate(~every(field("tyre.studded")))
    assert not has_aggregate(field("tyre.studded"))
