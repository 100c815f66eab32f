"""A reference table with the source of every row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import as_file, files
from itertools import chain, islice
from string import ascii_lowercase
from typing import Any

from docutils import nodes
from docutils.parsers.rst import directives

from stemlore.provenance import Source
from stemlore.sphinxext._base import StemloreDirective
from stemlore.sphinxext._build import Content, breakable, code, joined, paragraph, table
from stemlore.sphinxext._links import table_label
from stemlore.sphinxext._sources import source_item
from stemlore.tables import Cell, Column, Row, Table
from stemlore.tables import table as table_named

__all__ = ["ReferenceTable"]

_CITING = ("source", "also", "at", "grade")
_NARROW, _LONG, _SIDE_BY_SIDE = 3, 40, 3
_WIDE = 8
_REMARK = "note"

_Key = tuple[tuple[str, ...], str, str, str]


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    return f"{value:.6f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def _key(row: Row, remarked: bool) -> _Key:
    """Return what is told of a row: sources, place, grade, and its remark where that is told too."""
    sources = tuple(each.id for each in (row.citation.source, *row.also) if each is not None)
    remark = _cell(row.get(_REMARK)) if remarked else ""
    return sources, row.citation.at, row.citation.grade.value, remark


def _letters(count: int) -> list[str]:
    """Return a to z, then aa to az and so on."""
    doubled = (first + second for first in ascii_lowercase for second in ascii_lowercase)
    return list(islice(chain(ascii_lowercase, doubled), count))


def _sources(found: Table) -> Mapping[str, Source]:
    cited = (source for row in found.rows for source in (row.citation.source, *row.also) if source)
    return {source.id: source for source in cited}


class ReferenceTable(StemloreDirective):
    """Columns with units, all rows with source and grade, and the sources below.

    Where many rows share source, place and grade, or a table is wide, a letter
    stands for them and for the remark. Long narrow tables stand in several
    blocks beside each other; the option ``beside`` says in how many.
    """

    option_spec = {"beside": directives.positive_int}

    def made(self) -> Sequence[nodes.Node]:
        """Return description, columns, rows and sources."""
        found = table_named(self.arguments[0].strip())
        for name in (f"{found.name}.csv", "datapackage.json", "sources.csv"):
            with as_file(files("stemlore.tables").joinpath("data", name)) as path:
                self.env.note_dependency(str(path))
        columns = [column for column in found.columns if column.name not in _CITING]
        self._table = found.name
        self._numbers = {name: number for number, name in enumerate(_sources(found), 1)}
        wide = len(columns) > _WIDE
        self._remarked = wide and any(column.name == _REMARK for column in columns)
        keys = list(dict.fromkeys(_key(row, self._remarked) for row in found.rows))
        shared = wide or len(keys) <= len(found.rows) // 4
        letters = dict(zip(keys, _letters(len(keys)), strict=True)) if shared else {}
        weakest = nodes.emphasis("", found.weakest_grade.meaning)
        by = joined(map(code, found.key), " and ")
        shown = [each for each in columns if not self._remarked or each.name != _REMARK]
        rows = self._rows(found, shown, letters)
        self.target(rows, table_label(found.name))
        out: list[nodes.Node] = [
            paragraph(found.description),
            paragraph(f"{len(found.rows)} rows, looked up by ", by, ". Weakest grade: ", weakest, "."),
            table(
                ["Column", "Unit", "What it is"],
                [[code(column.name), column.unit, column.title] for column in columns],
            ),
            rows,
        ]
        if letters:
            out += [nodes.rubric("", "Where the rows come from"), self._notes(letters)]
        listed = nodes.enumerated_list(enumtype="arabic", prefix="", suffix=".")
        listed += [source_item(source, self._anchor(name)) for name, source in _sources(found).items()]
        return [*out, nodes.rubric("", "Sources"), listed]

    def _anchor(self, of: str) -> str:
        return f"{self._table}-{of}"

    def _rows(self, found: Table, columns: list[Column], letters: Mapping[_Key, str]) -> nodes.table:
        flush = [index for index, column in enumerate(columns) if column.type in ("number", "integer")]
        rows: list[list[Content]] = [
            [*(_cell(row[column.name]) for column in columns), self._source(row, letters)]
            for row in found.rows
        ]
        width = len(columns) + 1
        many = len(rows) > _LONG and width <= _NARROW
        beside: int = self.options.get("beside", _SIDE_BY_SIDE if many else 1)
        height = -(-len(rows) // beside)
        starts = range(0, len(rows), height)
        blank: list[Content] = [""] * width
        lines = [
            [cell for start in starts for cell in (_line(rows, start, height, line) or blank)]
            for line in range(height)
        ]
        head: list[Content] = []
        for _ in starts:
            head += [*(breakable(column.name) for column in columns), "Source"]
        right = [index + block * width for block in range(len(starts)) for index in flush]
        width_class = "stemlore-wide" if len(head) > _WIDE and not beside > 1 else "stemlore-narrow"
        return table(head, lines, classes=["stemlore-rows", width_class], right=right)

    def _source(self, row: Row, letters: Mapping[_Key, str]) -> list[nodes.Node]:
        key = _key(row, self._remarked)
        if key not in letters:
            return self._told(key)
        letter = letters[key]
        return [nodes.reference("", letter, internal=True, refid=self._anchor(f"note-{letter}"))]

    def _told(self, key: _Key) -> list[nodes.Node]:
        """Return sources as numbers, the place in them, and the grade."""
        sources, at, grade, remark = key
        out: list[nodes.Node] = []
        for name in sources:
            number = f"[{self._numbers[name]}]"
            out.append(nodes.reference("", number, internal=True, refid=self._anchor(name)))
        told = f" {at}, {grade}" if at else f" {grade}"
        return [*out, nodes.Text(f"{told}. {remark}." if remark else told)]

    def _notes(self, letters: Mapping[_Key, str]) -> nodes.Element:
        made = nodes.enumerated_list(enumtype="loweralpha", prefix="", suffix=".")
        for key, letter in letters.items():
            item: Any = nodes.list_item("", paragraph(self._told(key)), ids=[self._anchor(f"note-{letter}")])
            made += item
        return made


def _line(rows: list[list[Content]], start: int, height: int, line: int) -> list[Content] | None:
    at = start + line
    return rows[at] if line < height and at < len(rows) else None
