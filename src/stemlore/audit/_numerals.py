"""Numbers in a table's cells: marks of decimals and thousands, fractions, and what is too great to be."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, cast

from stemlore.audit.mapping import ColumnMap
from stemlore.errors import BareNumberError, UnitError
from stemlore.model import FieldSpec
from stemlore.units import Unit, factor_between, measure

__all__ = ["DEFAULT_MOST", "MOST", "CellError", "beyond", "converted", "integer", "most_of", "number"]

DEFAULT_MOST: Mapping[str, float] = MappingProxyType(
    {
        "mm": 1000.0,  # no part of a wheel or valve is a metre long
        "kPa": 2000.0,  # the highest cold pressure a valve is rated for lies at 1400
        "degC": 1000.0,
        "MHz": 10_000.0,  # sensors send at 315, 433 or 2400
        "km/h": 1000.0,
        "kg": 1_000_000.0,  # the heaviest lorries of mines weigh about 600 t laden
        "year": 200.0,
    }
)
"""The most that a field in a unit can hold; generous, so that no true reading is refused.

Custom, not law: meant to catch a wrong unit, a lost mark or a slipped key.
"""
_TREAD_MOST = 100.0  # tyres of earthmovers come near it, no others do
MOST: Mapping[str, float] = MappingProxyType(
    {
        "tyre.tread_depth_main_grooves": _TREAD_MOST,
        "tyre.tread_depth_whole_tread": _TREAD_MOST,
        "tyre.tread_depth_two_adjacent_grooves": _TREAD_MOST,
        "tyre.tread_depth_at_wear_bar": _TREAD_MOST,
        "tyre.stud_protrusion": _TREAD_MOST,
        "tyre.outer_diameter": 6000.0,  # the greatest tyres of earthmovers stand about 4 m high
        "condition.cut_length": 20_000.0,  # no longer than a tyre is round
        "work.restraint_rating": math.inf,  # what a cage withstands is no pressure of a tyre
    }
)
"""The most that single fields can hold, where it is not that of their unit."""

_PLAIN = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?")
_FRACTION = re.compile(r"[+-]?(?:\d+ )?\d+/\d+")
# the figures at the start of a cell, with all marks in and behind them
_MARKED = re.compile(r"[+-]?\d[\d.,]*")
# what may be thousands: a number that begins with nought is none
_GROUPS = re.compile(r"[+-]?[1-9]\d{0,2}(?:[.,]\d{3})+")
# thousands parted by a space or a stroke; not one and a fraction
_SPACED = re.compile(r"[+-]?\d{1,3}(?:[ \u00a0\u202f'\u2019]\d{3})+(?![\d/])")
_WHOLE = re.compile(r"[+-]?\d+")
_SAY = "say decimal in the mapping"


class CellError(Exception):
    """A cell cannot be read."""

    def __init__(self, message: str, kind: str = "unreadable") -> None:
        super().__init__(message)
        self.kind = kind


def most_of(spec: FieldSpec) -> float | None:
    """Return the most that a field can hold; None where nobody can say."""
    most = MOST.get(spec.path, None if spec.unit is None else DEFAULT_MOST.get(spec.unit.symbol))
    return None if most is None or spec.path.startswith("own.") or math.isinf(most) else most


def beyond(spec: FieldSpec, *, above: bool) -> str:
    """Say that a value lies below the least or above the most that a field can hold."""
    if not above:
        return f"below {spec.least:g} {spec.unit}"
    return f"above {most_of(spec):.7g} {spec.unit}, the most there can be: check the reading and its unit"


def converted(of: Any, given: Unit, wanted: Unit) -> Any:
    """Turn a number or a column into another unit by the steps of ``units.convert()``, to the last bit."""
    if given is wanted:
        return of
    factor = factor_between(given, wanted)
    if given.offset or wanted.offset:
        return (of + given.offset) * factor - wanted.offset
    return of * factor


def number(text: str, told: ColumnMap, spec: FieldSpec, decimal: str) -> float:
    """Read a number with the unit that stands behind it, or with that of the column.

    Parameters
    ----------
    text : str
        The cell, no space around it.
    told : ColumnMap
        What the column is.
    spec : FieldSpec
        The field.
    decimal : str
        The mark before decimals in this table; empty where the mapping does not say.
    """
    wanted = cast(Unit, spec.unit)
    if spaced := _SPACED.match(text):
        if not decimal:
            raise CellError(f"{spaced[0]} has a gap in its figures: write it without, or {_SAY}")
        text = re.sub(r"[^\d+-]", "", spaced[0]) + text[spaced.end() :]
    plain = _settled(text, decimal) if decimal else text
    value = _value(plain, told, wanted, text)
    if not decimal and (found := _MARKED.match(text)) and _GROUPS.fullmatch(found[0]):
        bare = re.sub("[.,]", "", found[0])
        most = most_of(spec)
        thousands = _value(bare + text[found.end() :], told, wanted, text)
        if value is None or most is None or thousands is None or abs(thousands) <= most:
            raise _in_doubt(found[0])
    if value is None:
        found = _MARKED.match(text)
        if not decimal and found and len(re.findall("[.,]", found[0])) > 1:
            raise _in_doubt(found[0])
        raise _no_quantity(text, told, wanted)
    if not math.isfinite(value):
        raise CellError("not finite", "impossible")
    if spec.least is not None and value < spec.least:
        raise CellError(beyond(spec, above=False), "impossible")
    if (most := most_of(spec)) is not None and value > most:
        raise CellError(beyond(spec, above=True), "impossible")
    return value


def integer(text: str, spec: FieldSpec) -> int:
    """Read a whole number."""
    if not _WHOLE.fullmatch(text):
        raise CellError("a whole number is needed")
    made = int(text)
    if spec.least is not None and made < spec.least:
        raise CellError(f"below {spec.least:g}", "impossible")
    return made


def _in_doubt(figures: str) -> CellError:
    bare = re.sub("[.,]", "", figures)
    how = f"write it without a mark, or {_SAY}"
    if len(re.findall("[.,]", figures)) > 1:
        return CellError(f"{figures} has more than one mark: {how}")
    return CellError(f"{figures} may be {bare} or {float(figures.replace(',', '.')):g}: {how}")


def _settled(text: str, decimal: str) -> str:
    """Return a cell without marks of thousands, its decimals behind a point."""
    found = _MARKED.match(text)
    if found is None:
        return text
    other = "." if decimal == "," else ","
    whole, mark, decimals = found[0].partition(decimal)
    groups = whole.split(other)
    if len(groups) > 1:
        head = groups[0].lstrip("+-")
        if not 1 <= len(head) <= 3 or any(len(group) != 3 for group in groups[1:]):
            why = f"the mapping says that {other} parts thousands, in groups of three"
            raise CellError(f"{found[0]} is no number: {why}")
    if other in decimals or decimal in decimals:
        raise CellError(f"{found[0]} is no number: the mapping says that {decimal} stands before decimals")
    return "".join(groups) + ("." if mark else "") + decimals + text[found.end() :]


def _value(text: str, told: ColumnMap, wanted: Unit, shown: str) -> float | None:
    """Return a number in the unit of the field; None if the text is none."""
    if _PLAIN.fullmatch(text):
        if told.unit is None:
            raise CellError(f"a number without a unit; write it as '{shown} {wanted}', or map the unit")
        return cast(float, converted(float(text.replace(",", ".")), told.unit, wanted))
    if _FRACTION.fullmatch(text):
        if told.unit is None:
            example = "in" if wanted.symbol == "mm" else wanted
            raise CellError(f"a number without a unit; write it as '{shown} {example}', or map the unit")
        text = f"{text} {told.unit.symbol}"
    try:
        return measure(text, wanted)
    except (BareNumberError, UnitError) as error:
        if "2.5 bar" in error.advice:  # the example is of a pressure
            return None
        raise


def _no_quantity(text: str, told: ColumnMap, wanted: Unit) -> CellError:
    shown = wanted if told.unit is None else told.unit
    return CellError(f"{text[:60]!r} is not a quantity; write a number and a unit, such as '2.5 {shown}'")
