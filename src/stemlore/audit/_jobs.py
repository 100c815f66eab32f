"""Rows made into jobs again: for rules that no column can say, and to show a vehicle as the counter would."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from math import isfinite
from typing import Any

from stemlore.audit._polars import pl
from stemlore.audit.mapping import KEYS
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
)
from stemlore.model._converters import to_own
from stemlore.model._record import adopted, from_stored, read_field
from stemlore.notation import DateSpan

__all__ = ["jobs_of"]

_RECORDS: Mapping[str, Any] = {
    "vehicle": Vehicle, "event": Event, "axle": Axle, "maker": MakerInstruction, "tyre": Tyre,
    "wheel": Wheel, "valve": Valve, "sensor": Sensor, "condition": Condition, "work": Work,
}  # fmt: skip
_OF_WHEEL = ("tyre", "wheel", "valve", "sensor", "condition", "work")
Row = Mapping[str, Any]


def jobs_of(frame: pl.DataFrame) -> Iterator[tuple[Any, Job]]:
    """Yield each vehicle of a frame as a job, with its number, in order.

    Parameters
    ----------
    frame : DataFrame
        As :func:`stemlore.audit.frame_of` makes it; rows that stand for wheels
        not told of, and those without a place on the vehicle, make no assembly.
    """
    found = _Columns(tuple(frame.columns))
    vehicles: dict[Any, list[Row]] = defaultdict(list)
    for row in frame.select(found.names).iter_rows(named=True):
        vehicles[row["vehicle_id"]].append(row)
    for number, rows in vehicles.items():
        yield number, found.job(rows)


@lru_cache(maxsize=64)
class _Columns:
    """The columns of a frame that make up records, by record."""

    def __init__(self, columns: tuple[str, ...]) -> None:
        there = set(columns)
        self.fields: dict[str, list[tuple[FieldSpec, str, str, str]]] = defaultdict(list)
        self.own: list[tuple[FieldSpec, str]] = []
        names = [name for name in KEYS if name in there]
        for spec in list(FIELDS.values()):
            if spec.level == "none" or spec.kind in ("record", "records", "own"):
                continue
            ends = [name for name in (f"{spec.column}_earliest", f"{spec.column}_latest") if name in there]
            if spec.kind == "date" and len(ends) == 2:
                first, last = ends
            elif spec.column in there and spec.column not in KEYS:
                first = last = spec.column
            else:
                continue
            prefix, _, name = spec.path.partition(".")
            names += [first] if first == last else [first, last]
            if prefix == "own":
                self.own.append((spec, first))
            elif prefix in _RECORDS:
                self.fields[prefix].append((spec, name, first, last))
        self.names = list(dict.fromkeys(names))

    def job(self, rows: Sequence[Row]) -> Job:
        """Return the job of one vehicle's rows."""
        whole: dict[str, Any] = {}
        for row in rows:  # what one row says of the vehicle holds for all
            whole.update({name: value for name, value in row.items() if value is not None})
        places: dict[Position, Row] = {}
        for row in rows:  # of a wheel in several rows none tells anything
            if (position := _position(row)) is not None:
                places.setdefault(position, row)
        seated = list(places.items())
        numbers = dict.fromkeys(row["axle_number"] for row in rows if row.get("axle_number") is not None)
        axles = []
        declared = whole.get("vehicle_axle_count")
        if declared is not None:
            for number in sorted({*numbers, *range(1, declared + 1)}):
                told: dict[str, Any] = {}
                for row in rows:
                    if row.get("axle_number") == number:
                        told.update({name: value for name, value in row.items() if value is not None})
                axles.append(_made(Axle, {**self._values("axle", told), "number": number}))
        values: dict[str, Any] = {
            "vehicle": _made(Vehicle, {**self._values("vehicle", whole), "axles": tuple(axles)}),
            "event": _made(Event, self._values("event", whole)),
            "assemblies": tuple(self._assembly(position, row) for position, row in seated),
            "makers": tuple(self._makers(seated)),
        }
        values["own"] = self._own(whole, ("vehicle",))
        return from_stored(Job, values)

    def _own(self, row: Row, levels: Sequence[str]) -> Mapping[str, Any]:
        """Return the fields of packs, as a document would write them."""
        told = {}
        for spec, column in self.own:
            value = row.get(column)
            if value is not None and spec.level in levels:
                text = f"{value!r} {spec.unit}" if spec.unit is not None and spec.unit.symbol else value
                told[spec.path.removeprefix("own.")] = str(text) if spec.kind == "date" else text
        return to_own(told)

    def _assembly(self, position: Position, row: Row) -> Assembly:
        parts: dict[str, Any] = {
            prefix: _made(_RECORDS[prefix], values)
            for prefix in _OF_WHEEL
            if (values := self._values(prefix, row))
        }
        parts["own"] = self._own(row, ("axle", "position"))
        return from_stored(Assembly, {"position": position, **parts})

    def _makers(self, seated: Sequence[tuple[Position, Row]]) -> Iterator[MakerInstruction]:
        for position, row in seated:
            if values := self._values("maker", row):
                source = values.pop("source", None) or "the fleet's table"
                yield from_stored(MakerInstruction, {**values, "source": source, "positions": (position,)})

    def _values(self, prefix: str, row: Row) -> dict[str, Any]:
        out = {}
        for spec, name, first, last in self.fields[prefix]:
            value = row.get(first)
            if spec.kind == "date":
                end = row.get(last)
                if value is None or end is None:
                    continue
                value = DateSpan(value, end)
            if value is None:
                continue
            if spec.kind == "notation":
                value = read_field(_RECORDS[prefix], name, value)
            out[name] = value
        return out


def _made(cls: Any, values: dict[str, Any]) -> Any:
    """Make a record without deriving: the row has what follows, and of what contradicts itself nothing."""
    inside = {**cls.__stemlore_defaults__, **values}
    for name in cls.__stemlore_numbers__:
        number = inside[name]
        if number is not None and not isfinite(number):
            inside[name] = None
    return adopted(cls, inside)


def _position(row: Row) -> Position | None:
    if row.get("unstated"):
        return None
    if row.get("spare"):
        return Position.parse("spare")
    axle, side = row.get("axle_number"), row.get("side")
    if axle is None or side is None:
        return None
    return _seat(axle, side, row.get("place") or "single")


@lru_cache(maxsize=1024)
def _seat(axle: int, side: Any, place: Any) -> Position:
    return Position(axle=axle, side=side, place=place)
