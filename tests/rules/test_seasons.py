"""Seasons: days of the year, both included, across the year's end and on 29 February."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.easter import easter
from hypothesis import assume, given
from hypothesis import strategies as st

from stemlore.model import Event, Job, Vehicle
from stemlore.rules import Outcome, check
from stemlore.rules._walker import View, evaluate
from stemlore.rules.nodes import InDays
from stemlore.rules.seasons import MovingDay, Season, easter_sunday, season_end

WINTER = Season((11, 1), (4, 15))
SUMMER = Season((5, 1), (9, 30))


def holds(season: Season, day: date) -> bool:
    return evaluate(season.node(), View(Job(), day, None))


@pytest.mark.parametrize(
    ("day", "winter"),
    [
        (date(2023, 10, 31), False),
        (date(2023, 11, 1), True),
        (date(2023, 12, 31), True),
        (date(2024, 1, 1), True),
        (date(2024, 2, 29), True),
        (date(2024, 4, 15), True),
        (date(2024, 4, 16), False),
        (date(2024, 7, 1), False),
    ],
)
def test_a_season_crosses_the_year_s_end(day, winter):
    assert holds(WINTER, day) is winter


@pytest.mark.parametrize(
    ("day", "summer"),
    [
        (date(2024, 4, 30), False),
        (date(2024, 5, 1), True),
        (date(2024, 9, 30), True),
        (date(2024, 10, 1), False),
        (date(2024, 1, 1), False),
    ],
)
def test_a_season_within_a_year(day, summer):
    assert holds(SUMMER, day) is summer


def test_an_end_on_29_february_is_the_last_of_february_in_other_years():
    season = Season((12, 1), (2, 29))
    assert holds(season, date(2024, 2, 29))
    assert holds(season, date(2023, 2, 28))
    assert not holds(season, date(2023, 3, 1))
    assert not holds(season, date(2024, 3, 1))


def test_a_start_on_29_february_is_1_march_in_other_years():
    season = Season((2, 29), (3, 31))
    assert not holds(season, date(2023, 2, 28))
    assert holds(season, date(2023, 3, 1))
    assert holds(season, date(2024, 2, 29))


def test_a_season_of_one_day():
    season = Season((1, 1), (1, 1))
    assert holds(season, date(2024, 1, 1))
    assert not holds(season, date(2024, 1, 2))


@given(st.dates(date(2000, 1, 1), date(2050, 12, 31)), st.tuples(st.integers(1, 12), st.integers(1, 28)))
def test_a_season_and_the_rest_of_the_year_leave_no_day_out(day, start):
    end = date(2023, *start) - timedelta(days=1)
    following = date(2023, *start) + timedelta(days=30)
    first = Season(start, (following.month, following.day))
    after = following + timedelta(days=1)
    rest = Season((after.month, after.day), (end.month, end.day))
    if (day.month, day.day) != (2, 29):  # ends given on 28 February and 1 March leave it to neither or both
        assert holds(first, day) != holds(rest, day)


def test_easter_sunday_is_that_of_a_general_library():
    """Against python-dateutil, method 3 (Gregorian)."""
    for year in range(1900, 2200):
        assert easter_sunday(year) == easter(year), year


@pytest.mark.parametrize(
    ("text", "year", "day"),
    [
        ("easter", 2026, date(2026, 4, 5)),
        ("easter + 7", 2026, date(2026, 4, 12)),
        ("easter - 2", 2026, date(2026, 4, 3)),
        ("last sunday of 03", 2026, date(2026, 3, 29)),
        ("last sunday of 12", 2023, date(2023, 12, 31)),
        ("first sunday of 11", 2026, date(2026, 11, 1)),
        ("second monday of 05", 2026, date(2026, 5, 11)),
        ("saturday before 11-11", 2026, date(2026, 11, 7)),
        ("saturday before 11-11", 2023, date(2023, 11, 4)),  # the 11th is a Saturday itself
    ],
)
def test_a_day_that_moves(text, year, day):
    assert season_end(text).in_year(year) == day


@pytest.mark.parametrize(
    "text",
    ["", "eastern", "easter +7", "fifth sunday of 03", "last day of 03", "last sunday of 13",
     "sunday before 13-01", "sunday before 02-30", "sunday before 02-29", "02-30", "1-1"],
)  # fmt: skip
def test_what_is_no_end_of_a_season_is_refused(text):
    with pytest.raises(ValueError, match="02-29|no day|no end"):
        season_end(text)


NORDIC = Season((11, 1), MovingDay("easter + 7"))


@pytest.mark.parametrize(
    ("day", "winter"),
    [
        (date(2024, 10, 31), False),
        (date(2024, 11, 1), True),
        (date(2025, 4, 27), True),  # Easter Sunday 2025-04-20
        (date(2025, 4, 28), False),
        (date(2026, 4, 12), True),  # Easter Sunday 2026-04-05
        (date(2026, 4, 13), False),
        (date(1950, 1, 1), None),
        (date(2150, 1, 1), None),
    ],
)
def test_a_season_that_ends_with_easter(day, winter):
    assert holds(NORDIC, day) is winter


def test_a_moving_season_is_moved_by_days():
    later = NORDIC.moved("end", 1)
    assert str(later) == "11-01 to easter + 7 +1 days"
    assert holds(later, date(2025, 4, 28))
    assert not holds(NORDIC.moved("start", 1), date(2024, 11, 1))


@given(
    st.dates(date(1970, 1, 1), date(2090, 12, 31)),
    st.sampled_from(["01-01", "06-15", "02-29", "10-05"]),
    st.sampled_from(["02-29", "10-05", "03-01"]),
)
def test_a_season_written_as_runs_of_days_is_the_one_compared_by_month_and_day(day, start, end):
    assume(start != end)
    season = Season(season_end(start), season_end(end))
    assert evaluate(InDays(season._edges(), ""), View(Job(), day, None)) is holds(season, day)


SEASON = """
[season]
kind = "season"
doc = "Days on which the marking is required"
[[season.value]]
from = 2000-01-01
is = { from = "11-01", to = "04-15" }
cite = { source = "road_act", at = "art. 20" }
"""


def test_a_season_counts_at_the_day_of_the_visit(one_rule):
    rule = {"shape": "required_in_season", "limit": "winter.season"}
    book = one_rule({"winter": SEASON}, on="2024-07-01", **rule)
    off = Vehicle(monitoring_works=False)
    outcome = lambda **given: next(  # noqa: E731
        f.outcome for f in check(Job(**given), book).findings if f.rule == "xa.tyre.tread_depth"
    )
    assert outcome(vehicle=off) is Outcome.PASS
    assert outcome(vehicle=off, event=Event(on="2024-01-10")) is Outcome.FAIL
    assert outcome(event=Event(on="2024-07-01")) is Outcome.PASS
    assert outcome(event=Event(on="2024-01-10")) is Outcome.UNKNOWN


def test_a_season_as_a_condition(one_rule):
    def opened(wanted, on):
        return one_rule({"winter": SEASON}, when={"parameter:winter.season": wanted}, on=on)

    works = Job(vehicle=Vehicle(monitoring_works=True))
    for wanted, on, outcome in [
        (True, "2024-01-10", Outcome.PASS),
        (True, "2024-07-01", Outcome.NOT_APPLICABLE),
        (False, "2024-01-10", Outcome.NOT_APPLICABLE),
        (False, "2024-07-01", Outcome.PASS),
    ]:
        found = check(works, opened(wanted, on)).findings
        assert next(f.outcome for f in found if f.rule == "xa.tyre.tread_depth") is outcome


def test_a_season_is_written_as_it_is_read():
    assert str(WINTER) == "11-01 to 04-15"
