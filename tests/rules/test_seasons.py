"""Seasons: days of the year, both included, across the year's end and on 29 February."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemlore.model import Event, Job, Vehicle
from stemlore.rules import Outcome, check
from stemlore.rules._walker import View, evaluate
from stemlore.rules.parameters import Season

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
