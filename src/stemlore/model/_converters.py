"""What each kind of field takes, as functions that also stand alone.

On the fields they tell type checkers what callers may write; when a record is
made, its fields are read by the record itself, with bounds and all faults at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, cast

from stemlore.model._readers import reader_of
from stemlore.model._spec import FieldSpec, Quantity
from stemlore.model.position import Position
from stemlore.notation import DateSpan, RimSize, TyreIdentificationNumber, TyreSize, ValveCode
from stemlore.units import measure, unit

__all__ = [
    "to_date",
    "to_deg",
    "to_deg_c",
    "to_identification_number",
    "to_kg",
    "to_km",
    "to_km_h",
    "to_kpa",
    "to_mhz",
    "to_mm",
    "to_nm",
    "to_own",
    "to_position",
    "to_rim_size",
    "to_tyre_size",
    "to_valve_code",
    "to_years",
]

_READ_DATE = reader_of(FieldSpec(path="date", level="none", kind="date", meaning="date"))
_READ_OWN = reader_of(FieldSpec(path="own", level="none", kind="own", meaning="fields of packs"))


def _measured(value: Quantity | None, symbol: str) -> float | None:
    return None if value is None else measure(value, unit(symbol))


def to_mm(value: Quantity | None) -> float | None:
    """Return a length in millimetres."""
    return _measured(value, "mm")


def to_kpa(value: Quantity | None) -> float | None:
    """Return a pressure in kilopascals."""
    return _measured(value, "kPa")


def to_kg(value: Quantity | None) -> float | None:
    """Return a mass in kilograms."""
    return _measured(value, "kg")


def to_km(value: Quantity | None) -> float | None:
    """Return a distance in kilometres."""
    return _measured(value, "km")


def to_km_h(value: Quantity | None) -> float | None:
    """Return a speed in kilometres per hour."""
    return _measured(value, "km/h")


def to_deg_c(value: Quantity | None) -> float | None:
    """Return a temperature in degrees Celsius."""
    return _measured(value, "degC")


def to_deg(value: Quantity | None) -> float | None:
    """Return an angle in degrees."""
    return _measured(value, "deg")


def to_years(value: Quantity | None) -> float | None:
    """Return calendar time in years."""
    return _measured(value, "year")


def to_mhz(value: Quantity | None) -> float | None:
    """Return a frequency in megahertz."""
    return _measured(value, "MHz")


def to_nm(value: Quantity | None) -> float | None:
    """Return a torque in newton metres."""
    return _measured(value, "N.m")


def to_date(value: DateSpan | date | str | None) -> DateSpan | None:
    """Return the span of days that a date, week, month or year is."""
    return None if value is None else cast(DateSpan, _READ_DATE(value))


def to_position(value: Position | str) -> Position:
    """Return a position on the vehicle."""
    return value if isinstance(value, Position) else Position.parse(value)


def to_tyre_size(value: TyreSize | str | None) -> TyreSize | None:
    """Return a tyre size."""
    return TyreSize.parse(value) if isinstance(value, str) else value


def to_rim_size(value: RimSize | str | None) -> RimSize | None:
    """Return a rim size."""
    return RimSize.parse(value) if isinstance(value, str) else value


def to_valve_code(value: ValveCode | str | None) -> ValveCode | None:
    """Return a valve's code."""
    return ValveCode.parse(value) if isinstance(value, str) else value


def to_identification_number(value: TyreIdentificationNumber | str | None) -> TyreIdentificationNumber | None:
    """Return a tyre identification number."""
    return TyreIdentificationNumber.parse(value) if isinstance(value, str) else value


def to_own(value: Mapping[str, Any] | None) -> Mapping[str, Any]:
    """Return the fields of packs, read-only."""
    return cast(Mapping[str, Any], _READ_OWN({} if value is None else value))
