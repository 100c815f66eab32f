"""Cells of a fleet's table read into fields; what cannot be read is listed and counts as missing."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any, cast

from stemlore.audit._derived import FROM_CODE, FROM_NUMBER, FROM_SIZE
from stemlore.audit._numerals import CellError, beyond, converted, integer, most_of, number
from stemlore.audit._polars import pl
from stemlore.audit.mapping import LAW, ColumnMap, FleetMapping
from stemlore.errors import FaultyError, StemloreError, near_misses
from stemlore.model import FieldSpec, Position
from stemlore.model._readers import reader_of
from stemlore.model.position import PLACES, SIDES
from stemlore.notation import DateSpan, ServiceDescription, TyreIdentificationNumber, TyreSize, ValveCode
from stemlore.rules.places import place_code
from stemlore.units import Unit

__all__ = ["Read", "read_column"]

Values = dict[str, Any]
"""What a cell gives: columns by name."""
Parse = Callable[[str], Values]
Read = tuple[dict[str, pl.Series], pl.DataFrame]
"""Columns by name, and the cells that cannot be read: ``at``, ``value``, ``kind``, ``message``."""

_TYPES: Mapping[str, Any] = {"number": pl.Float64, "integer": pl.Int64, "flag": pl.Boolean, "date": pl.Date}
_FLAGS = {
    "true": True,
    "yes": True,
    "y": True,
    "1": True,
    "false": False,
    "no": False,
    "n": False,
    "0": False,
}
_BAD = {"at": pl.UInt32, "value": pl.String, "kind": pl.String, "message": pl.String}
_NO_FAULTS = pl.DataFrame(schema=_BAD)
_MOST_AXLES = (1, 99)
_AXLES = "a whole number from 1 to 99 is needed"
FIRST_YEAR = 1900
"""Before it no vehicle was registered and no tyre made that is still looked at."""
_TOO_EARLY = f"lies before {FIRST_YEAR}"
_TIES = ("registered_in", "used_in", "workshop")


def read_column(column: pl.Series, told: ColumnMap, mapping: FleetMapping) -> Read:
    """Read one column of a table.

    Parameters
    ----------
    column : Series
        As it stands in the table.
    told : ColumnMap
        What it is.
    mapping : FleetMapping
        Words for what is not known.
    """
    if column.dtype in (pl.Categorical, pl.Enum):
        column = column.cast(pl.String)
    if told.to == "vehicle_id":
        return {"vehicle_id": column}, _NO_FAULTS
    if told.to == "law_day" and column.dtype in (pl.Date, pl.Datetime):
        return {"law_day": column.cast(pl.Date)}, _NO_FAULTS
    spec = told.spec
    figures = column.dtype.is_numeric()
    numeric = figures and not told.words
    if spec is not None and spec.kind == "number" and numeric:
        return _numbers(column.cast(pl.Float64), spec, told.unit or cast(Unit, spec.unit), spec.column)
    if column.dtype == pl.Boolean and not told.words and _is_flag(told):
        return {told.to if spec is None else spec.column: column}, _NO_FAULTS
    if spec is not None and spec.kind == "date" and column.dtype in (pl.Date, pl.Datetime):
        return _days(column, told, spec)
    if numeric and column.dtype.is_integer() and (least := _least(told)) is not None:
        return _whole(column.cast(pl.Int64), told, *least)
    if numeric and column.dtype.is_float():  # 3.0 stands for 3
        whole = column.is_finite() & (column == column.floor())
        column = pl.select(
            pl.when(column.is_nan())
            .then(None)
            .when(whole)
            .then(column.cast(pl.Int64, strict=False).cast(pl.String))
            .otherwise(column.cast(pl.String))
        ).to_series()
    return _texts(column.cast(pl.String), told, mapping, numeric=figures)


def _least(told: ColumnMap) -> tuple[int | None, int | None] | None:
    """Return the bounds of a column of whole numbers; None of one that is something else."""
    if told.to in ("axle_number", "vehicle_axle_count"):
        return _MOST_AXLES
    spec = told.spec
    if spec is None or spec.kind != "integer" or told.split:
        return None
    return (None if spec.least is None else int(spec.least)), None


def _whole(column: pl.Series, told: ColumnMap, least: int | None, most: int | None) -> Read:
    """Take a column that holds whole numbers already; what lies beyond its bounds is told."""
    name = told.to if told.spec is None else told.spec.column
    wrong = pl.Series([False]).new_from_index(0, len(column))
    if least is not None:
        wrong = (column < least).fill_null(False)
    if most is not None:
        wrong = wrong | (column > most).fill_null(False)
    if not wrong.any():
        return {name: column.alias(name)}, _NO_FAULTS
    kind, message = ("unreadable", _AXLES) if most is not None else ("impossible", f"below {least}")
    faults = pl.DataFrame({"at": wrong.arg_true(), "value": column.filter(wrong).cast(pl.String)})
    told_of = faults.select(pl.col("at").cast(pl.UInt32), "value", kind=pl.lit(kind), message=pl.lit(message))
    return {name: column.set(wrong, None).alias(name)}, told_of


def _is_flag(told: ColumnMap) -> bool:
    return told.to in ("spare", "unstated") or (told.spec is not None and told.spec.kind == "flag")


def _numbers(column: pl.Series, spec: FieldSpec, given: Unit, name: str) -> Read:
    made = converted(column, given, cast(Unit, spec.unit))
    infinite = column.is_infinite()
    finite, nowhere = made.is_finite(), infinite & False
    below = nowhere if spec.least is None else finite & (made < spec.least)
    most = most_of(spec)
    above = nowhere if most is None else finite & (made > most)
    wrong = (infinite | below | above).fill_null(False)
    faults = _NO_FAULTS
    if wrong.any():
        faults = pl.DataFrame({"at": wrong.arg_true(), "value": column.filter(wrong).cast(pl.String)}).select(
            pl.col("at").cast(pl.UInt32),
            "value",
            pl.lit("impossible").alias("kind"),
            pl.when(infinite.filter(wrong))
            .then(pl.lit("not finite"))
            .when(below.filter(wrong))
            .then(pl.lit("" if spec.least is None else beyond(spec, above=False)))
            .otherwise(pl.lit("" if most is None else beyond(spec, above=True)))
            .alias("message"),
        )
        made = made.set(wrong, None)
    return {name: made}, faults


def _days(column: pl.Series, told: ColumnMap, spec: FieldSpec) -> Read:
    """Take a column of days; there is none before the first year."""
    day = column.cast(pl.Date)
    early = (day < date(FIRST_YEAR, 1, 1)).fill_null(False)
    faults = _NO_FAULTS
    if early.any():
        at = early.arg_true().cast(pl.UInt32)
        value = day.filter(early).cast(pl.String)
        faults = pl.DataFrame({"at": at, "value": value}).with_columns(
            kind=pl.lit("impossible"), message=pl.lit(_TOO_EARLY)
        )
        day = day.set(early, None)
    if spec.path == "event.on":
        return {"event_on": day}, faults
    ends = (told.end,) if told.end else ("earliest", "latest")
    return {f"{spec.column}_{end}": day for end in ends}, faults


def _texts(column: pl.Series, told: ColumnMap, mapping: FleetMapping, *, numeric: bool = False) -> Read:
    """Read each text once, then put what came of it in all rows that hold it."""
    types = _outputs(told)
    parse = _parser(told, mapping, numeric=numeric)
    column = column.str.strip_chars()
    unique = column.unique().drop_nulls()
    silent = {"", *mapping.missing}
    texts: list[str] = [text for text in unique.to_list() if text not in silent]
    rows: list[Values] = []
    wrong: list[tuple[str, str, str]] = []
    for text in texts:
        try:
            rows.append(parse(text))
        except CellError as error:
            rows.append({})
            wrong.append((text, error.kind, str(error)))
        except StemloreError as error:
            rows.append({})
            impossible = "impossible" in str(error)
            wrong.append((text, "impossible" if impossible else "unreadable", _said(error)))
    read = pl.DataFrame(
        {"text": texts, **{name: [row.get(name) for row in rows] for name in types}},
        schema={"text": pl.String, **types},
    )
    made = column.alias("text").to_frame().join(read, on="text", how="left", maintain_order="left")
    faults = _NO_FAULTS
    if wrong:
        bad = pl.DataFrame(
            wrong, schema={"value": pl.String, "kind": pl.String, "message": pl.String}, orient="row"
        )
        at = column.alias("value").to_frame().with_row_index("at")
        faults = at.join(bad, on="value", how="inner", maintain_order="left").select(
            pl.col("at").cast(pl.UInt32), "value", "kind", "message"
        )
    return {name: made[name] for name in types}, faults


def _said(error: StemloreError) -> str:
    if isinstance(error, FaultyError):
        return "; ".join(str(fault) for fault in error.faults)
    return str(error)


def _outputs(told: ColumnMap) -> dict[str, Any]:
    """Return the columns that a column gives, with their types."""
    spec = told.spec
    if told.split == "service":
        return {"tyre_load_index": pl.Int64, "tyre_load_index_dual": pl.Int64, "tyre_speed_symbol": pl.String}
    if spec is None:
        if told.to == "position":
            return {"axle_number": pl.Int64, "side": pl.String, "place": pl.String, "spare": pl.Boolean}
        if told.to in ("spare", "unstated"):
            return {told.to: pl.Boolean}
        if told.to == "law_place":
            return dict.fromkeys(_TIES, pl.String)
        if told.to == "law_day":
            return {told.to: pl.Date}
        return {told.to: pl.Int64 if told.to in ("axle_number", "vehicle_axle_count") else pl.String}
    if spec.path == "tyre.size":
        return {
            spec.column: pl.String,
            f"{FROM_SIZE}tyre_size_designation": pl.String,
            f"{FROM_SIZE}tyre_construction": pl.String,
            f"{FROM_SIZE}tyre_load_index": pl.Int64,
            f"{FROM_SIZE}tyre_load_index_dual": pl.Int64,
            f"{FROM_SIZE}tyre_speed_symbol": pl.String,
        }
    if spec.path == "valve.code":
        return {spec.column: pl.String, f"{FROM_CODE}valve_table_code": pl.String}
    if spec.path == "tyre.identification_number":
        days = {f"{FROM_NUMBER}tyre_manufactured_{end}": pl.Date for end in ("earliest", "latest")}
        return {spec.column: pl.String, **days}
    if spec.kind == "date":
        if spec.path == "event.on":
            return {"event_on": pl.Date}
        ends = (told.end,) if told.end else ("earliest", "latest")
        return {f"{spec.column}_{end}": pl.Date for end in ends}
    return {spec.column: _TYPES.get(spec.kind, pl.String)}


def _parser(told: ColumnMap, mapping: FleetMapping, *, numeric: bool) -> Parse:
    spec, words = told.spec, told.words
    inner = _splitter(told, numeric=numeric) or (
        _key_parser(told.to, mapping.dates) if spec is None else _field_parser(told, spec, mapping)
    )
    loose = {str(word).strip().lower(): meant for word, meant in words.items()}

    def parse(text: str) -> Values:
        meant = words.get(text, loose.get(text.lower()))
        if meant is None:
            return inner(text)
        return inner(str(meant).lower() if isinstance(meant, bool) else str(meant))

    return parse


def _splitter(told: ColumnMap, *, numeric: bool) -> Parse | None:
    def service(text: str) -> Values:
        made = ServiceDescription.parse(text)
        values = (made.load_index, made.load_index_dual, made.speed_symbol)
        return dict(zip(_outputs(told), values, strict=True))

    def size(text: str) -> Values:
        made = TyreSize.parse(text)
        service = made.service
        described = (None,) * 3
        if service is not None:
            described = (service.load_index, service.load_index_dual, service.speed_symbol)  # type: ignore[assignment]
        values = (str(made), made.designation, made.construction, *described)
        return dict(zip(_outputs(told), values, strict=True))

    def dot(text: str) -> Values:
        figures = text.isdecimal() and len(text) in (3, 4)
        if text.isdecimal() and not figures:
            raise CellError("a date code has four figures, of tyres before 2000 three")
        if numeric and len(text) == 3:  # a column of numbers holds no nought in front
            raise CellError(
                f"{text} may be 0{text}, as numbers lose a nought in front: keep the column as text"
            )
        made = TyreIdentificationNumber.parse(f"DOT {text}" if figures else text)
        span = made.made
        days = (None, None) if span is None else (span.earliest, span.latest)
        return dict(zip(_outputs(told), (str(made), *days), strict=True))

    def code(text: str) -> Values:
        made = ValveCode.parse(text)
        return dict(zip(_outputs(told), (str(made), made.table_key), strict=True))

    if told.split == "service":
        return service
    return {"tyre.size": size, "tyre.identification_number": dot, "valve.code": code}.get(told.to)


def _key_parser(key: str, order: str) -> Parse:
    def position(text: str) -> Values:
        made = Position.parse(text)
        return {"axle_number": made.axle, "side": made.side, "place": made.place, "spare": made.spare}

    def whole(text: str) -> Values:
        if not text.isdecimal() or not 1 <= int(text) <= 99:
            raise CellError(_AXLES)
        return {key: int(text)}

    def word(text: str) -> Values:
        known: Sequence[str] = SIDES if key == "side" else PLACES
        if (found := text.lower()) not in known:
            raise CellError(_unknown_word(text, known))
        return {key: found}

    def places(text: str) -> Values:
        code = place_code(text)
        return dict.fromkeys(_TIES, code) if key == "law_place" else {key: code}

    def day(text: str) -> Values:
        span = _span(text, order)
        if not span.is_day:
            raise CellError("one day is needed")
        return {key: span.earliest}

    if key == "position":
        return position
    if key in LAW:
        return day if key == "law_day" else places
    if key in ("axle_number", "vehicle_axle_count"):
        return whole
    return word if key in ("side", "place") else lambda text: {key: _flag(text)}


def _unknown_word(text: str, known: Sequence[str]) -> str:
    near = near_misses(text.lower(), known)
    return f"did you mean {near[0]}?" if near else f"one of {', '.join(known)}"


def _flag(text: str) -> bool:
    found = _FLAGS.get(text.lower())
    if found is None:
        raise CellError("true or false is needed")
    return found


def _field_parser(told: ColumnMap, spec: FieldSpec, mapping: FleetMapping) -> Parse:
    column = spec.column
    match spec.kind:
        case "number":
            return lambda text: {column: number(text, told, spec, mapping.decimal)}
        case "integer":
            return lambda text: {column: integer(text, spec)}
        case "flag":
            return lambda text: {column: _flag(text)}
        case "date":
            return lambda text: _date(text, told, spec, mapping.dates)
    read = reader_of(spec)
    return lambda text: {column: str(read(text))}


_YEAR_LAST = re.compile(r"(\d\d?)[-/.](\d\d?)[-/.](\d{4})", re.ASCII)


def _span(text: str, order: str) -> DateSpan:
    """Read a date; one whose year comes last by the order that the mapping says."""
    found = _YEAR_LAST.fullmatch(text)
    if found is None:
        return DateSpan.parse(text)
    first, second, year = (int(part) for part in found.groups())
    if not order:
        if first <= 12 and second <= 12 and first != second:
            raise CellError(
                "day and month cannot be told apart: write the year first, or say in the mapping"
                ' dates = "day first" or "month first"'
            )
        raise CellError('the year comes first here: say in the mapping dates = "day first" or "month first"')
    month, day = (second, first) if order == "day first" else (first, second)
    try:
        return DateSpan.day(date(year, month, day))
    except ValueError:
        raise CellError(f"no such day: the mapping says {order}") from None


def _date(text: str, told: ColumnMap, spec: FieldSpec, order: str) -> Values:
    span = _span(text, order)
    if span.earliest.year < FIRST_YEAR:
        code = '; a date code is mapped by { split = "date code" }' if text.isdecimal() else ""
        raise CellError(f"{_TOO_EARLY}{code}", "impossible")
    if spec.path == "event.on":
        if not span.is_day:
            raise CellError("one day is needed")
        return {"event_on": span.earliest}
    days: dict[str, date] = {"earliest": span.earliest, "latest": span.latest}
    ends = (told.end,) if told.end else tuple(days)
    return {f"{spec.column}_{end}": days[end] for end in ends}
