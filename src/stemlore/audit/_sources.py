"""Where a fleet's rows come from: files, folders, frames and Arrow streams, batch by batch."""

from __future__ import annotations

import tempfile
import weakref
from collections.abc import Iterator, Mapping, Sequence
from itertools import count
from pathlib import Path
from typing import Any, Protocol

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.csv as pa_csv  # type: ignore[import-untyped]
import pyarrow.parquet as pa_parquet  # type: ignore[import-untyped]

from stemlore.audit._polars import pl
from stemlore.errors import SourceError

__all__ = ["Source", "at_vehicle_bounds", "gathered", "open_source", "stands_together"]

BATCH = 40_000
ROW = "row"
_SUFFIXES = (".parquet", ".csv")


class Source(Protocol):
    """Rows of a fleet, to be read as often as it is asked for.

    Attributes
    ----------
    name : str
        What to call it.
    schema : mapping
        Types of the columns by name.
    """

    name: str
    schema: Mapping[str, Any]

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        """Yield the rows in order; some columns only, where they are named."""


class _Frame:
    """A frame in memory, or a lazy one."""

    def __init__(self, frame: pl.LazyFrame) -> None:
        self.name = "the frame"
        self.frame = frame
        self.schema: Mapping[str, Any] = frame.collect_schema()

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        lazy = self.frame if columns is None else self.frame.select(columns)
        try:
            yield from lazy.collect_batches(chunk_size=BATCH, maintain_order=True)
        except (pl.exceptions.PolarsError, OSError) as error:
            raise SourceError(f"the frame cannot be read: {error}") from error


class _Arrow:
    """Anything with the Arrow stream interface that gives a new stream each time."""

    def __init__(self, given: Any) -> None:
        self.name = f"the {type(given).__name__}"
        self.given = given
        with pa.RecordBatchReader.from_stream(given) as reader:
            self.schema = _schema_of(reader.schema)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        try:
            with pa.RecordBatchReader.from_stream(self.given) as reader:
                for batch in reader:
                    frame = _frame(pa.Table.from_batches([batch]))
                    yield frame if columns is None else frame.select(columns)
        except pa.ArrowException as error:
            raise SourceError(f"{self.name} cannot be read: {error}") from error


class _Parquet:
    def __init__(self, path: Path) -> None:
        self.name, self.path = str(path), path
        with _told(path), pa_parquet.ParquetFile(path) as file:
            self.schema: Mapping[str, Any] = _schema_of(file.schema_arrow)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        with _told(self.path), pa_parquet.ParquetFile(self.path, pre_buffer=False) as file:
            for batch in file.iter_batches(BATCH, columns=columns):
                yield _frame(pa.Table.from_batches([batch]))


class _Csv:
    """A text file; its cells are read as text, so that one that is no number is seen and told."""

    def __init__(self, path: Path) -> None:
        self.name, self.path = str(path), path
        with _told(path):
            names = pa_csv.open_csv(path, read_options=pa_csv.ReadOptions(block_size=1 << 16)).schema.names
        if len(set(names)) < len(names):
            twice = next(name for name in names if names.count(name) > 1)
            raise SourceError(f"{path} has two columns {twice!r}", advice="give each a name of its own")
        self.schema: Mapping[str, Any] = dict.fromkeys(names, pl.String)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        options = pa_csv.ConvertOptions(
            column_types=dict.fromkeys(self.schema, pa.string()), include_columns=columns or []
        )
        with _told(self.path):
            for batch in pa_csv.open_csv(self.path, convert_options=options):
                yield _frame(pa.Table.from_batches([batch]))


class _Folder:
    """The files of a folder, by name; a column that one lacks is missing in its rows."""

    def __init__(self, path: Path) -> None:
        self.name = str(path)
        files = sorted(
            each for each in path.rglob("*") if each.suffix.lower() in _SUFFIXES and each.is_file()
        )
        if not files:
            raise SourceError(f"{path} holds no file ending in {' or '.join(_SUFFIXES)}")
        self.parts = [_file(each) for each in files]
        schema: dict[str, Any] = {}
        for part in self.parts:
            for name, dtype in part.schema.items():
                schema[name] = dtype if schema.get(name, dtype) == dtype else pl.String
        self.schema: Mapping[str, Any] = schema

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        wanted = list(self.schema) if columns is None else list(columns)
        for part in self.parts:
            there = [name for name in wanted if name in part.schema]
            for frame in part.batches(there):
                yield frame.select(
                    pl.col(name).cast(self.schema[name])
                    if name in part.schema
                    else pl.lit(None, dtype=self.schema[name]).alias(name)
                    for name in wanted
                )


class _told:  # noqa: N801 - read as a word: with told(path)
    """Turns what goes wrong while a file is read into an error that names it."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> None:
        if isinstance(error, SourceError):
            return
        if isinstance(error, (pa.ArrowException, OSError, UnicodeDecodeError)):
            why = " ".join(str(error).split())
            advice = "it may be cut short, or of another kind: write it again"
            raise SourceError(f"{self.path} cannot be read: {why}", advice=advice) from error


def open_source(source: Any) -> Source:
    """Return the rows of a file, folder, frame or Arrow stream.

    Raises
    ------
    SourceError
        If it cannot be read, or is none of these.
    """
    if isinstance(source, (str, Path)):
        path = Path(source)
        if path.is_dir():
            return _Folder(path)
        return _file(path)
    if isinstance(source, pl.LazyFrame):
        return _Frame(source)
    if isinstance(source, pl.DataFrame):
        return _Frame(source.lazy())
    if isinstance(source, pa.RecordBatchReader):  # can be read once only
        return _spooled(source)
    if hasattr(source, "__arrow_c_stream__"):
        return _Arrow(source)
    raise SourceError(
        f"a {type(source).__name__} is no source of rows",
        advice="give a file, a folder, a Polars frame, or anything with the Arrow stream interface",
    )


def _file(path: Path) -> Source:
    if not path.exists():
        raise SourceError(f"{path} is not there")
    if path.suffix.lower() not in _SUFFIXES:
        raise SourceError(f"{path} is no table that is read here", advice=f"one of {', '.join(_SUFFIXES)}")
    return _Parquet(path) if path.suffix.lower() == ".parquet" else _Csv(path)


def _frame(of: pa.Table) -> pl.DataFrame:
    made = pl.from_arrow(of)
    assert isinstance(made, pl.DataFrame)
    return made


def _schema_of(of: pa.Schema) -> Mapping[str, Any]:
    return _frame(of.empty_table()).schema


def _spooled(reader: pa.RecordBatchReader) -> Source:
    folder = tempfile.TemporaryDirectory(prefix="stemlore-")
    path = Path(folder.name) / "stream.parquet"
    with pa_parquet.ParquetWriter(path, reader.schema) as writer:
        for batch in reader:
            writer.write_batch(batch)
    made = _Parquet(path)
    made.name = "the stream"
    weakref.finalize(made, folder.cleanup)
    return made


# --- rows by vehicle ---------------------------------------------------------------------------


def stands_together(source: Source, vehicle: str) -> tuple[bool, int]:
    """Return whether all rows of each vehicle stand together, and how many rows there are.

    Keeps 8 bytes for each vehicle.
    """
    rows, last = 0, None
    hashes: list[pl.Series] = []
    for frame in source.batches([vehicle]):
        if not frame.height:
            continue
        column = frame[vehicle]
        before = column.shift()
        if rows:
            before = before.scatter(0, last) if last is not None else before
        starts = column.ne_missing(before) & column.is_not_null()
        if rows == 0 or last is None:
            starts[0] = column[0] is not None
        hashes.append(column.filter(starts).hash(1))
        rows, last = rows + frame.height, column[-1]
    if not hashes:
        return True, rows
    found = pl.concat(hashes)
    return found.n_unique() == len(found), rows


def numbered(source: Source) -> Iterator[pl.DataFrame]:
    """Yield the rows with their numbers, counted from 1."""
    start = 1
    for frame in source.batches():
        yield frame.select((pl.int_range(pl.len(), dtype=pl.Int64) + start).alias(ROW), pl.all())
        start += frame.height


def at_vehicle_bounds(source: Source, vehicle: str | None) -> Iterator[pl.DataFrame]:
    """Yield the rows in order, with numbers, no vehicle cut in two."""
    kept: list[pl.DataFrame] = []
    for frame in numbered(source):
        if not frame.height:
            continue
        if vehicle is None:
            yield frame
            continue
        kept.append(frame)
        if sum(each.height for each in kept) < BATCH:
            continue
        whole = pl.concat(kept)
        column = whole[vehicle]
        starts = column.ne_missing(column.shift()).arg_true()
        cut = int(starts[-1]) if len(starts) else 0
        if column[-1] is None:  # rows of no vehicle belong to none
            cut = whole.height
        if cut:
            yield whole[:cut]
        kept = [whole[cut:]] if cut < whole.height else []
    if kept:
        yield pl.concat(kept)


def gathered(source: Source, vehicle: str, rows: int) -> Iterator[pl.DataFrame]:
    """Yield the rows so that none of a vehicle are apart, by way of the disk where they are many."""
    many = -(-rows // BATCH)
    if many <= 1:
        yield pl.concat(list(numbered(source)))
        return
    with tempfile.TemporaryDirectory(prefix="stemlore-") as folder:
        writers: dict[int, pa_parquet.ParquetWriter] = {}
        paths = [Path(folder) / f"{number}.parquet" for number in range(many)]
        try:
            for frame in numbered(source):
                lots = frame.with_columns((pl.col(vehicle).hash(2) % many).alias("lot of the row"))
                for (lot,), part in lots.partition_by(
                    "lot of the row", as_dict=True, include_key=False
                ).items():
                    table = part.to_arrow()
                    if lot not in writers:
                        writers[lot] = pa_parquet.ParquetWriter(paths[lot], table.schema)
                    writers[lot].write_table(table)
        finally:
            for writer in writers.values():
                writer.close()
        for lot in count():
            if lot == many:
                return
            if paths[lot].exists():
                yield _frame(pa_parquet.read_table(paths[lot]))
