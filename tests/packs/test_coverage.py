"""Every rule of our packs has the kinds of cases that show what it does."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from stemlore.rules import Finding, Outcome, Pack, Rule, pack
from stemlore.rules.nodes import Parameter, walk
from stemlore.rules.parameters import ParameterHistory
from stemlore.testing import Case, read_cases

PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"
OURS = ("de", "eu", "us", "world")
RULES = [rule for name in OURS for rule in pack(name).rules.values()]
CASES = {name: read_cases(PACKS / name) for name in OURS}
DAY = timedelta(days=1)

by_rule = pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)


def cases_of(rule: Rule) -> list[Case]:
    return [case for case in CASES[rule.pack] if case.rule == rule.id]


def findings_of(rule: Rule) -> list[Finding]:
    return [case.run() for case in cases_of(rule) if case.expect in ("pass", "fail")]


def parameters_of(rule: Rule) -> dict[str, ParameterHistory]:
    home = pack(rule.pack)
    trees = [tree for tree in (rule.check, rule.when) if tree is not None]
    names = {part.name for tree in trees for part in walk(tree) if isinstance(part, Parameter)}
    return {name: home.parameters[name] for name in names}


def turns_of(rule: Rule, home: Pack) -> Iterator[tuple[str, date]]:
    """Yield each day on which something changes, with the field that it counts from."""
    for first in (rule.starts, rule.unseen_before):
        if first is not None:
            yield "", first
    if rule.ends is not None:
        yield "", rule.ends + DAY
    for history in parameters_of(rule).values():
        for value in history.values:
            if value.starts is None:
                continue
            # a rule that starts later than its value is not there to show the value's day
            if history.counts_from or rule.starts is None or rule.starts <= value.starts:
                yield history.counts_from, value.starts


@by_rule
def test_passes_fails_and_is_unknown(rule: Rule) -> None:
    wanted = {"pass", "fail", "unknown"} | ({"not applicable"} if rule.when is not None else set())
    assert wanted <= {case.expect for case in cases_of(rule)}


@by_rule
def test_is_shown_at_its_limit_and_one_step_beyond(rule: Rule) -> None:
    found = findings_of(rule)
    measured = [each for each in found if each.margin is not None]
    if not any(each.unit is not None for each in measured):
        assert rule.shows is None or all(each.margin is None for each in found)
        return
    at = [each for each in measured if each.margin == 0]
    beyond = [each for each in measured if each.outcome is Outcome.FAIL and each.margin]
    assert at, "no case exactly at the limit"
    assert beyond, "no case beyond the limit"
    nearest = min(beyond, key=lambda each: abs(each.margin or 0))
    assert isinstance(nearest.limit, float)
    assert abs(nearest.margin or 0) <= max(0.1, 0.06 * nearest.limit)


@by_rule
def test_is_shown_on_each_day_of_change_and_on_the_day_before(rule: Rule) -> None:
    home = pack(rule.pack)
    for field, turn in turns_of(rule, home):
        days = {case.on if not field else case.given.get(field) for case in cases_of(rule)}
        texts = {str(day) for day in days}
        assert str(turn) in texts, f"no case on {turn}"
        assert str(turn - DAY) in texts, f"no case on {turn - DAY}"


@by_rule
def test_says_what_to_do_and_from_where_it_comes(rule: Rule) -> None:
    assert rule.title
    assert not rule.title.endswith(".")
    assert rule.advice.endswith(".")
    citation = pack(rule.pack).citation(rule.cite)
    assert citation.at
    assert citation.source is not None or citation.grade in ("practice", "memory")


def test_no_case_is_of_a_rule_that_is_not_there() -> None:
    known = {rule.id for rule in RULES}
    assert {case.rule for cases in CASES.values() for case in cases} == known


def test_a_limit_that_nobody_could_read_says_so() -> None:
    """UN Regulation No. 142, 5.2.2, is known from memory only; the finding prints it."""
    case = next(case for case in CASES["eu"] if case.rule == "eu.tyre.load_single" and case.expect == "fail")
    found = case.run()
    assert found.citation.grade == "read"
    assert found.grade == "memory"
