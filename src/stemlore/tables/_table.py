"""A table in memory: columns, rows that can be traced, lookups."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType

from stemlore.errors import NotInTableError, UnknownFieldError, near_misses
from stemlore.provenance import Citation, Grade, Source, fingerprint_of

__all__ = ["Cell", "Column", "Found", "Key", "Row", "Table"]

Cell = str | int | float | None
"""A value of a row; ``None`` means that the source does not say."""

Key = str | int | tuple[str | int, ...]
"""What a row is found by: one value, or a tuple where the key has several columns."""

_NEAREST = 3


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Attributes
    ----------
    name, title : str
        Name in the file, and what it means.
    type : str
        ``string``, ``integer``, ``number`` or ``date``.
    unit : str
        Unit symbol; empty where there is none.
    """

    name: str
    type: str
    unit: str
    title: str


@dataclass(frozen=True, slots=True, eq=False)
class Row(Mapping[str, Cell]):
    """One row: a read-only mapping of column names to values, with its citation."""

    _cells: Mapping[str, Cell] = field(repr=True)
    citation: Citation = field(repr=False)
    also: tuple[Source, ...] = field(repr=False, default=())
    """Further sources that print the same figures."""

    def __getitem__(self, name: str) -> Cell:
        try:
            return self._cells[name]
        except KeyError:
            raise UnknownFieldError(str(name), self._cells) from None

    def __contains__(self, name: object) -> bool:
        return name in self._cells

    def get(self, name: str, default: Cell = None) -> Cell:  # type: ignore[override]
        """Return the value of a column, or ``default`` where there is no such column."""
        return self._cells.get(name, default)

    def __iter__(self) -> Iterator[str]:
        return iter(self._cells)

    def __len__(self) -> int:
        return len(self._cells)


@dataclass(frozen=True, slots=True)
class Found:
    """What a lookup found.

    Attributes
    ----------
    value : str, int, float or None
        Value of the column asked for; ``None`` only where no column was asked
        for and the table has no main one.
    unit : str
        Unit of that column.
    citation : Citation
        Where the value comes from.
    row : Row
        The whole row.
    """

    value: Cell
    unit: str
    citation: Citation
    row: Row


@dataclass(frozen=True, eq=False)
class Table:
    """A reference table: every row names its source.

    Attributes
    ----------
    name, title, description : str
        Name of the table, what it holds, how it was made.
    columns : tuple of Column
        In the order of the file.
    rows : tuple of Row
        In the order of the file.
    key : tuple of str
        Columns a row is looked up by. The file's key has the source besides:
        several sources may speak of one thing, and the best graded answers.
    main : str
        Column that a lookup gives when none is named; empty for none.
    """

    name: str
    title: str
    description: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...] = field(repr=False)
    key: tuple[str, ...]
    main: str = ""

    def __len__(self) -> int:
        return len(self.rows)

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def column(self, name: str) -> Column:
        """Return a column by name.

        Raises
        ------
        UnknownFieldError
            With the near names.
        """
        try:
            return self._by_name[name]
        except KeyError:
            raise UnknownFieldError(name, self._by_name) from None

    def column_unit(self, name: str) -> str:
        """Return the unit of a column; empty where it has none."""
        return self.column(name).unit

    @property
    def editions(self) -> tuple[str, ...]:
        """The editions that the rows belong to; empty where the table knows none."""
        if "edition" not in self._by_name:
            return ()
        return tuple(dict.fromkeys(str(row["edition"]) for row in self.rows))

    @cached_property
    def _by_name(self) -> dict[str, Column]:
        return {column.name: column for column in self.columns}

    @cached_property
    def _best(self) -> dict[Key, tuple[Row, ...]]:
        """Rows of each key, strongest grade first, then in the order of the file."""
        found: defaultdict[Key, list[Row]] = defaultdict(list)
        for row in self.rows:
            found[self._key_of(row)].append(row)
        return {
            key: tuple(sorted(rows, key=lambda row: -row.citation.grade.strength))
            for key, rows in found.items()
        }

    def _key_of(self, row: Row) -> Key:
        # the reader lets no key cell be empty, nor be a number with a fraction
        cells = tuple(_key_cell(row[name]) for name in self.key)
        return cells[0] if len(cells) == 1 else cells

    def lookup(self, *keys: str | int, column: str | None = None) -> Found:
        """Find the best row for a key.

        Parameters
        ----------
        *keys : str or int
            One value for each column of :attr:`key`.
        column : str, optional
            Column wanted; the main column when left out.

        Raises
        ------
        NotInTableError
            There is no such row, or none of its sources says this value.
        UnknownFieldError
            There is no such column.
        """
        wanted = self.column(column or self.main) if column or self.main else None
        key: Key = keys[0] if len(keys) == 1 else keys
        rows = None if _has_truth_value(keys) else self._best.get(key)
        if not rows:
            raise NotInTableError(self.name, _shown(key), self._nearest(key))
        if wanted is None:
            return Found(None, "", rows[0].citation, rows[0])
        for row in rows:
            value = row[wanted.name]
            if value is not None:
                return Found(value, wanted.unit, row.citation, row)
        raise NotInTableError(self.name, f"{_shown(key)} with a value in {wanted.name}")

    def _nearest(self, key: Key) -> tuple[Key, ...]:
        known = list(self._best)
        if isinstance(key, int) and not isinstance(key, bool):
            numbers = sorted(other for other in known if isinstance(other, int))
            closest = sorted(numbers, key=lambda other: abs(other - key))[:_NEAREST]
            return tuple(closest)
        texts = {_text(other): other for other in known}
        near = near_misses(_text(key), texts, most=_NEAREST)
        return tuple(texts[text] for text in near)

    @cached_property
    def _kept(self) -> dict[str, Mapping[Key, Cell]]:
        return {}

    def lookup_map(self, column: str) -> Mapping[Key, Cell]:
        """Return the best value of a column for each key; keys without a value are left out."""
        kept = self._kept.get(column)
        if kept is None:
            kept = MappingProxyType({key: row[column] for key, row in self._valued(column)})
            self._kept[column] = kept
        return kept

    def citation_map(self, column: str) -> dict[Key, Citation]:
        """Return the citation of each value that :meth:`lookup_map` gives."""
        return {key: row.citation for key, row in self._valued(column)}

    def _valued(self, column: str) -> Iterator[tuple[Key, Row]]:
        name = self.column(column).name
        for key, rows in self._best.items():
            row = next((row for row in rows if row[name] is not None), None)
            if row is not None:
                yield key, row

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 over columns, units and rows, whatever the order of the rows."""
        rows = [{name: cell for name, cell in row.items() if cell is not None} for row in self.rows]
        order = sorted((fingerprint_of(row), index) for index, row in enumerate(rows))
        return fingerprint_of(
            {
                "name": self.name,
                "key": list(self.key),
                "columns": [[column.name, column.type, column.unit] for column in self.columns],
                "rows": [rows[index] for _, index in order],
            }
        )

    @property
    def weakest_grade(self) -> Grade:
        """The weakest grade among the rows."""
        return min((row.citation.grade for row in self.rows), key=lambda grade: grade.strength)


def _key_cell(cell: Cell) -> str | int:
    return cell if isinstance(cell, int) else str(cell)


def _has_truth_value(keys: tuple[object, ...]) -> bool:
    # True equals 1 in Python, but is no load index
    return any(isinstance(key, bool) for key in keys)


def _text(key: object) -> str:
    return ", ".join(map(str, key)) if isinstance(key, tuple) else str(key)


def _shown(key: object) -> str:
    return ", ".join(map(repr, key)) if isinstance(key, tuple) else repr(key)
