"""Two rulebooks side by side, and findings that will turn."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from stemlore.errors import DayError
from stemlore.model import Assembly, Axle, Event, Job, Position, Tyre, Vehicle
from stemlore.rules import Outcome, PackFolder, check, rulebook

SOURCES = '[act]\ntitle = "Road Act"\nissuer = "XA"\ngrade = "read"\n'
HEAD = 'id = "xa"\ntitle = "Invented"\nversion = "1"\nplace = "XA"\napi = 1\n'
PARAMETERS = """
[depth]
unit = "mm"
doc = "Least tread depth"
[[depth.value]]
from = 2000-01-01
is = "1.6 mm"
cite = { source = "act", at = "art. 1" }
[[depth.value]]
from = 2027-01-01
is = "3 mm"
cite = { source = "act", at = "art. 1, as amended" }

[winter]
kind = "season"
doc = "Winter"
[[winter.value]]
from = 2000-01-01
is = { from = "11-01", to = "03-31" }
cite = { source = "act", at = "art. 2" }

[age]
unit = "year"
doc = "Greatest age"
[[age.value]]
from = 2000-01-01
is = "10 years"
cite = { source = "act", at = "art. 3" }
"""
COMMON = 'tie = "used_in"\nbasis = "law"\ngravity = "hold"\ncite = { source = "act", at = "art. 1" }\n'
RULES = f"""
[[rule]]
id = "xa.tyre.depth"
title = "Tread is deep enough"
shape = "at_least"
field = "tyre.tread_depth_main_grooves"
limit = "tyre.depth"
{COMMON}
[[rule]]
id = "xa.tyre.winter"
title = "In winter the tyre bears the mark"
shape = "required_in_season"
field = "tyre.snowflake"
limit = "tyre.winter"
{COMMON}
[[rule]]
id = "xa.tyre.age"
title = "The tyre is not too old"
shape = "at_most"
field = "tyre.manufactured"
limit = "tyre.age"
{COMMON}
[[rule]]
id = "xa.tyre.studs"
title = "The tyre has no studs"
shape = "forbidden"
field = "tyre.studded"
until = 2026-12-31
{COMMON}
[[rule]]
id = "xa.tyre.retread"
title = "The tyre is not retreaded"
shape = "forbidden"
field = "tyre.retread"
from = 2026-12-01
{COMMON}
"""


@pytest.fixture
def book(tmp_path):
    (tmp_path / "parameters").mkdir()
    for name, text in {
        "pack.toml": HEAD,
        "sources.toml": SOURCES,
        "parameters/tyre.toml": PARAMETERS,
        "rules.toml": RULES,
    }.items():
        (tmp_path / name).write_text(text, "utf-8")
    return rulebook("XA", on="2026-10-20", also=[PackFolder(tmp_path)])


def job(event: str | None = None) -> Job:
    tyre = Tyre(
        tread_depth_main_grooves="2 mm",
        snowflake=False,
        manufactured=date(2016, 11, 4),
        studded=False,
        retread=True,
    )
    return Job(
        vehicle=Vehicle(axles=(Axle(number=1, fitment="centre"),)),
        assemblies=(Assembly(position=Position.parse("axle 1 centre"), tyre=tyre),),
        event=Event(on=event),
    )


def test_added_ended_and_changed_with_old_and_new_values(book) -> None:
    found = book.compare(book.at("2027-01-01"))
    assert (found.before, found.after) == (date(2026, 10, 20), date(2027, 1, 1))
    assert [each.rule for each in found.added] == ["xa.tyre.retread"]
    assert [each.rule for each in found.ended] == ["xa.tyre.studs"]
    (changed,) = found.changed
    assert changed.rule == "xa.tyre.depth"
    assert [(used.value, used.citation.at) for used in changed.before] == [(1.6, "art. 1")]
    assert [(used.value, used.citation.at) for used in changed.after] == [(3.0, "art. 1, as amended")]


def test_the_same_day_and_the_same_epoch_differ_in_nothing(book) -> None:
    assert not book.compare(book.at("2026-10-20"))
    assert not book.compare(book.at("2026-11-30"))


def test_the_other_way_round_is_the_mirror_image(book) -> None:
    later = book.at("2027-01-01")
    there, back = book.compare(later), later.compare(book)
    assert [each.rule for each in there.added] == [each.rule for each in back.ended]
    assert [each.rule for each in there.ended] == [each.rule for each in back.added]
    assert there.changed[0].before == back.changed[0].after


def test_coming_changes_stand_by_day(book) -> None:
    coming = book.coming("2027-06-01")
    assert [each.after for each in coming] == [date(2026, 12, 1), date(2027, 1, 1)]
    assert [[change.how for change in each.changes] for each in coming] == [["added"], ["changed", "ended"]]
    assert book.coming("2026-11-30") == ()


def test_narrowing_by_a_country_is_told_in_words() -> None:
    mine = rulebook("DE", on="2018-05-20")
    change = next(
        each for each in mine.compare(mine.at("2022-01-28")).changed if each.rule == "eu.axle.construction"
    )
    assert change.condition_before != change.condition_after


def test_what_will_turn_is_told_with_its_first_day(book) -> None:
    report = check(job(), book)
    turned = {turn.rule: turn for turn in report.turns(days=90) if turn.rule.startswith("xa.")}
    assert {rule: (str(turn.day), turn.before, turn.after) for rule, turn in turned.items()} == {
        "xa.tyre.winter": ("2026-11-01", Outcome.PASS, Outcome.FAIL),
        # ten years old on 2026-11-04, older from the day after
        "xa.tyre.age": ("2026-11-05", Outcome.PASS, Outcome.FAIL),
        "xa.tyre.retread": ("2026-12-01", None, Outcome.FAIL),
        "xa.tyre.depth": ("2027-01-01", Outcome.PASS, Outcome.FAIL),
        "xa.tyre.studs": ("2027-01-01", Outcome.PASS, None),
    }
    assert [turn.day for turn in turned.values()] == sorted(turn.day for turn in turned.values())
    assert "begin" not in str(turned["xa.tyre.winter"])
    assert str(turned["xa.tyre.retread"]).startswith(
        "axle 1 centre, from 2026-12-01: fail (now not in force)"
    )


def test_each_turn_is_what_a_check_on_that_day_finds(book) -> None:
    report = check(job(), book)
    for turn in report.turns(days=120):
        for day, wanted in ((turn.day - timedelta(days=1), turn.before), (turn.day, turn.after)):
            found = {f.rule: f.outcome for f in check(job(), book.at(day)).findings}
            assert found.get(turn.rule) is wanted


def test_counting_begins_at_the_rulebooks_day_whatever_the_visits(book) -> None:
    visit = check(job("2026-10-01"), book)
    assert [turn.day for turn in visit.turns(days=90)] == [
        turn.day for turn in check(job(), book).turns(days=90)
    ]


def test_nothing_turns_before_its_day(book) -> None:
    assert check(job(), book).turns(days=11) == ()
    assert [turn.rule for turn in check(job(), book).turns(days=12)] == ["xa.tyre.winter"]


@pytest.mark.parametrize("days", [0, -1, 3661, True, 1.5, "30"])
def test_days_that_are_none_are_refused(book, days) -> None:
    with pytest.raises(DayError, match="look ahead"):
        check(job(), book).turns(days=days)
