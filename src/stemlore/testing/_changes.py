"""Small changes of values, dates and trees; a case must fail on each.

Numbers go one step up and down (0.1, or 0.01 below 1, or 1 where whole
numbers are compared), dates and seasons a day, words become another word,
flags turn, operators and connectives become their neighbours, parts of a
condition fall away.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

import attrs

from stemlore.errors import StemloreError
from stemlore.model import field_spec
from stemlore.rules import Node, Rule
from stemlore.rules.build import rebuilt
from stemlore.rules.nodes import (
    Aggregate,
    And,
    Arithmetic,
    Choose,
    Compare,
    Constant,
    Equals,
    Field,
    FirstKnown,
    Not,
    OneOf,
    Or,
    Parameter,
    Within,
    children,
    walk,
)
from stemlore.rules.parameters import DatedValue, ParameterHistory
from stemlore.rules.rule import shown_by
from stemlore.rules.seasons import Season
from stemlore.testing._material import trees_of
from stemlore.units import DIMENSIONLESS, measure, read_quantity, settle

__all__ = ["DAY", "other_rules", "other_values", "shifted_values", "turns_of"]

DAY = timedelta(days=1)

# --- parameters ------------------------------------------------------------------------------


def other_values(
    history: ParameterHistory, users: Iterable[Rule]
) -> Iterator[tuple[str, bool, ParameterHistory]]:
    """Yield the parameter with one value changed: what changed, whether it is one figure of several."""
    trees = [tree for rule in users for tree in trees_of(rule)]
    for index, value in enumerate(history.values):
        for what, figure, new in _others(value, history, trees):
            values = (*history.values[:index], new, *history.values[index + 1 :])
            yield what, figure, attrs.evolve(history, values=values)


def _others(
    value: DatedValue, history: ParameterHistory, trees: list[Node]
) -> Iterator[tuple[str, bool, DatedValue]]:
    match value.value:
        case bool() as flag:
            yield f"{flag} as {not flag}", False, attrs.evolve(value, value=not flag)
        case Season() as season:
            for end in ("start", "end"):
                for days in (DAY, -DAY):
                    moved = season.moved(end, days.days)
                    yield f"season's {end} {days.days:+d} day", False, attrs.evolve(value, value=moved)
        case str() as word:
            other_word = _another_word(word, history.name, trees)
            yield f"{word} as {other_word}", False, attrs.evolve(value, value=other_word)
        case float() as number if len(set(value.figures)) <= 1:
            step = 1.0 if _counted(history, trees) else step_of(number)
            for change in (step, -step):
                new = attrs.evolve(value, value=settle(number + change))
                yield f"{number:g} {change:+g}", False, new
        case float():
            for what, new in _other_figures(value, history):
                yield what, True, new


def step_of(value: float) -> float:
    """Return how far a number is moved."""
    return 0.1 if abs(value) >= 1 else 0.01


def _counted(history: ParameterHistory, trees: list[Node]) -> bool:
    """Return whether a parameter is compared with whole numbers alone, between which nothing can be read."""
    read = [
        field_spec(other.path).kind
        for tree in trees
        for part in walk(tree)
        if isinstance(part, (Compare, Within, Equals))
        and any(isinstance(each, Parameter) and each.name == history.name for each in walk(part))
        for other in walk(part)
        if isinstance(other, Field)
    ]
    return bool(read) and set(read) == {"integer"}


def _other_figures(value: DatedValue, history: ParameterHistory) -> Iterator[tuple[str, DatedValue]]:
    stored_in = history.unit or DIMENSIONLESS
    stored = [measure(figure, stored_in) for figure in value.figures]
    bound = max if value.value == max(each for each in stored if each is not None) else min
    for index, figure in enumerate(value.figures):
        number, unit = read_quantity(figure)
        for change in (step_of(number), -step_of(number)):
            text = f"{settle(number + change)} {unit}"
            figures = (*value.figures[:index], text, *value.figures[index + 1 :])
            numbers = [measure(each, stored_in) for each in figures]
            new = bound(each for each in numbers if each is not None)
            yield f"{figure} as {text}", attrs.evolve(value, figures=figures, value=new)


def _another_word(word: str, name: str, trees: list[Node]) -> str:
    """Return another word of the field that a word is compared with; made up where there is none."""
    for tree in trees:
        for part in walk(tree):
            if isinstance(part, Equals) and any(
                isinstance(each, Parameter) and each.name == name for each in children(part)
            ):
                for each in children(part):
                    if isinstance(each, Field):
                        return _other_of(word, each.path)
    return f"not {word}"


def _other_of(word: str, path: str) -> str:
    words = field_spec(path).words
    if word not in words:
        return f"not {word}"
    return words[(words.index(word) + 1) % len(words)]


def turns_of(history: ParameterHistory) -> list[date]:
    """Return the days on which a value begins, or on which the last known one is no longer known."""
    starts = {value.starts for value in history.values if value.starts is not None}
    return sorted(starts | {value.ends + DAY for value in history.values if value.ends is not None})


def shifted_values(history: ParameterHistory, turn: date, days: timedelta) -> ParameterHistory:
    """Return the history with what begins and ends on a day doing so earlier or later."""
    values = []
    for value in history.values:
        if value.starts == turn:
            value = attrs.evolve(value, starts=turn + days)
        if value.ends is not None and value.ends + DAY == turn:
            value = attrs.evolve(value, ends=value.ends + days)
        values.append(value)
    return attrs.evolve(history, values=tuple(values))


# --- rules -----------------------------------------------------------------------------------


def other_rules(rule: Rule, first_day: date | None) -> Iterator[tuple[str, Rule]]:
    """Yield the rule with one thing changed: a date, a place in its trees, its condition, what it supersedes.

    Each has a name of its own; the second of one name ends with (2).
    """
    seen: Counter[str] = Counter()
    for what, new in _other_rules(rule, first_day):
        seen[what] += 1
        yield (what if seen[what] == 1 else f"{what} ({seen[what]})"), new


def _other_rules(rule: Rule, first_day: date | None) -> Iterator[tuple[str, Rule]]:
    for name in ("starts", "ends", "unseen_before"):
        day = getattr(rule, name)
        for days in (DAY, -DAY) if day is not None else ():
            # before the pack's first day no rulebook tells the difference
            if name == "ends" or first_day is None or day + days >= first_day:
                yield f"{name} {day + days}", attrs.evolve(rule, **{name: day + days})
    shows = None if _shown_by_itself(rule) else rule.shows
    if rule.body is None:
        for what, new in _variants(rule.check):
            yield f"check: {what}", attrs.evolve(rule, check=new, shows=shows)
    if rule.when is not None:
        for what, new in _variants(rule.when):
            yield f"when: {what}", attrs.evolve(rule, when=new)
        yield "without its condition", attrs.evolve(rule, when=None)
    if rule.supersedes:
        yield "superseding nothing", attrs.evolve(rule, supersedes=())


def _shown_by_itself(rule: Rule) -> bool:
    """Return whether what a finding shows follows from the check, so that it changes with it."""
    found = shown_by(rule.check)
    return found is not None and attrs.evolve(found, label=rule.what) == rule.shows


def _variants(of: Node) -> Iterator[tuple[str, Node]]:
    """Yield the tree with one place changed; what cannot be put together is no tree."""
    yield from _changed(of)
    parts = children(of)
    for index, part in enumerate(parts):
        if isinstance(of, Choose) and index == 0 and {*children(part)} == {of.then, of.otherwise}:
            continue  # the greater of two: equal ones are the same either way
        for what, new in _variants(part):
            try:
                yield what, rebuilt(of, (*parts[:index], new, *parts[index + 1 :]))
            except (StemloreError, TypeError, ValueError):
                continue


_FLIPPED: dict[str, Any] = {"<": "<=", "<=": "<", ">": ">=", ">=": ">"}
_TURNED: dict[str, Any] = {"<": ">", "<=": ">=", ">": "<", ">=": "<="}
_ARITHMETIC: dict[str, Any] = {"+": "-", "-": "+", "*": "/", "/": "*"}


def _changed(of: Node) -> Iterator[tuple[str, Node]]:
    match of:
        case Compare(operator):
            for other in (_FLIPPED[operator], _TURNED[operator]):
                yield f"{operator} as {other}", attrs.evolve(of, operator=other)
        case Within(value, low, high):
            yield "without lower bound", Compare("<=", value, high)
            yield "without upper bound", Compare(">=", value, low)
        case Not(inner):
            yield "no 'not'", inner
        case And(parts) | Or(parts) if len(parts) > 1:
            name, other_kind = ("And", Or) if isinstance(of, And) else ("Or", And)
            yield f"{name} as {other_kind.__name__}", other_kind(parts)
            for index in range(len(parts)):
                yield f"{name} without part {index}", type(of)((*parts[:index], *parts[index + 1 :]))
        case Equals(Field(path, "word") as left, Constant(str() as word) as right):
            other_word = _other_of(word, path)
            yield f"{word} as {other_word}", Equals(left, attrs.evolve(right, value=other_word))
        case OneOf(value, options):
            yield from _other_options(of, value, options)
        case Aggregate("every" | "some" as how):
            other_how: Any = "some" if how == "every" else "every"
            yield f"{how} as {other_how}", attrs.evolve(of, how=other_how)
        case Arithmetic(operator) if operator in _ARITHMETIC:
            yield f"{operator} as {_ARITHMETIC[operator]}", attrs.evolve(of, operator=_ARITHMETIC[operator])
        case FirstKnown(first, second):
            yield "first known: first alone", first
            yield "first known: second alone", second
        case Choose(condition, then, otherwise):
            yield "choice turned", attrs.evolve(of, condition=condition, then=otherwise, otherwise=then)
        case Constant(bool() as flag):
            yield f"{flag} as {not flag}", attrs.evolve(of, value=not flag)
        case Constant(float() as number):
            for change in (1.0, -1.0):
                yield f"{number:g} {change:+g}", attrs.evolve(of, value=number + change)
        case Constant(date() as day):
            for days in (DAY, -DAY):
                yield f"{day} {days.days:+d} day", attrs.evolve(of, value=day + days)


def _other_options(of: OneOf, value: Node, options: tuple[Any, ...]) -> Iterator[tuple[str, Node]]:
    if len(options) > 1:
        for index, option in enumerate(options):
            rest = (*options[:index], *options[index + 1 :])
            yield f"not one of them: {option}", attrs.evolve(of, options=rest)
    elif isinstance(value, Field) and isinstance(options[0], str):
        other = _other_of(options[0], value.path)
        yield f"{options[0]} as {other}", attrs.evolve(of, options=(other,))
