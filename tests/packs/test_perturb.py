"""Every limit, date and condition of our packs, changed a little, makes a case fail."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs
import pytest

from stemlore.errors import StemloreError
from stemlore.rules import Node, Pack, PackFolder, Rule, pack
from stemlore.rules.build import rebuilt
from stemlore.rules.nodes import And, Choose, Compare, Constant, Not, Or, Parameter, children, walk
from stemlore.rules.parameters import DatedValue, ParameterHistory, Season
from stemlore.testing import Case, read_cases
from stemlore.units import measure, read_quantity, settle

PACKS = Path(__file__).parents[2] / "src" / "stemlore" / "packs"
OURS = ("de", "eu", "us", "world")
LOADED: dict[str, Pack] = {name: pack(name) for name in OURS}
CASES = [case for name in OURS for case in read_cases(PACKS / name)]
DAY = timedelta(days=1)

# --- a rulebook with few rules, so that opening it again and again is cheap --------------------


def folder_of(of: Pack) -> PackFolder:
    folder = PackFolder(PACKS / of.id)
    vars(folder).update(_pack=of, head={"id": of.id, "place": of.place})
    return folder


def folders(rules: set[str], changed: Mapping[str, Pack]) -> tuple[PackFolder, ...]:
    """Return our packs with these rules only, and those that stand in for them or give way to them."""
    out = []
    for name, whole in {**LOADED, **changed}.items():
        near = {
            each.id: each
            for each in whole.rules.values()
            if each.id in rules or any(other in each.supersedes for other in rules)
        }
        out.append(folder_of(attrs.evolve(whole, rules=MappingProxyType(near))))
        assert name == whole.id
    return tuple(out)


def with_parents(rules: set[str]) -> set[str]:
    return rules | {
        old
        for each in LOADED.values()
        for rule in each.rules.values()
        if rule.id in rules
        for old in rule.supersedes
    }


def caught(cases: list[Case], rules: set[str], changed: Pack) -> bool:
    """Return whether a case fails on a changed pack."""
    also = folders(with_parents(rules), {changed.id: changed})
    for case in cases:
        try:
            case.check(also=also)
        except (AssertionError, StemloreError):
            return True
    return False


# --- changes of a parameter ----------------------------------------------------------------------


def step_of(value: float) -> float:
    return 0.1 if abs(value) >= 1 else 0.01


def other_figures(value: DatedValue, history: ParameterHistory) -> Iterator[tuple[str, DatedValue]]:
    assert history.unit is not None
    stored = [measure(figure, history.unit) for figure in value.figures]
    bound = max if value.value == max(each for each in stored if each is not None) else min
    for index, figure in enumerate(value.figures):
        number, unit = read_quantity(figure)
        for change in (step_of(number), -step_of(number)):
            text = f"{settle(number + change)} {unit}"
            figures = (*value.figures[:index], text, *value.figures[index + 1 :])
            numbers = [measure(each, history.unit) for each in figures]
            yield (
                f"{figure} as {text}",
                attrs.evolve(
                    value, figures=figures, value=bound(each for each in numbers if each is not None)
                ),
            )


def other_values(value: DatedValue, history: ParameterHistory) -> Iterator[tuple[str, DatedValue]]:
    if isinstance(value.value, bool):
        yield f"{not value.value}", attrs.evolve(value, value=not value.value)
        return
    if isinstance(value.value, Season):
        season = value.value
        for end in ("start", "end"):
            for change in (DAY, -DAY):
                month, day = getattr(season, end)
                other = date(2025, month, day) + change
                moved_season = attrs.evolve(season, **{end: (other.month, other.day)})
                yield f"{end} {change.days:+d} day", attrs.evolve(value, value=moved_season)
        return
    assert isinstance(value.value, float), f"{history.name}: write how a {history.kind} is changed"
    if len(value.figures) > 1:
        yield from other_figures(value, history)
        return
    step = step_of(value.value)
    for change in (step, -step):
        yield f"{value.value:g} {change:+g}", attrs.evolve(value, value=settle(value.value + change))


def other_parameters(history: ParameterHistory) -> Iterator[tuple[str, ParameterHistory]]:
    values = history.values
    for index, value in enumerate(values):
        for what, new in other_values(value, history):
            yield what, attrs.evolve(history, values=(*values[:index], new, *values[index + 1 :]))
    assert values[-1].ends is None, f"{history.name}: write how its end is moved"


def moved(history: ParameterHistory, day: date, days: timedelta) -> ParameterHistory:
    """Return the history with the value that starts on a day starting earlier or later."""
    values = list(history.values)
    for index, value in enumerate(values):
        if value.starts == day:
            values[index] = attrs.evolve(value, starts=day + days)
            if index and values[index - 1].ends is not None:
                values[index - 1] = attrs.evolve(values[index - 1], ends=day + days - DAY)
    return attrs.evolve(history, values=tuple(values))


def cases_of(rule: str) -> list[Case]:
    return [case for case in CASES if case.rule == rule]


@cache
def users_of(name: str) -> set[str]:
    return {
        rule.id
        for each in LOADED.values()
        for rule in each.rules.values()
        for tree in (rule.check, rule.when)
        if tree is not None and any(isinstance(part, Parameter) and part.name == name for part in walk(tree))
    }


PARAMETERS = [(home, history) for home in LOADED.values() for history in home.parameters.values()]
by_parameter = pytest.mark.parametrize(
    "home, history", PARAMETERS, ids=lambda each: getattr(each, "name", "")
)


@by_parameter
def test_a_changed_value_is_noticed_by_each_rule_that_uses_it(home: Pack, history: ParameterHistory) -> None:
    users = users_of(history.name)
    assert users, "no rule uses it"
    unnoticed = []
    for what, new in other_parameters(history):
        changed = attrs.evolve(home, parameters=MappingProxyType({**home.parameters, history.name: new}))
        blind = [user for user in sorted(users) if not caught(cases_of(user), {user}, changed)]
        # a figure that another outweighs changes no outcome: one rule that prints it is enough
        if " as " in what and len(blind) < len(users):
            continue
        unnoticed += [f"{user}: {what}" for user in blind]
    assert not unnoticed


@by_parameter
def test_a_day_moved_is_noticed_by_each_rule_that_uses_it(home: Pack, history: ParameterHistory) -> None:
    """Values of one rule that start on one day move together, as the law they come from would."""
    unnoticed = []
    for user in sorted(users_of(history.name)):
        rule = home.rules[user]
        near = {name: each for name, each in home.parameters.items() if user in users_of(name)}
        for day in sorted({value.starts for value in history.values if value.starts is not None}):
            for days in (DAY, -DAY):
                settled_later = rule.starts is not None and rule.starts > max(day, day + days)
                refused = home.first_day is not None and day + days < home.first_day
                if not history.counts_from and (settled_later or refused):
                    continue  # no rulebook tells the difference
                new = {name: moved(each, day, days) for name, each in near.items()}
                changed = attrs.evolve(home, parameters=MappingProxyType({**home.parameters, **new}))
                if not caught(cases_of(user), {user}, changed):
                    unnoticed.append(f"{user}: from {day + days}")
    assert not unnoticed


# --- changes of a rule ---------------------------------------------------------------------------


def variants(of: Node) -> Iterator[tuple[str, Node]]:
    """Yield the tree with one place changed."""
    parts = children(of)
    match of:
        case Compare(operator):
            flipped: Any = {"<": "<=", "<=": "<", ">": ">=", ">=": ">"}[operator]
            yield f"{operator} as {flipped}", attrs.evolve(of, operator=flipped)
        case Not():
            yield "no 'not'", parts[0]
        case And() | Or() if len(parts) > 1:
            for index in range(len(parts)):
                rest = (*parts[:index], *parts[index + 1 :])
                yield f"{type(of).__name__} without part {index}", type(of)(rest)
        case Constant(float() as value):
            for change in (1.0, -1.0):
                yield f"{value:g} {change:+g}", attrs.evolve(of, value=value + change)
    for index, part in enumerate(parts):
        if isinstance(of, Choose) and index == 0 and {*children(part)} == {of.then, of.otherwise}:
            continue  # the greater of two: equal ones are the same either way
        for what, new in variants(part):
            yield what, rebuilt(of, (*parts[:index], new, *parts[index + 1 :]))


def evolved(rule: Rule, **changes: Any) -> Rule:
    return attrs.evolve(rule, **changes)


def other_dates(rule: Rule, first_day: date | None) -> Iterator[tuple[str, Rule]]:
    for name in ("starts", "ends", "unseen_before"):
        day = getattr(rule, name)
        for days in (DAY, -DAY) if day is not None else ():
            if name == "ends" or first_day is None or day + days >= first_day:
                yield f"{name} {day + days}", evolved(rule, **{name: day + days})


def other_rules(rule: Rule, home: Pack) -> Iterator[tuple[str, Rule]]:
    yield from other_dates(rule, home.first_day)
    for name in ("check", "when"):
        tree = getattr(rule, name)
        for what, new in variants(tree) if tree is not None else ():
            yield f"{name}: {what}", evolved(rule, **{name: new}, shows=None)
    if rule.when is not None:
        yield "without its condition", attrs.evolve(rule, when=None)
    if rule.supersedes:
        yield "superseding nothing", attrs.evolve(rule, supersedes=())


ALIKE = {
    # every valve of the table is made for one of the two holes, so the guard for others stands idle
    ("world.valve.hole", "when: And without part 1"),
}
"""Changes that no job can show today."""


@pytest.mark.parametrize(
    "rule", [rule for home in LOADED.values() for rule in home.rules.values()], ids=lambda rule: rule.id
)
def test_a_changed_rule_is_noticed(rule: Rule) -> None:
    home = LOADED[rule.pack]
    family = {rule.id, *rule.supersedes}
    cases = [case for case in CASES if case.rule in family]
    assert not caught(cases, {rule.id}, home), "a case fails as it is"
    unnoticed = [
        what
        for what, new in other_rules(rule, home)
        if (rule.id, what) not in ALIKE
        and not caught(
            cases, {rule.id}, attrs.evolve(home, rules=MappingProxyType({**home.rules, rule.id: new}))
        )
    ]
    assert not unnoticed
