"""What the kit works on: a pack, its cases, and rulebooks opened over it again and again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cached_property
from pathlib import Path
from types import MappingProxyType

import attrs

from stemlore.errors import DayError, StemloreError
from stemlore.rules import Finding, Pack, PackFolder, Rule, Rulebook, check, rulebook
from stemlore.rules.nodes import Node, Parameter, walk
from stemlore.rules.parameters import ParameterHistory
from stemlore.testing.cases import NOT_IN_FORCE, REFUSED, Alike, Case

__all__ = ["Also", "Material", "parameters_of", "trees_of"]

Also = Sequence[PackFolder | Pack]


def trees_of(rule: Rule) -> list[Node]:
    """Return the check of a rule and its condition, where it has one."""
    return [tree for tree in (rule.check, rule.when) if tree is not None]


def parameters_of(rule: Rule) -> set[str]:
    """Return the names of the parameters that a rule uses."""
    return {part.name for tree in trees_of(rule) for part in walk(tree) if isinstance(part, Parameter)}


@attrs.frozen(eq=False, slots=False, kw_only=True)
class Material:
    """A pack under test.

    Attributes
    ----------
    pack : Pack
        The pack.
    folder : Path
        Where its files lie.
    cases : tuple of Case
        Its cases; those of a parent's rules among them.
    alike : tuple of Alike
        Changes that no job can show.
    also : sequence of PackFolder or Pack
        Packs beside it that are not installed, such as its parents.
    """

    pack: Pack
    folder: Path
    cases: tuple[Case, ...]
    alike: tuple[Alike, ...]
    also: Also

    @cached_property
    def _books(self) -> dict[tuple[str, date], Rulebook | StemloreError]:
        return {}

    def book(self, place: str, on: date) -> Rulebook:
        """Open the whole rulebook of place and day, once.

        Raises
        ------
        StemloreError
            As :func:`stemlore.rules.rulebook` does.
        """
        found = self._books.get((place, on))
        if found is None:
            try:
                found = rulebook(place, on=on, also=(*self.also, self.pack))
            except StemloreError as error:
                found = error
            self._books[place, on] = found
        if isinstance(found, StemloreError):
            raise found
        return found

    @cached_property
    def beside(self) -> Mapping[str, Pack]:
        """The other packs that stand in the rulebooks of its cases and of its own place."""
        out: dict[str, Pack] = {}
        wanted = [(case.place, case.on) for case in self.cases]
        for place, on in dict.fromkeys([*wanted, *((self.pack.place, day) for day in self.days)]):
            try:
                out.update(self.book(place, on).packs)
            except StemloreError:  # told where the cases are run
                continue
        out.pop(self.pack.id, None)
        return out

    @cached_property
    def days(self) -> tuple[date, ...]:
        """A day in every span between two changes of the pack, the first that it answers for among them."""
        found: set[date] = set()
        for rule in self.pack.rules.values():
            found |= {day for day in (rule.starts, rule.unseen_before, rule.ends) if day is not None}
        for history in self.pack.parameters.values():
            found |= {value.starts for value in history.values if value.starts is not None}
        found |= {case.on for case in self.cases[:1]}
        first = self.pack.first_day
        if first is not None:
            found = {day for day in found if day >= first} | {first}
        return tuple(sorted(found or {date(2000, 1, 1)}))

    def parameter(self, name: str) -> ParameterHistory | None:
        """Return a parameter of this pack or of one beside it."""
        for pack in (self.pack, *self.beside.values()):
            if name in pack.parameters:
                return pack.parameters[name]
        return None

    def users(self, name: str) -> list[Rule]:
        """Return the rules of the pack that use a parameter, by id."""
        return [rule for _, rule in sorted(self.pack.rules.items()) if name in parameters_of(rule)]

    def cases_of(self, *rules: str) -> list[Case]:
        """Return the cases of some rules."""
        return [case for case in self.cases if case.rule in rules]

    def findings(self, case: Case) -> tuple[Finding, ...]:
        """Return what the rule of a case says; nothing where it is not in force."""
        return self._found.get(id(case), ())

    @cached_property
    def _found(self) -> Mapping[int, tuple[Finding, ...]]:
        out = {}
        for case in self.cases:
            if case.expect not in (NOT_IN_FORCE, REFUSED):
                try:
                    out[id(case)] = case.findings(self.book(case.place, case.on))
                except StemloreError:  # told where the cases are run
                    continue
        return out

    def differences(self, case: Case) -> list[str]:
        """Return how a case differs from what the whole rulebook says."""
        try:
            book = self.book(case.place, case.on)
        except DayError as error:
            return [] if case.expect == REFUSED else [str(error)]
        except StemloreError as error:
            return [f"{type(error).__name__}: {error}"]
        try:
            faults = [each for each in check(case.job, book).faults if each.rule == case.rule]
            return [*case.differences(book), *(f"it raises {each.error}" for each in faults)]
        except StemloreError as error:
            return [f"{type(error).__name__}: {error}"]

    # --- changed packs -------------------------------------------------------------------------

    def with_rule(self, rule: Rule) -> Pack:
        """Return the pack with one rule exchanged."""
        return attrs.evolve(self.pack, rules=MappingProxyType({**self.pack.rules, rule.id: rule}))

    def with_parameters(self, *histories: ParameterHistory) -> Pack:
        """Return the pack with some parameters exchanged."""
        new = {history.name: history for history in histories}
        return attrs.evolve(self.pack, parameters=MappingProxyType({**self.pack.parameters, **new}))

    def caught(self, cases: Iterable[Case], rule: Rule, changed: Pack) -> bool:
        """Return whether a case fails on a changed pack, or its rulebook cannot be opened."""
        also = self._few(rule, changed)
        books: dict[tuple[str, date], Rulebook | None] = {}  # None = refused
        for case in cases:
            key = (case.place, case.on)
            try:
                if key not in books:
                    try:
                        books[key] = case.book(also=also)
                    except DayError:
                        books[key] = None
                book = books[key]
                if case.expect != REFUSED if book is None else case.differences(book):
                    return True
            except StemloreError:
                return True
        return False

    def as_it_is(self, rule: Rule) -> bool:
        """Return whether a case fails on the pack as it is, so that changes prove nothing."""
        if rule.id not in self._broken:
            cases = self.cases_of(rule.id, *rule.supersedes)
            self._broken[rule.id] = self.caught(cases, rule, self.pack)
        return self._broken[rule.id]

    @cached_property
    def _broken(self) -> dict[str, bool]:
        return {}

    def _few(self, rule: Rule, changed: Pack) -> list[Pack]:
        """Return all packs with few rules: this one, what it stands in for, and what stands in for it.

        Opening a whole rulebook for each change would take minutes.
        """
        packs = (*self.beside.values(), changed)
        wanted = {rule.id, *rule.supersedes}
        for whole in packs:
            for each in whole.rules.values():
                if not wanted.isdisjoint(each.supersedes) or each.id == rule.id:
                    wanted |= {each.id, *each.supersedes}
        return [
            attrs.evolve(
                whole,
                rules=MappingProxyType({name: each for name, each in whole.rules.items() if name in wanted}),
            )
            for whole in packs
        ]
