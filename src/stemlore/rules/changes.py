"""What one rulebook has that another has not: rules added, ended, changed, with values and citations."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Literal

import attrs

from stemlore.rules._resolve import OpenRule
from stemlore.rules.parameters import DatedValue, ParameterHistory, UsedParameter
from stemlore.rules.words import in_words

__all__ = ["Comparison", "RuleChange", "compare"]


@attrs.frozen(kw_only=True)
class RuleChange:
    """One rule that differs.

    Attributes
    ----------
    rule, title : str
        Id and what must be so.
    how : {'added', 'ended', 'changed'}
        What happened to it.
    before, after : tuple of UsedParameter
        Values that differ, as they were and as they are; empty on the side where the rule is not.
    condition_before, condition_after : str
        Where it applies in words, if that differs; else empty.
    """

    rule: str
    title: str
    how: Literal["added", "ended", "changed"]
    before: tuple[UsedParameter, ...] = ()
    after: tuple[UsedParameter, ...] = ()
    condition_before: str = ""
    condition_after: str = ""


@attrs.frozen(kw_only=True)
class Comparison:
    """Two rulebooks side by side.

    Attributes
    ----------
    before, after : date
        Their days.
    changes : tuple of RuleChange
        By rule id.
    """

    before: date
    after: date
    changes: tuple[RuleChange, ...]

    def __bool__(self) -> bool:
        return bool(self.changes)

    def _of(self, how: str) -> tuple[RuleChange, ...]:
        return tuple(each for each in self.changes if each.how == how)

    @property
    def added(self) -> tuple[RuleChange, ...]:
        """Rules that the later has and the earlier has not."""
        return self._of("added")

    @property
    def ended(self) -> tuple[RuleChange, ...]:
        """Rules that the earlier has and the later has not."""
        return self._of("ended")

    @property
    def changed(self) -> tuple[RuleChange, ...]:
        """Rules whose values, condition or demand differ."""
        return self._of("changed")


def compare(
    rules_before: Mapping[str, OpenRule], before: date, rules_after: Mapping[str, OpenRule], after: date
) -> Comparison:
    """Return what differs between the open rules of two days (or places)."""
    out = []
    for name in sorted({*rules_before, *rules_after}):
        old, new = rules_before.get(name), rules_after.get(name)
        if old is None and new is not None:
            out.append(
                RuleChange(
                    rule=name, title=new.rule.title, how="added", after=tuple(_values(new, after).values())
                )
            )
        elif new is None and old is not None:
            out.append(
                RuleChange(
                    rule=name, title=old.rule.title, how="ended", before=tuple(_values(old, before).values())
                )
            )
        elif old is not None and new is not None and (change := _change(old, before, new, after)) is not None:
            out.append(change)
    return Comparison(before=before, after=after, changes=tuple(out))


def _change(old: OpenRule, before: date, new: OpenRule, after: date) -> RuleChange | None:
    was, now = _values(old, before), _values(new, after)
    differing = [name for name in {**was, **now} if was.get(name) != now.get(name)]
    same_demand = (old.check, old.when, old.reason) == (new.check, new.when, new.reason)
    if not differing and same_demand:
        return None
    conditions = [_condition(each) for each in (old, new)]
    if conditions[0] == conditions[1]:
        conditions = ["", ""]
    return RuleChange(
        rule=new.rule.id,
        title=new.rule.title,
        how="changed",
        before=tuple(was[name] for name in differing if name in was),
        after=tuple(now[name] for name in differing if name in now),
        condition_before=conditions[0],
        condition_after=conditions[1],
    )


def _condition(of: OpenRule) -> str:
    if of.reason:
        return of.reason
    return "always" if of.when is None else in_words(of.when)


def _values(of: OpenRule, on: date) -> dict[str, UsedParameter]:
    """Return the values in force; of a parameter that counts from a field, all of them."""
    out: dict[str, UsedParameter] = {}
    for history in of.parameters:
        for index, dated in enumerate(_in_force(history, on)):
            out[f"{history.name}#{index}"] = UsedParameter.of(history, dated)
    return out


def _in_force(history: ParameterHistory, on: date) -> tuple[DatedValue, ...]:
    if history.counts_from:
        return history.values
    found = history.on(on)
    return () if found is None else (found,)
