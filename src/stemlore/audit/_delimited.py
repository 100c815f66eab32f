"""Text files of cells with a mark between them, as spreadsheets of several countries write them."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.csv as pa_csv  # type: ignore[import-untyped]

from stemlore.audit._polars import pl
from stemlore.errors import SourceError

__all__ = ["Delimited", "frame_of", "refuse_twice", "told"]

_MARKS = ";\t,"
"""Marks between cells; where a header does not settle it, the first."""
_HEAD = 1 << 16
_ROWS = 20
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")
_SAVE = "save it as UTF-8, which a spreadsheet calls 'CSV UTF-8'"


class Delimited:
    """A text file; its cells are read as text, so that one that is no number is seen and told."""

    def __init__(self, path: Path) -> None:
        self.name, self.path = str(path), path
        with told(path):
            self.mark = _mark_of(path)
        with told(path, self.mark):
            options = pa_csv.ReadOptions(block_size=_HEAD)
            with pa_csv.open_csv(path, read_options=options, parse_options=self._options()) as reader:
                names = reader.schema.names
        refuse_twice(names, str(path))
        self.schema: Mapping[str, Any] = dict.fromkeys(names, pl.String)

    def _options(self) -> Any:
        return pa_csv.ParseOptions(delimiter=self.mark, newlines_in_values=True)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        """Yield the rows in order; some columns only, where they are named."""
        options = pa_csv.ConvertOptions(
            column_types=dict.fromkeys(self.schema, pa.string()), include_columns=columns or []
        )
        with told(self.path, self.mark):
            for batch in pa_csv.open_csv(self.path, convert_options=options, parse_options=self._options()):
                yield frame_of(pa.Table.from_batches([batch]))


class told:  # noqa: N801 - read as a word: with told(path)
    """Turns what goes wrong while a file is read into an error that names it.

    Parameters
    ----------
    path : Path
        The file.
    mark : str, optional
        What stands between the cells of a text file.
    """

    def __init__(self, path: Path, mark: str = "") -> None:
        self.path, self.mark = path, mark

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> None:
        if isinstance(error, SourceError):
            return
        if isinstance(error, (pa.ArrowException, OSError, UnicodeDecodeError)):
            why = " ".join(str(error).split())
            advice = "it may be cut short, or of another kind: write it again"
            if isinstance(error, UnicodeDecodeError) or "invalid UTF8" in why:
                why, advice = "its text is not in UTF-8", _SAVE
            elif self.mark and "Expected" in why and (found := _ragged(self.path, self.mark)):
                line, cells, header = found
                why = f"line {line} has {cells} cells, the header {header}"
                advice = "a mark between cells is missing there"
                if cells > header:
                    advice = "put a cell that holds the mark between cells in quotes"
            raise SourceError(f"{self.path} cannot be read: {why}", advice=advice) from error


def frame_of(table: pa.Table) -> pl.DataFrame:
    """Return a table of Arrow as a frame."""
    made = pl.from_arrow(table)
    assert isinstance(made, pl.DataFrame)
    return made


def refuse_twice(names: Sequence[str], source: str) -> None:
    """Refuse two columns of one name."""
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise SourceError(f"{source} has two columns {twice!r}", advice="give each a name of its own")


def _mark_of(path: Path) -> str:
    """Return the mark that parts the header into most cells and the rows below into as many."""
    with path.open("rb") as file:
        head = file.read(_HEAD)
    if head.startswith(_UTF_16):
        raise SourceError(f"{path} cannot be read: its text is in UTF-16", advice=_SAVE)
    lines = head.decode("utf-8-sig", errors="replace").splitlines(keepends=True)
    if len(head) == _HEAD and len(lines) > 1:  # cut short
        del lines[-1]
    best, mark = (0, 1), ","
    for each in _MARKS:
        rows = [len(row) for row in _rows(lines[: 4 * _ROWS], each) if row][:_ROWS]
        if not rows or rows[0] < 2:
            continue
        alike = (sum(width == rows[0] for width in rows), rows[0])
        if alike > best:
            best, mark = alike, each
    return mark


def _rows(lines: Sequence[str], mark: str) -> list[list[str]]:
    try:
        return list(csv.reader(lines, delimiter=mark))
    except csv.Error:  # a cell longer than the reader takes
        return []


def _ragged(path: Path, mark: str) -> tuple[int, int, int] | None:
    """Return line, cells, and cells of the header, of the first row that has others than the header."""
    header = 0
    try:
        with path.open(encoding="utf-8-sig", errors="replace", newline="") as file:
            reader = csv.reader(file, delimiter=mark)
            for row in reader:
                header = header or len(row)
                if row and len(row) != header:
                    return reader.line_num, len(row), header
    except csv.Error:
        pass
    return None
