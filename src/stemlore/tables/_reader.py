"""Reads a table out of a Frictionless data package and checks every cell.

All faults of a table are collected, each with file and line.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from stemlore.errors import Fault, TableError, UnknownTableError, near_misses
from stemlore.provenance import Citation, Grade, Source
from stemlore.tables._table import Cell, Column, Row, Table

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

__all__ = ["DESCRIPTOR", "SOURCES", "Package", "read_package"]

DESCRIPTOR = "datapackage.json"
SOURCES = "sources"
_GRADES = {grade.value: grade for grade in Grade if grade is not Grade.MEMORY}
_CITED = ("source", "at", "grade")


def _integer(text: str) -> int:
    if not text.removeprefix("-").isdecimal():
        raise ValueError(text)
    return int(text)


def _number(text: str) -> float:
    value = float(text)
    if not math.isfinite(value) or "_" in text:
        raise ValueError(text)
    return value


def _day(text: str) -> str:
    return date.fromisoformat(text).isoformat()


_READERS: dict[str, Callable[[str], Cell]] = {
    "string": str,
    "integer": _integer,
    "number": _number,
    "date": _day,
}

_Line = tuple[int, dict[str, Cell]]


@dataclass(frozen=True, slots=True)
class _Rule:
    """What a cell of one column must be."""

    name: str
    type: str
    read: Callable[[str], Cell]
    needed: bool
    words: tuple[str, ...]
    least: float
    most: float
    good: dict[str, Cell] = field(default_factory=dict)


def _rule(column: Column, described: dict[str, Any], in_key: bool) -> _Rule:
    limits = described.get("constraints", {})
    # source, place and grade are judged together, row by row
    cited = column.name in _CITED
    return _Rule(
        column.name,
        column.type,
        _READERS.get(column.type, str),  # an unknown type was told already, once for the column
        (bool(limits.get("required")) or in_key) and not cited,
        () if cited else tuple(limits.get("enum", ())),
        limits.get("minimum", -math.inf),
        limits.get("maximum", math.inf),
    )


class Package:
    """A folder of tables with their descriptor and sources.

    Attributes
    ----------
    folder : Traversable
        Where the files lie.
    names : tuple of str
        The tables, without the list of sources.
    """

    def __init__(self, folder: Traversable, resources: dict[str, dict[str, Any]]) -> None:
        self.folder = folder
        self._resources = resources
        self._sources: dict[str, Source] | None = None
        self.names = tuple(name for name in resources if name != SOURCES)

    @property
    def sources(self) -> dict[str, Source]:
        """Every source by its id.

        Raises
        ------
        TableError
            The list of sources has faults.
        """
        if self._sources is None:
            faults: list[Fault] = []
            self._sources = self._read_sources(faults)
            if faults:
                self._sources = None
                raise TableError(f"table {SOURCES!r}", faults)
        return self._sources

    def read(self, name: str) -> Table:
        """Read and check one table.

        Raises
        ------
        UnknownTableError
            The package has no table of this name.
        TableError
            With all faults of the table and of the list of sources.
        """
        if name not in self.names:
            raise UnknownTableError(name, self.names)
        faults: list[Fault] = []
        sources = self._sources if self._sources is not None else self._read_sources(faults)
        table = self._read_table(name, sources, faults)
        if faults:
            raise TableError(f"table {name!r}", faults)
        self._sources = sources
        assert table is not None  # without faults there is a table
        return table

    def _read_sources(self, faults: list[Fault]) -> dict[str, Source]:
        columns, key = self._described(SOURCES, faults, ("id", "title", "issuer", "grade"))
        found: dict[str, Source] = {}
        for line, cells in self._lines(SOURCES, columns, key, faults):
            where = f"{SOURCES}.csv:{line}"
            grade = _grade(cells.get("grade"), where, faults)
            if grade is None or not cells.get("id"):
                continue
            day = cells.get("read_on")
            found[str(cells["id"])] = Source(
                id=str(cells["id"]),
                grade=grade,
                read_on=date.fromisoformat(str(day)) if day else None,
                **{
                    name: str(cells.get(name) or "")
                    for name in ("title", "issuer", "number", "edition", "url", "language")
                },
            )
        return found

    def _read_table(self, name: str, sources: dict[str, Source], faults: list[Fault]) -> Table | None:
        columns, file_key = self._described(name, faults, _CITED)
        known = {column.name for column in columns}
        key = tuple(part for part in file_key if part != "source")
        resource = self._resources[name]
        main = str(resource.get("main") or "")
        if main and main not in known:
            faults.append(Fault(name, f"the main column {main!r} is not described", where=DESCRIPTOR))
        for column in columns:
            if column.name in key and column.type == "number":
                faults.append(
                    Fault(
                        f"{name}.{column.name}", "a key cannot be a number with a fraction", where=DESCRIPTOR
                    )
                )
        rows = []
        good: dict[tuple[Cell, ...], _Cited] = {}
        for line, cells in self._lines(name, columns, file_key, faults):
            marks = tuple(map(cells.get, (*_CITED, "also")))
            cited = good.get(marks)
            if cited is None:
                before = len(faults)
                cited = _cited(cells, sources, f"{resource['path']}:{line}", faults)
                if cited is None:
                    continue
                if len(faults) == before:
                    good[marks] = cited
            rows.append(Row(cells, *cited))
        if faults:
            return None
        return Table(
            name=name,
            title=str(resource.get("title", "")),
            description=str(resource.get("description", "")),
            columns=columns,
            rows=tuple(rows),
            key=key,
            main=main,
        )

    def _described(
        self, name: str, faults: list[Fault], needed: tuple[str, ...]
    ) -> tuple[tuple[Column, ...], tuple[str, ...]]:
        """Read what the descriptor says of a table: its columns and its key."""
        resource = self._resources.get(name)
        if resource is None:
            faults.append(Fault(name, "the descriptor has no resource of this name", where=DESCRIPTOR))
            return (), ()
        schema = resource.get("schema", {})
        columns = []
        for item in schema.get("fields", ()):
            column = Column(
                str(item.get("name", "")), item.get("type", ""), item.get("unit", ""), item.get("title", "")
            )
            columns.append(column)
            if column.type not in _READERS:
                faults.append(
                    Fault(
                        f"{name}.{column.name}",
                        f"type {column.type!r} is not read",
                        f"use one of {', '.join(_READERS)}",
                        DESCRIPTOR,
                    )
                )
        known = [column.name for column in columns]
        key = schema.get("primaryKey", ())
        key = (key,) if isinstance(key, str) else tuple(key)
        missing = [part for part in (*needed, *key) if part not in known]
        faults.extend(
            Fault(f"{name}.{part}", "this column is not described", where=DESCRIPTOR)
            for part in dict.fromkeys(missing)
        )
        if not [part for part in key if part != "source"]:
            faults.append(Fault(name, "the table has no primaryKey", where=DESCRIPTOR))
        return tuple(columns), key

    def _lines(
        self, name: str, columns: tuple[Column, ...], key: tuple[str, ...], faults: list[Fault]
    ) -> Iterator[_Line]:
        """Yield line number and cells of every row that has as many cells as the header."""
        resource = self._resources.get(name)
        if resource is None or not columns:
            return
        path = str(resource["path"])
        rules = [
            _rule(column, item, column.name in key)
            for column, item in zip(columns, resource["schema"]["fields"], strict=True)
        ]
        try:
            text = self.folder.joinpath(path).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            faults.append(Fault(name, f"the file cannot be read: {error}", where=path))
            return
        reader = csv.reader(io.StringIO(text, newline=""), strict=True)
        header = next(reader, [])
        names = [column.name for column in columns]
        if header != names:
            faults.append(_header_fault(header, names, f"{path}:1"))
            return
        seen: dict[tuple[Cell, ...], int] = {}
        try:
            for record in reader:
                line = reader.line_num
                where = f"{path}:{line}"
                if len(record) != len(names):
                    faults.append(
                        Fault("", f"{len(record)} cells where {len(names)} are needed", where=where)
                    )
                    continue
                cells = {}
                for rule, text in zip(rules, record, strict=True):
                    # most cells repeat: what was judged good once is not judged again
                    value = rule.good.get(text)
                    cells[rule.name] = _cell(text, rule, where, faults) if value is None else value
                # a row of practice may lack its source; two such rows still clash
                if cells.get("source") is None:
                    marks = tuple("" if part == "source" else cells.get(part) for part in key)
                else:
                    marks = tuple(map(cells.get, key))
                if None not in marks and seen.setdefault(marks, line) != line:
                    told = ", ".join(str(mark) for mark in marks if mark != "")
                    faults.append(Fault("", f"the key {told} stands in line {seen[marks]} too", where=where))
                yield line, cells
        except csv.Error as error:
            faults.append(Fault("", f"not CSV: {error}", where=f"{path}:{reader.line_num}"))


def _header_fault(header: list[str], names: list[str], where: str) -> Fault:
    absent = [name for name in names if name not in header]
    strange = [name for name in header if name not in names]
    told = []
    if absent:
        told.append(f"without {', '.join(absent)}")
    if strange:
        told.append(f"with {', '.join(map(repr, strange))}, not described")
    return Fault(
        "",
        f"the header does not match the descriptor: {'; '.join(told) or 'other order'}",
        f"write {','.join(names)}",
        where,
    )


def _cell(text: str, rule: _Rule, where: str, faults: list[Fault]) -> Cell:
    if not text:
        if rule.needed:
            faults.append(Fault(rule.name, "the cell is empty, but a value is needed", where=where))
        return None
    if text[0].isspace() or text[-1].isspace():
        faults.append(Fault(rule.name, f"{text!r} has spaces around it", where=where))
        return None
    try:
        value = rule.read(text)
    except ValueError:
        faults.append(Fault(rule.name, f"{text!r} is no {rule.type}", where=where))
        return None
    if rule.words and text not in rule.words:
        near = near_misses(text, rule.words) or rule.words
        faults.append(Fault(rule.name, f"{text!r} is not one of the words allowed", " or ".join(near), where))
        return None
    if isinstance(value, int | float) and not rule.least <= value <= rule.most:
        told = f"{text} is not between {rule.least:g} and {rule.most:g}"
        faults.append(Fault(rule.name, told, where=where))
    else:
        rule.good[text] = value
    return value


def _grade(text: Cell, where: str, faults: list[Fault]) -> Grade | None:
    grade = _GRADES.get(str(text))
    if grade is not None:
        return grade
    if text == Grade.MEMORY:
        faults.append(
            Fault("grade", "what is known from memory only is not shipped in a table", "find a source", where)
        )
    else:
        advice = f"use one of {', '.join(_GRADES)}"
        faults.append(Fault("grade", f"{text or ''!r} is no grade", advice, where))
    return None


_Cited = tuple[Citation, tuple[Source, ...]]


def _cited(
    cells: dict[str, Cell], sources: dict[str, Source], where: str, faults: list[Fault]
) -> _Cited | None:
    """Read source, place and grade of one row, with the further sources."""
    grade = _grade(cells.get("grade"), where, faults)
    name = str(cells.get("source") or "")
    at = str(cells.get("at") or "")
    source = sources.get(name)
    if name and source is None:
        near = " or ".join(near_misses(name, sources))
        advice = f"did you mean {near}?" if near else ""
        faults.append(Fault("source", f"there is no source {name!r}", advice, where))
    if grade is not None and not name and grade.needs_source:
        faults.append(Fault("source", f"a row of grade {grade} must name its source", where=where))
    if name and not at:
        faults.append(Fault("at", "the place in the source is missing", where=where))
    if source is not None and grade is not None and grade.strength > source.grade.strength:
        told = f"{grade} is stronger than the grade {source.grade} of its source {name!r}"
        faults.append(Fault("grade", told, where=where))
    named = cells.get("also")
    further = str(named).split(";") if named else []
    faults.extend(
        Fault("also", f"there is no source {part!r}", where=where) for part in further if part not in sources
    )
    if grade is None:
        return None
    return Citation(source, at, grade), tuple(sources[part] for part in further if part in sources)


def read_package(folder: Traversable) -> Package:
    """Open a folder with a ``datapackage.json``; tables are read when asked for.

    Raises
    ------
    TableError
        The descriptor cannot be read.
    """
    try:
        descriptor = json.loads(folder.joinpath(DESCRIPTOR).read_text(encoding="utf-8"))
        resources = {str(item["name"]): item for item in descriptor["resources"]}
        for item in resources.values():
            _ = item["path"], item["schema"]["fields"]  # both must be there
    except (OSError, ValueError, KeyError, TypeError) as error:
        told = f"{type(error).__name__}: {error}"
        raise TableError("data package", [Fault("", f"cannot be read: {told}", where=DESCRIPTOR)]) from error
    return Package(folder, resources)
