"""Where a fleet's rows come from: files, folders, frames and Arrow streams, batch by batch."""

from __future__ import annotations

import tempfile
import weakref
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pa_parquet  # type: ignore[import-untyped]

from stemlore.audit._delimited import Delimited, frame_of, refuse_twice, told
from stemlore.audit._polars import pl
from stemlore.errors import SourceError, StemloreError, WriteError

__all__ = ["Source", "at_vehicle_bounds", "gathered", "open_source", "rows_at_once", "stands_together"]

BATCH = 20_000
"""Rows that are judged at once by eighty rules, which find about a hundred megabytes of them."""
_RULES, _WIDEST = 80, 5
ROW = "number of the row"
"""The column that numbers the rows of a batch, beside what the source calls its columns."""
_SUFFIXES = (".parquet", ".csv", ".tsv")
_ALONE = (".txt",)
"""Endings of what is read where it is named, and left alone where it lies in a folder."""
_SHEETS = (".xlsx", ".xls", ".xlsm", ".ods")
_FILES = 200
"""Files that stand open at once; many systems allow a process no more than 1024."""
_PENDING = 200_000
"""Rows that are held before they are shared out over the files, so that no file is written in crumbs."""


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
            self.schema = _schema_of(reader.schema, self.name)

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        try:
            with pa.RecordBatchReader.from_stream(self.given) as reader:
                for batch in reader:
                    frame = frame_of(pa.Table.from_batches([batch]))
                    yield frame if columns is None else frame.select(columns)
        except pa.ArrowException as error:
            raise SourceError(f"{self.name} cannot be read: {error}") from error


class _Parquet:
    def __init__(self, path: Path) -> None:
        self.name, self.path = str(path), path
        with told(path), pa_parquet.ParquetFile(path) as file:
            self.schema: Mapping[str, Any] = _schema_of(file.schema_arrow, str(path))

    def batches(self, columns: Sequence[str] | None = None) -> Iterator[pl.DataFrame]:
        with told(self.path), pa_parquet.ParquetFile(self.path, pre_buffer=False) as file:
            for batch in file.iter_batches(BATCH, columns=columns):
                yield frame_of(pa.Table.from_batches([batch]))


class _Folder:
    """The files of a folder, by name; a column that one lacks is missing in its rows."""

    def __init__(self, path: Path) -> None:
        self.name = str(path)
        # a link to nothing is opened like a file, and then told
        files = sorted(
            each for each in path.rglob("*") if each.suffix.lower() in _SUFFIXES and not each.is_dir()
        )
        if not files:
            raise SourceError(
                f"{path} holds no file ending in {', '.join(_SUFFIXES[:-1])} or {_SUFFIXES[-1]}"
            )
        self.parts = [_file(each) for each in files]
        schema: dict[str, Any] = {}
        for part in self.parts:
            for name, dtype in part.schema.items():
                other = schema.get(name, dtype)
                if other != dtype and (other.is_nested() or dtype.is_nested()):
                    raise SourceError(
                        f"{part.name} has {dtype} in column {name!r}, another file {other}",
                        advice="give the column one type in all files of the folder",
                    )
                schema[name] = dtype if other == dtype else pl.String
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
    kind = path.suffix.lower()
    if kind not in (*_SUFFIXES, *_ALONE):
        advice = f"one of {', '.join((*_SUFFIXES, *_ALONE))}"
        if kind in _SHEETS:
            advice = "it is a spreadsheet: save the sheet as 'CSV UTF-8' there"
        raise SourceError(f"{path} is no table that is read here", advice=advice)
    return _Parquet(path) if kind == ".parquet" else Delimited(path)


def _schema_of(of: pa.Schema, name: str) -> Mapping[str, Any]:
    refuse_twice(of.names, name)
    return frame_of(of.empty_table()).schema


def _spooled(reader: pa.RecordBatchReader) -> Source:
    refuse_twice(reader.schema.names, "the stream")
    folder = tempfile.TemporaryDirectory(prefix="stemlore-")
    path = Path(folder.name) / "stream.parquet"
    with no_room("the stream cannot be kept"), pa_parquet.ParquetWriter(path, reader.schema) as writer:
        for batch in reader:
            writer.write_batch(batch)
    made = _Parquet(path)
    made.name = "the stream"
    weakref.finalize(made, folder.cleanup)
    return made


class no_room:  # noqa: N801 - read as a word: with no_room(what)
    """Turns what goes wrong while rows are put aside on disk into an error that names it."""

    def __init__(self, what: str) -> None:
        self.what = what

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> None:
        if isinstance(error, OSError) and not isinstance(error, StemloreError):
            why = error.strerror or " ".join(str(error).split())
            raise WriteError(
                f"{self.what} under {tempfile.gettempdir()}: {why}",
                advice="make room there, or name another directory in TMPDIR",
            ) from error


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


def rows_at_once(rules: int) -> int:
    """Return how many rows to judge at once, so that what is found of them takes about as much for any book.

    Each batch costs some time whatever its size, so a book of few rules takes more rows.

    Parameters
    ----------
    rules : int
        How many rules the book has.
    """
    return min(BATCH * _RULES // max(rules, 1), BATCH * _WIDEST)


def at_vehicle_bounds(source: Source, vehicle: str | None, most: int | None = None) -> Iterator[pl.DataFrame]:
    """Yield the rows in order, with numbers, no vehicle cut in two.

    Parameters
    ----------
    source : Source
        The rows.
    vehicle : str or None
        The column that tells vehicles apart, where there is one.
    most : int, optional
        About how many rows to yield at once; :data:`BATCH` when left out.
    """
    most = BATCH if most is None else most
    kept: list[pl.DataFrame] = []
    for frame in numbered(source):
        if not frame.height:
            continue
        if vehicle is None:
            yield frame
            continue
        kept.append(frame)
        if sum(each.height for each in kept) < most:
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
    if rows <= BATCH:
        yield pl.concat(list(numbered(source)))
        return
    many = min(-(-rows // BATCH), _FILES)
    with tempfile.TemporaryDirectory(prefix="stemlore-") as folder:
        paths = [Path(folder) / f"{number}.parquet" for number in range(many)]
        with no_room("rows of a vehicle cannot be brought together"):
            there = _shared_out(source, vehicle, paths)
        for lot in there:
            whole = frame_of(pa_parquet.read_table(paths[lot]))
            for _, part in _lots(whole, vehicle, -(-whole.height // BATCH), seed=3):
                yield part


def _shared_out(source: Source, vehicle: str, paths: Sequence[Path]) -> list[int]:
    """Write each row to one of the files, and return which of them there are."""
    writers: dict[int, pa_parquet.ParquetWriter] = {}
    try:
        for frame in _together(numbered(source), _PENDING):
            for lot, part in _lots(frame, vehicle, len(paths), seed=2):
                table = part.to_arrow()
                if lot not in writers:
                    writers[lot] = pa_parquet.ParquetWriter(paths[lot], table.schema)
                writers[lot].write_table(table)
    finally:
        for writer in writers.values():
            writer.close()
    return sorted(writers)


def _together(frames: Iterator[pl.DataFrame], rows: int) -> Iterator[pl.DataFrame]:
    """Yield frames of at least so many rows, but for the last."""
    kept: list[pl.DataFrame] = []
    for frame in frames:
        kept.append(frame)
        if sum(each.height for each in kept) >= rows:
            yield pl.concat(kept)
            kept = []
    if kept:
        yield pl.concat(kept)


def _lots(frame: pl.DataFrame, vehicle: str, many: int, *, seed: int) -> Iterator[tuple[int, pl.DataFrame]]:
    """Yield the rows in so many lots, each with its number; a vehicle is in one."""
    if many <= 1:
        yield 0, frame
        return
    lots = frame.with_columns((pl.col(vehicle).hash(seed) % many).alias("lot of the row"))
    for (lot,), part in lots.partition_by("lot of the row", as_dict=True, include_key=False).items():
        yield lot, part
