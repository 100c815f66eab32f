"""A rulebook: the packs in force for a vehicle's places on a day."""

from __future__ import annotations

import threading
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from functools import cached_property
from types import MappingProxyType

import attrs

from stemlore.errors import DayError, DecisionUnavailableError, UnknownRuleError
from stemlore.provenance import fingerprint_of
from stemlore.rules import discovery
from stemlore.rules._chains import Places, chain, epochs
from stemlore.rules._resolve import Compiled, OpenRule, compile_rules, open_rules
from stemlore.rules.changes import Comparison, compare
from stemlore.rules.pack import Pack, PackFolder
from stemlore.rules.places import country_of, place_code
from stemlore.rules.rule import Rule, Tie
from stemlore.tables import table

__all__ = ["Coverage", "Rulebook", "TieCoverage", "rulebook"]


@attrs.frozen(kw_only=True)
class TieCoverage:
    """What stands behind one tie.

    Attributes
    ----------
    tie : Tie
        Registered in, used in, or workshop.
    place : str or None
        The place; None where it was not given.
    packs : tuple of str
        Packs in force through it, narrowest first.
    covered : bool
        Whether a pack answers for the place itself.
    note : str
        Why not, where it is not.
    """

    tie: Tie
    place: str | None
    packs: tuple[str, ...]
    covered: bool
    note: str = ""


@attrs.frozen
class Coverage:
    """Places, packs, and the places for which there is none."""

    ties: tuple[TieCoverage, ...]

    @property
    def complete(self) -> bool:
        """Whether every tie's place is given and has a pack."""
        return all(each.covered for each in self.ties)

    @property
    def gaps(self) -> tuple[TieCoverage, ...]:
        """The ties that are not covered."""
        return tuple(each for each in self.ties if not each.covered)

    @property
    def packs(self) -> tuple[str, ...]:
        """All packs in force, each once."""
        return tuple(dict.fromkeys(name for each in self.ties for name in each.packs))


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Rulebook:
    """The rules in force for places and a day. Made by :func:`rulebook`.

    Attributes
    ----------
    on : date
        The day whose law holds.
    coverage : Coverage
        Places, packs and gaps.
    epoch : tuple of date
        First day (or None) and last day (or None) on which the same rules and values hold.
    decision : str
        Decision rule: ``simple``.
    """

    on: date
    coverage: Coverage
    epoch: tuple[date | None, date | None]
    decision: str
    packs: Mapping[str, Pack] = attrs.field(repr=False)
    compiled: Compiled = attrs.field(repr=False)
    _found: discovery.Discovery = attrs.field(repr=False)

    def at(self, on: date | str) -> Rulebook:
        """Return the rulebook of the same places and packs on another day.

        Raises
        ------
        DayError
            If a place's pack does not answer for that day.
        """
        return _book(self._places, self._found, _day(on), self.decision)

    @property
    def _places(self) -> Places:
        registered, used, workshop = (each.place for each in self.coverage.ties)
        return (registered, used, workshop)

    @cached_property
    def changes(self) -> tuple[date, ...]:
        """Every day on which a rule or value of these packs begins, ends or changes, oldest first."""
        return epochs(self._places, self._found)

    def compare(self, other: Rulebook) -> Comparison:
        """Return what another rulebook adds, ends and changes against this one."""
        return compare(self.rules, self.on, other.rules, other.on)

    def coming(self, until: date | str) -> tuple[Comparison, ...]:
        """Return what changes after this day, up to another: one comparison a day of change."""
        last, before, out = _day(until), self, []
        for turn in self.changes:
            if self.on < turn <= last:
                after = self.at(turn)
                difference = before.compare(after)
                if difference:
                    out.append(difference)
                before = after
        return tuple(out)

    @property
    def rules(self) -> Mapping[str, OpenRule]:
        """The rules by id, with parameters put in."""
        return self.compiled.by_id

    def rule(self, name: str) -> Rule:
        """Return one rule.

        Raises
        ------
        UnknownRuleError
            With the nearest ids.
        """
        try:
            return self.compiled.by_id[name].rule
        except KeyError:
            raise UnknownRuleError(name, self.compiled.by_id) from None

    def place(self, tie: Tie) -> str | None:
        """Return the place of a tie."""
        return next(each.place for each in self.coverage.ties if each.tie is tie)

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 over packs, tables, places, day and decision rule."""
        return fingerprint_of(
            {
                "packs": {name: pack.fingerprint for name, pack in self.packs.items()},
                "tables": {name: table(name).fingerprint for name in _tables_of(self.compiled)},
                "places": {each.tie.value: each.place for each in self.coverage.ties if each.place},
                "on": self.on,
                "decision": self.decision,
            }
        )


def _tables_of(compiled: Compiled) -> list[str]:
    from stemlore.rules.nodes import Lookup, walk

    names = set()
    for each in compiled.by_id.values():
        for tree in (each.check, each.when):
            names |= {
                part.table for part in (walk(tree) if tree is not None else ()) if isinstance(part, Lookup)
            }
    return sorted(names)


def _day(on: object) -> date:
    if isinstance(on, datetime):
        raise DayError(f"{on} has a time of day", advice="give a date")
    if isinstance(on, date):
        return on
    if isinstance(on, str):
        try:
            return date.fromisoformat(on)
        except ValueError:
            raise DayError(f"{on!r} is not a day", advice="write it as 2026-11-25") from None
    raise DayError(f"{on!r} is not a day", advice="give a date, or text such as '2026-11-25'")


_lock = threading.RLock()
_books: dict[
    tuple[Places, int, str, discovery.Discovery],
    tuple[Coverage, Mapping[str, Pack], Compiled, tuple[date | None, date | None]],
] = {}
_bounds: dict[tuple[Places, discovery.Discovery], tuple[date, ...]] = {}
_MOST_BOOKS = 256


def rulebook(
    place: str | None = None,
    *,
    on: date | str,
    registered_in: str | None = None,
    used_in: str | None = None,
    workshop: str | None = None,
    decision: str = "simple",
    also: Sequence[PackFolder | Pack] = (),
) -> Rulebook:
    """Open the rules for places and a day.

    Parameters
    ----------
    place : str, optional
        ISO 3166 code of the country or subdivision, for all three ties.
    on : date or str
        The day whose law holds.
    registered_in, used_in, workshop : str, optional
        Another place for one tie.
    decision : {'simple', 'guarded'}
        Decision rule: a reading as it stands, or with its uncertainty where
        the rule declares one; the others go by simple acceptance, and the
        report says so.
    also : sequence of PackFolder or Pack
        Packs that are not installed, such as one being written, or one changed
        in memory (``attrs.evolve``; its fingerprint stays that of its files).
        They take the place of an installed pack of the same id.

    Returns
    -------
    Rulebook
        Compiled once for places and the time between two changes of law.

    Raises
    ------
    UnknownPlaceError
        If a place is no code.
    DayError
        If the day lies before the first that a place's pack answers for.
    PackLoadError
        If a pack that is needed is broken; its cause is chained.
    DecisionUnavailableError
        If the decision rule is unknown, or guarded and no rule in force declares an uncertainty.

    Examples
    --------
    >>> book = rulebook("DE", on="2026-11-25", used_in="US-CA")
    >>> [each.place for each in book.coverage.ties]
    ['DE', 'US-CA', 'DE']
    """
    day = _day(on)
    if decision not in ("simple", "guarded"):
        raise DecisionUnavailableError(f"unknown decision rule {decision!r}", advice="simple or guarded")
    places: Places = tuple(  # type: ignore[assignment]
        None if each is None else place_code(each)
        for each in (place if own is None else own for own in (registered_in, used_in, workshop))
    )
    found = discovery.discover()
    return _book(places, discovery.with_folders(found, also) if also else found, day, decision)


def _book(places: Places, found: discovery.Discovery, day: date, decision: str) -> Rulebook:
    """Return a rulebook, compiled once for places, packs and epoch."""
    with _lock:
        bounds = _bounds.get((places, found))
        if bounds is None:
            if len(_bounds) >= _MOST_BOOKS:
                _bounds.pop(next(iter(_bounds)))
            bounds = _bounds[places, found] = epochs(places, found)
        index = bisect_right(bounds, day)
        key = (places, index, decision, found)
        kept = _books.get(key)
        if kept is None:
            first = bounds[index - 1] if index else None
            last = bounds[index] - timedelta(days=1) if index < len(bounds) else None
            if len(_books) >= _MOST_BOOKS:
                _books.pop(next(iter(_books)))
            kept = _books[key] = (*_open(places, found, day, decision), (first, last))
    coverage, packs, compiled, epoch = kept
    _answerable(packs, places, day)
    return Rulebook(
        on=day,
        coverage=coverage,
        epoch=epoch,
        decision=decision,
        packs=packs,
        compiled=compiled,
        found=found,
    )


def _answerable(packs: Mapping[str, Pack], places: Places, day: date) -> None:
    for pack in packs.values():
        named = pack.place in places or pack.place in {country_of(each) for each in places if each}
        if named and pack.first_day is not None and day < pack.first_day:
            raise DayError(
                f"the law of {pack.place} is known here from {pack.first_day}, not on {day}",
                advice="ask for a later day",
            )


def _open(
    places: Places, found: discovery.Discovery, day: date, decision: str
) -> tuple[Coverage, Mapping[str, Pack], Compiled]:
    ties = []
    chains: dict[Tie, list[str]] = {}
    for tie, place in zip((Tie.REGISTERED_IN, Tie.USED_IN, Tie.WORKSHOP), places, strict=True):
        names, covered, note = chain(place, found, day)
        chains[tie] = names
        ties.append(TieCoverage(tie=tie, place=place, packs=tuple(names), covered=covered, note=note))
    packs = {name: discovery.pack(name, found) for names in chains.values() for name in names}
    _answerable(packs, places, day)
    chosen = [
        (rule, pack)
        for name, pack in packs.items()
        for rule in pack.rules.values()
        if name in chains[rule.tie]
    ]
    opened = open_rules(chosen, packs.values(), day, decision)
    if decision == "guarded" and not any(each.guarded for each in opened):
        raise DecisionUnavailableError(
            "guarded decisions are not available: no rule in force declares the uncertainty of its reading",
            advice="use decision='simple'",
        )
    return Coverage(tuple(ties)), MappingProxyType(packs), compile_rules(opened)
