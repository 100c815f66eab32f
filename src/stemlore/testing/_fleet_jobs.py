"""Rows of an invented fleet as jobs for the counter; on purpose not by the audit's own reader of tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from stemlore.model import (
    FIELDS,
    Assembly,
    Axle,
    Condition,
    Event,
    FieldSpec,
    Job,
    MakerInstruction,
    Position,
    Sensor,
    Tyre,
    Valve,
    Vehicle,
    Wheel,
    Work,
    from_stored,
)
from stemlore.notation import DateSpan, RimSize, TyreIdentificationNumber, TyreSize, ValveCode
from stemlore.rules import Rulebook, check

__all__ = ["KEYS", "LAW", "Row", "failing", "job_of_rows", "place_words", "spec_of"]

Row = dict[str, Any]
"""A wheel of the fleet: values by column."""
KEYS = ("vehicle_id", "axle_number", "side", "place", "vehicle_axle_count")
"""Columns that say where a row stands."""
LAW = ("law_place", "law_day")
"""Columns that say by whose law a row is judged, where a fleet stands in several places."""
_NOT_READ = frozenset({*KEYS, *LAW})
_WHEEL: Mapping[str, Any] = {
    "tyre": Tyre, "wheel": Wheel, "valve": Valve, "sensor": Sensor, "condition": Condition, "work": Work,
}  # fmt: skip
_DESIGNATIONS: Mapping[str, Any] = {
    "tyre.size": TyreSize,
    "tyre.identification_number": TyreIdentificationNumber,
    "wheel.rim": RimSize,
    "valve.code": ValveCode,
}


@lru_cache(maxsize=4096)
def spec_of(column: str) -> FieldSpec:
    """Return the field of a column that is no key."""
    for spec in FIELDS.values():  # packs declare fields as they are opened, so nothing is kept of all
        if spec.column == column and spec.level != "none":
            return spec
    raise KeyError(column)


@lru_cache(maxsize=4096)
def _designation(path: str, text: str) -> Any:
    return _DESIGNATIONS[path].parse(text)


@lru_cache(maxsize=8192)
def _day(day: date) -> DateSpan:
    return DateSpan(day, day)


@lru_cache(maxsize=4096)
def _target(column: str) -> tuple[str, str, str, str]:
    """Return record, field, how it is read, and path or unit of a column."""
    spec = spec_of(column)
    record, _, name = spec.path.partition(".")
    if record == "own":
        record = f"own {spec.level}"
        if spec.kind == "number":
            return record, name, "own number", str(spec.unit)
    return record, name, spec.kind, spec.path


def _parts(row: Row) -> dict[str, dict[str, Any]]:
    """Return what a row tells, by record and field."""
    parts: dict[str, dict[str, Any]] = {}
    for column, value in row.items():
        if value is None or column in _NOT_READ:
            continue
        record, name, kind, detail = _target(column)
        if kind == "date":
            value = _day(value)
        elif kind == "notation":
            value = _designation(detail, value)
        elif kind == "own number":
            value = f"{value} {detail}"
        found = parts.get(record)
        if found is None:
            found = parts[record] = {}
        found[name] = value
    return parts


def place_words(row: Row) -> str:
    """Return the place of a wheel as findings print it."""
    twin = f" {row['place']}" if row["place"] in ("inner", "outer") else ""
    return f"axle {row['axle_number']} {row['side']}{twin}"


def job_of_rows(rows: Sequence[Row]) -> Job:
    """Return the job of a vehicle's rows.

    Raises
    ------
    RecordError
        If readings contradict each other.
    """
    told = [_parts(row) for row in rows]
    first = told[0]
    axles: dict[int, dict[str, Any]] = {}
    makers: dict[tuple[Any, ...], list[Position]] = {}
    assemblies = []
    for row, parts in zip(rows, told, strict=True):
        position = Position(row["axle_number"], row["side"], row["place"])
        axles.setdefault(row["axle_number"], parts.get("axle", {}))
        if maker := parts.get("maker"):
            makers.setdefault(tuple(maker.items()), []).append(position)
        records = {name: from_stored(of, parts[name]) for name, of in _WHEEL.items() if name in parts}
        own = {name: _given(value) for name, value in parts.get("own position", {}).items()}
        assemblies.append(Assembly(position=position, own=own, **records))
    stated = tuple(from_stored(Axle, {**about, "number": number}) for number, about in sorted(axles.items()))
    return Job(
        vehicle=from_stored(Vehicle, {**first.get("vehicle", {}), "axles": stated}),
        assemblies=tuple(assemblies),
        event=from_stored(Event, first.get("event", {})),
        makers=tuple(
            from_stored(MakerInstruction, {"source": "manual", **dict(items), "positions": tuple(places)})
            for items, places in makers.items()
        ),
        own={name: _given(value) for name, value in first.get("own vehicle", {}).items()},
    )


def _given(value: Any) -> Any:
    """Return a value of an own field as a job gives it."""
    return str(value) if isinstance(value, DateSpan) else value


def failing(rows: Sequence[Row], book: Rulebook) -> list[tuple[int, str, str]]:
    """Return what the counter says fails of a vehicle: index of the row, subject in words, rule.

    Findings of an axle, a pair or the vehicle stand at its first row.
    """
    report = check(job_of_rows(rows), book)
    if report.faults:
        raise RuntimeError(f"a rule broke on an invented vehicle: {report.faults[0]}")
    found = []
    for each in report.failing:
        about = each.subject
        index = 0
        for at, row in enumerate(rows):
            if about.kind == "position":
                here = place_words(row) == str(about)
            elif about.kind == "pair":
                here = (row["axle_number"], row["side"]) == (about.axle, about.side)
            else:
                here = about.axle is None or row["axle_number"] == about.axle
            if here:
                index = at
                break
        found.append((index, str(about), each.rule))
    return sorted(found)
