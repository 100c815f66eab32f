"""Judging what one position would be with other parts in place, by the rules that read them alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from typing import Any

import attrs

from stemlore.model import Assembly, Job, Position
from stemlore.rules._layout import Member, layout_of
from stemlore.rules._resolve import OpenRule, RuleGroup
from stemlore.rules._walker import View, evaluate
from stemlore.rules.nodes import DateBound, Field, Step, walk
from stemlore.rules.report import FAULT
from stemlore.rules.rule import Gravity
from stemlore.rules.rulebook import Rulebook

__all__ = ["Trial", "fields_read", "trial"]


@lru_cache(maxsize=4096)
def fields_read(opened: OpenRule) -> frozenset[str]:
    """Return the paths of all fields that a rule in force reads."""
    if opened.rule.body is not None:
        return frozenset(opened.rule.reads)
    return frozenset(
        part.path
        for tree in (opened.check, opened.when)
        if tree is not None
        for part in walk(tree)
        if isinstance(part, (Field, DateBound, Step))
    )


@attrs.frozen(eq=False, slots=False)
class Trial:
    """The rules of a rulebook about one position that read certain records.

    Attributes
    ----------
    rules : tuple of OpenRule
        In the order of the codes that :meth:`codes` gives; those that bind first.
    """

    group: RuleGroup

    @property
    def rules(self) -> tuple[OpenRule, ...]:
        """The rules, in the order of the codes."""
        return self.group.rules

    def codes(self, job: Job, day: date, assemblies: Sequence[Assembly]) -> list[bytes]:
        """Return for each assembly the outcome of each rule, were it in its place on the vehicle.

        0 is pass, 1 fail, 2 unknown, 3 not applicable, 4 a rule that raised.
        """
        places: dict[Position, Member] = {}
        rows = []
        for each in assemblies:
            place = places.get(each.position)
            if place is None:
                place = places[each.position] = _member(job, each)
            rows.append(Member(each, place.axle, place.maker, place.subject))
        try:
            return list(self.group.judge(job, day, rows))
        except Exception:  # one faulty rule must not take the others with it
            return [self._walked(job, day, each) for each in rows]

    def only(self, indices: tuple[int, ...]) -> Trial:
        """Return a trial of some of the rules alone, made once."""
        kept: dict[tuple[int, ...], Trial] = self.__dict__.setdefault("_only", {})
        if indices not in kept:
            if len(kept) > 64:
                kept.clear()
            kept[indices] = _trial_of([self.rules[index] for index in indices])
        return kept[indices]

    def _walked(self, job: Job, day: date, at: Member) -> bytes:
        view = View(job, day, at.axle, member=at)
        codes = bytearray()
        for each in self.rules:
            try:
                applies = True if each.when is None else evaluate(each.when, view)
                holds = evaluate(each.check, view) if applies else None
            except Exception:
                codes.append(FAULT)
                continue
            if applies is None or (applies and holds is None):
                codes.append(2)
            else:
                codes.append(int(not holds) if applies else 3)
        return bytes(codes)


def _member(job: Job, assembly: Assembly) -> Member:
    number = assembly.position.axle
    standing = next(
        (each for each in layout_of(job).positions if each.subject.position == assembly.position), None
    )
    if standing is not None:
        return Member(assembly, standing.axle, standing.maker, standing.subject)
    spares = layout_of(job).spares
    spare = next((each for each in spares if each.assembly.position == assembly.position), None)
    if spare is None:
        raise KeyError(f"no wheel at {assembly.position}, axle {number}")
    return Member(assembly, spare.axle, spare.maker, spare.subject)


def _trial_of(rules: Sequence[OpenRule]) -> Trial:
    return Trial(
        RuleGroup(
            kind="position",
            rules=tuple(rules),
            binding=sum(each.rule.gravity is not Gravity.ADVISE for each in rules),
            bodies=(),
        )
    )


_kept: dict[tuple[int, frozenset[str]], tuple[Any, Trial]] = {}


def trial(book: Rulebook, paths: Sequence[str]) -> Trial:
    """Return the rules of a book about one position that read one of these fields.

    Rules written in Python are left out: they are judged with the whole job.

    Parameters
    ----------
    book : Rulebook
        The rules in force.
    paths : sequence of str
        Fields, or records such as ``valve.``.
    """
    key = (id(book.compiled), frozenset(paths))
    kept = _kept.get(key)
    if kept is not None and kept[0] is book.compiled:
        return kept[1]
    found = [
        each
        for group in book.compiled.groups
        if group.kind == "position"
        for each in group.rules
        if each.rule.body is None and any(path.startswith(tuple(paths)) for path in fields_read(each))
    ]
    made = _trial_of(found)
    if len(_kept) > 64:  # bounded: a book that is gone keeps nothing alive for long
        _kept.clear()
    _kept[key] = (book.compiled, made)
    return made
