"""Strategies for single readings and for records of them, made from what each field says of itself."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any, TypeVar, cast

import attrs
from hypothesis import strategies as st

from stemlore.errors import UnknownFieldError
from stemlore.model import FIELDS, FieldSpec, Position, change, field_spec, from_stored, specs_of
from stemlore.model._record import read_field
from stemlore.notation import DateSpan, RimSize, TyreIdentificationNumber, TyreSize, ValveCode
from stemlore.rules import Rulebook
from stemlore.testing import _designations as designations
from stemlore.testing._limits import NO_LIMITS, Limits, limits_of
from stemlore.testing._pools import pooled
from stemlore.units import DIMENSIONLESS, measure, settle

__all__ = ["limits_in", "own_values", "readings", "records"]

T = TypeVar("T")

# how far readings of a workshop go, by unit of the field
_RANGES = {
    "mm": (0, 60), "kPa": (0, 1000), "degC": (-40, 90), "kg": (0, 40_000), "km/h": (0, 300), "N.m": (0, 700),
    "MHz": (300, 450), "year": (0, 20), "km": (0, 300_000), "deg": (0, 90),
}  # fmt: skip
_NARROWER = {"tread_depth": (0, 10), "valve_hole": (7, 17), "thickness": (0, 15), "battery_age": (0, 12)}
"""The same where the name of the field begins so."""
_ODD = (None, math.nan, math.inf, -math.inf, 0.0, -0.0, -1.0, -273.2, 1e-6, 1e9, 1e15, 1e300)
_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 -/.,äß"

_NOTATIONS: Mapping[type[Any], Callable[[], st.SearchStrategy[Any]]] = {
    TyreSize: designations.tyre_sizes,
    RimSize: designations.rim_sizes,
    ValveCode: designations.valve_codes,
    TyreIdentificationNumber: designations.tyre_numbers,
    Position: designations.positions,
}


@lru_cache(maxsize=64)
def limits_in(book: Rulebook | None) -> Limits:
    """Return the limits of a rulebook; none without one."""
    return NO_LIMITS if book is None else limits_of(book)


def readings(
    path: str,
    *,
    min_value: Any = None,
    max_value: Any = None,
    messy: bool = False,
    book: Rulebook | None = None,
) -> st.SearchStrategy[Any]:
    """Return a strategy of readings of one field, as they are stored.

    Parameters
    ----------
    path : str
        Such as ``tyre.pressure``.
    min_value, max_value : str, number or date, optional
        Bounds: text with a unit or a number in the field's unit, a date for a date.
    messy : bool
        Whether it may be missing, not finite, negative, or past all measure.
    book : Rulebook, optional
        Its limits are drawn often, as is what lies one step beside them.

    Raises
    ------
    UnknownFieldError
        With the nearest names.
    """
    ways = _ways(field_spec(path), limits_in(book), messy, min_value, max_value)
    return st.one_of([st.none(), *ways] if messy else ways)


Ways = Sequence[st.SearchStrategy[Any]]
"""Strategies of one field, each as often as it shall be drawn."""


def _ways(spec: FieldSpec, limits: Limits, messy: bool = False, low: Any = None, high: Any = None) -> Ways:
    match spec.kind:
        case "number":
            return _numbers(spec, limits, messy, low, high)
        case "integer":
            return _integers(spec, limits, low, high)
        case "date":
            return _dates(spec, limits, low, high)
        case "flag" | "word":
            return [st.sampled_from(_options(spec))]
        case "text":
            return [_texts(spec)]
        case "notation":
            return [_NOTATIONS[cast(Any, spec.holds)]()]
        case "records" if spec.holds in _NOTATIONS:
            return [st.lists(_NOTATIONS[cast(Any, spec.holds)](), max_size=2, unique=True).map(tuple)]
    raise UnknownFieldError(spec.path, [path for path, each in FIELDS.items() if each.kind != "record"])


def _options(spec: FieldSpec) -> tuple[Any, ...]:
    return (False, True) if spec.kind == "flag" else spec.words if spec.kind == "word" else ()


def _numbers(spec: FieldSpec, limits: Limits, messy: bool, low: Any, high: Any) -> Ways:
    stored = spec.unit or DIMENSIONLESS
    narrower = next((ends for start, ends in _NARROWER.items() if spec.name.startswith(start)), None)
    usual_low, usual_high = narrower or _RANGES.get(stored.symbol, (0, 1000))
    least = -math.inf if spec.least is None else spec.least
    first = max(float(usual_low), least) if low is None else cast(float, _bound(low, spec))
    last = float(usual_high) if high is None else cast(float, _bound(high, spec))
    last = max(first, last) if high is None else last
    lowest = math.ceil(first * 10 - 1e-6)
    tenths = st.integers(lowest, max(math.floor(last * 10 + 1e-6), lowest))
    usual = tenths.map(lambda tenth: min(max(settle(tenth / 10), first), last))
    near = [value for value in limits.near(spec) if first <= value and (high is None or value <= last)]
    mixed = [usual, st.sampled_from(near)] if near else [usual]
    return [*mixed, *mixed, st.sampled_from(_ODD)] if messy else mixed


def _bound(bound: Any, spec: FieldSpec) -> float | None:
    """Return a bound in the unit of its field."""
    if isinstance(bound, (int, float)) and not isinstance(bound, bool):
        return float(bound)
    return measure(bound, spec.unit or DIMENSIONLESS)


def _integers(spec: FieldSpec, limits: Limits, low: Any, high: Any) -> Ways:
    if spec.name.startswith("load_index"):
        first, last = 0 if low is None else low, 279 if high is None else high
        usual = designations.load_indices(min_value=first, max_value=last)
    else:
        first = int(spec.least or 0) if low is None else low
        last = first + 8 if high is None else high
        usual = st.integers(first, last)
    near = [int(value) for value in limits.near(spec) if value.is_integer() and first <= value <= last]
    return [usual, st.sampled_from(near)] if near else [usual]


def _dates(spec: FieldSpec, limits: Limits, low: date | None, high: date | None) -> Ways:
    bounds = {name: day for name, day in (("min_value", low), ("max_value", high)) if day is not None}
    # the visit is on one day
    usual = designations.date_spans(**bounds, max_days=1 if spec.path == "event.on" else 3653)
    near = [
        DateSpan.day(day)
        for day in limits.days_near(spec.path)
        if (low is None or low <= day) and (high is None or day <= high)
    ]
    return [usual, st.sampled_from(near)] if near else [usual]


def _texts(spec: FieldSpec) -> st.SearchStrategy[str]:
    if spec.name.endswith("table_code"):
        return designations.valve_codes().map(lambda code: code.table_key)
    if spec.name == "size_designation":
        return designations.tyre_sizes(service=False).map(str)
    return st.text(_LETTERS, min_size=1, max_size=12).map(str.strip).filter(bool)


# --- records ---------------------------------------------------------------------------------


@attrs.frozen(eq=False)
class _Free:
    """A field that may be left out, with as few choices as can be: many make shrinking slow."""

    options: tuple[Any, ...]
    ways: Ways
    lots: st.SearchStrategy[int]

    @classmethod
    def of(cls, spec: FieldSpec, messy: bool, limits: Limits) -> _Free:
        """Return a field with its ways; a lot of nought leaves it out."""
        options = _options(spec)
        near = [DateSpan.day(day) for day in limits.days_near(spec.path)]
        ways: list[st.SearchStrategy[Any]] = [] if options else pooled(spec)
        if ways and near:
            ways.append(st.sampled_from(near))
        if not options and not ways:
            ways = list(_ways(spec, limits, messy))
        return cls(options, ways, st.integers(0, _TIMES * len(options or ways)))

    def draw(self, draw: st.DrawFn, dense: bool) -> Any:
        """Draw a value, or absence."""
        lot = draw(self.lots)
        count = len(self.options or self.ways)
        if lot <= (0 if dense else _TIMES // 2 * count):
            return _ABSENT
        index = (lot - 1) % count
        return self.options[index] if self.options else draw(self.ways[index])


_TIMES = 8
_ABSENT = object()


@lru_cache(maxsize=64)
def _free_fields(cls: type[Any], messy: bool, limits: Limits) -> Mapping[str, _Free]:
    """Return each field of a record that may stand alone or be left out."""
    return {
        name: _Free.of(spec, messy, limits)
        for name, spec in specs_of(cls).items()
        if spec.kind not in ("record", "own") and (spec.kind != "records" or spec.holds in _NOTATIONS)
    }


def records(
    cls: type[T],
    *,
    messy: bool = False,
    book: Rulebook | None = None,
    without: tuple[str, ...] = (),
    needed: Mapping[str, st.SearchStrategy[Any]] | None = None,
    settled: Callable[[dict[str, Any]], dict[str, Any]] = dict,
    fields: Mapping[str, Any],
) -> st.SearchStrategy[T]:
    """Return a strategy of one kind of record.

    Parameters
    ----------
    cls : type
        The record's class.
    without : tuple of str
        Fields that are never drawn.
    needed : mapping
        Fields that are always drawn.
    settled : callable
        Alters the stored values before the record is made of them.
    fields : mapping
        Values that every record must have, or strategies of them, as the
        constructor takes them: ``pressure="2.5 bar"``.
    """
    specs = specs_of(cls)
    for name in fields:
        if name not in specs:
            raise UnknownFieldError(name, specs)
    given = {
        name: value if isinstance(value, st.SearchStrategy) else st.just(value)
        for name, value in fields.items()
    }
    taken = (*without, *given, *(needed or ()))
    fields_ = _free_fields(cast(Any, cls), messy, limits_in(book))
    free = {name: field for name, field in fields_.items() if name not in taken}
    always = {name: strategy for name, strategy in (needed or {}).items() if name not in given}
    told = st.fixed_dictionaries(given)

    @st.composite
    def drawn(draw: st.DrawFn) -> T:  # what it draws from is not among its arguments: they would be printed
        first = {name: draw(strategy) for name, strategy in always.items()}
        dense = draw(st.booleans())  # rules want several readings at once
        for name, field in free.items():
            if (value := field.draw(draw, dense)) is not _ABSENT:
                first[name] = value
        first = settled(_agreeing(cls, first))
        if not given:
            return from_stored(cls, first)
        second = draw(told)
        read = {name: read_field(cls, name, second[name]) for name in _needed(cls) if name in second}
        return change(from_stored(cls, {**first, **read}), **second)

    return drawn()


def _needed(cls: type[Any]) -> tuple[str, ...]:
    return cast(tuple[str, ...], cls.__stemlore_needed__)


def _agreeing(cls: type[Any], values: dict[str, Any]) -> dict[str, Any]:
    """Leave out what follows from another field that is given."""
    for source, targets in getattr(cls, "_derived", {}).items():
        if values.get(source) is not None:
            follows = from_stored(cls, {source: values[source]})
            values = {
                name: value
                for name, value in values.items()
                if name not in targets or getattr(follows, name) is None
            }
    return values


# --- fields of packs -------------------------------------------------------------------------


def own_values(packs: tuple[str, ...], level: str) -> st.SearchStrategy[dict[str, Any]]:
    """Return a strategy of the ``own`` of a job or assembly: what these packs have declared."""
    specs = [
        spec
        for path, spec in sorted(FIELDS.items())
        if path.startswith(tuple(f"own.{pack}." for pack in packs)) and spec.level == level
    ]
    return st.fixed_dictionaries({}, optional={spec.path.removeprefix("own."): _told(spec) for spec in specs})


def _told(spec: FieldSpec) -> st.SearchStrategy[Any]:
    stored = st.one_of(_ways(spec, NO_LIMITS))
    if spec.kind == "number":
        return stored.map(lambda number: f"{number!r} {spec.unit}")
    return stored.map(str) if spec.kind == "date" else stored
