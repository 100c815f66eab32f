"""From plain values to records, by the specification of their fields."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from math import floor, inf
from typing import Any

from stemlore.errors import BareNumberError, Fault, StemloreError, near_misses
from stemlore.model import Position, specs_of
from stemlore.model._readers import faults_of, reader_of, stored_reader_of
from stemlore.model._record import adopted, nothing_derived
from stemlore.model._spec import FieldSpec

__all__ = ["BAD", "Reading", "Slots", "place_of"]

BAD: Any = object()
"""Stands for a record that cannot be made; its faults are noted."""

_REMEMBERED = 512  # texts a field

_Read = Callable[[Any], Any]
_Nested = Callable[["Reading", Any, str], Any]


def place_of(path: str, key: str) -> str:
    """Return the path of a key under a path."""
    return f"{path}.{key}" if path else key


class Reading:
    """One document being read: faults so far, and how many pairs were seen."""

    __slots__ = ("faults", "owned", "pairs", "positions")

    def __init__(self, *, owned: bool = True) -> None:
        self.faults: list[Fault] = []
        self.owned = owned  # whether nobody else can alter what is read
        self.pairs = 0
        self.positions: dict[int, Position] = {}

    def note(self, path: str, error: StemloreError) -> None:
        """Note what an error tells, at a path."""
        self.faults += faults_of(path, error)

    def values(self, slots: Slots, source: Any, path: str) -> dict[str, Any] | None:
        """Read the fields of one record; None and a fault if there is no object.

        Fields that are not given have their default; BAD stands for what
        cannot be read.
        """
        if type(source) is not dict and not isinstance(source, Mapping):
            self.faults.append(
                Fault(path, f"{_short(source)} is not an object", "put its fields between { and }")
            )
            return None
        self.pairs += len(source)
        values = slots.defaults.copy()
        by_key = slots.by_key
        for key, value in source.items():
            try:
                name, read, nested, other, least = by_key[key]
            except KeyError:
                self.faults.append(slots.unknown(path, key))
                continue
            if type(value) is float and -1e9 < value < 1e9:
                # most of a document; what its reader does is written out, for a call costs more than the rest
                number = floor(value * 1e6 + 0.5) / 1e6
                if number >= least and values[name] is None:
                    values[name] = number
                    continue
            if value is None:
                continue
            if other is not None and values[name] is not None:
                advice = f"keep {key} or {other}"
                self.faults.append(Fault(place_of(path, key), f"{other} gives the same reading", advice))
            elif nested is not None:
                values[name] = nested(self, value, f"{path}.{key}" if path else key)
            else:
                try:
                    values[name] = read(value)
                except (StemloreError, TypeError) as error:  # TypeError: a list or an object has no hash
                    values[name] = BAD
                    self.faults += slots.refused(key, value, error, path)
        for name in slots.needed:
            if values[name] is None:
                self.faults.append(Fault(place_of(path, name), "must be given", slots.how(name)))
        return values

    def record(self, slots: Slots, source: Any, path: str) -> Any:
        """Read one record; BAD if it cannot be made."""
        before = len(self.faults)
        values = self.values(slots, source, path)
        if values is None or len(self.faults) != before:
            return BAD
        return self.made(slots, values, path, source)

    def made(self, slots: Slots, values: dict[str, Any], path: str, source: Any) -> Any:
        """Make the record of values that were read; BAD if they contradict one another."""
        if slots.derive is not None and (faults := slots.derive(values)):
            self.faults += [fault.under(path) for fault in faults]
            return BAD
        values["_given"] = source if self.owned else dict(source)
        return adopted(slots.cls, values)

    def listed(self, read: Callable[[Reading, Any, str], Any], source: Any, path: str) -> tuple[Any, ...]:
        """Read a list of records, with BAD for those that cannot be made."""
        if not isinstance(source, (list, tuple)):
            self.faults.append(
                Fault(path, f"{_short(source)} is not a list", "put it between [ and ], even if alone")
            )
            return ()
        return tuple([read(self, item, f"{path}[{index}]") for index, item in enumerate(source)])


def _short(value: Any) -> str:
    if isinstance(value, (str, int, float)):
        return repr(value) if len(repr(value)) < 60 else "text"
    return "a list" if isinstance(value, (list, tuple)) else f"a {type(value).__name__}"


class Slots:
    """Under which keys the fields of a record class are given, and how each is read."""

    __slots__ = ("by_key", "cls", "defaults", "derive", "needed")

    def __init__(self, cls: type[Any], **nested: _Nested) -> None:
        self.cls = cls
        self.needed: tuple[str, ...] = cls.__stemlore_needed__
        self.defaults: dict[str, Any] = cls.__stemlore_defaults__
        derive: Callable[[dict[str, Any]], list[Fault]] = cls.__stemlore_derive__
        self.derive = None if derive is nothing_derived else derive
        # field, its reader, reader of nested records, the other key of the same field, least plain number
        self.by_key: dict[str, tuple[str, _Read, _Nested | None, str | None, float]] = {}
        for name, spec in specs_of(cls).items():
            wire = spec.wire_number or None
            self.by_key[name] = (name, _reader(spec), nested.get(name), wire, inf)
            if wire:
                least = -inf if spec.least is None else spec.least
                self.by_key[wire] = (name, stored_reader_of(spec), None, name, least)

    def unknown(self, path: str, key: object) -> Fault:
        """Return the fault of a key that no field has."""
        near = near_misses(str(key), self.by_key)
        advice = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(self.by_key)}"
        return Fault(place_of(path, str(key)[:60]), "unknown field", advice)

    def refused(self, key: str, value: Any, error: Exception, path: str) -> list[Fault]:
        """Return what is wrong with a value that its reader refused."""
        spec = specs_of(self.cls)[self.by_key[key][0]]
        if not isinstance(error, StemloreError):
            try:
                reader_of(spec)(value)  # without the memo, which cannot take it
            except StemloreError as told:
                error = told
            else:
                raise error
        if isinstance(error, BareNumberError):
            number = value if isinstance(value, (int, float)) else str(value).strip()
            advice = f"write '{number} {spec.unit}', or use {spec.wire_number} if it is in {spec.unit}"
            return [Fault(place_of(path, key), error.message, advice)]
        return faults_of(place_of(path, key), error)

    def how(self, name: str) -> str:
        """Return how the reading of a field is taken."""
        return specs_of(self.cls)[name].how


def _reader(spec: FieldSpec) -> _Read:
    read = reader_of(spec)
    if spec.kind == "integer":
        # JSON has one kind of number: 91.0 is 91
        return lambda value: read(int(value) if type(value) is float and value.is_integer() else value)
    # only text is accepted for these, so that the memo cannot take 1 for true
    return (
        lru_cache(maxsize=_REMEMBERED)(read) if spec.kind in ("number", "word", "date", "notation") else read
    )
