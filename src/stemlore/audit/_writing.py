"""Tables written so that a file under its own name is always whole, and that all are of one run."""

from __future__ import annotations

import json
import os
import secrets
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.csv as pa_csv  # type: ignore[import-untyped]
import pyarrow.parquet as pa_parquet  # type: ignore[import-untyped]

from stemlore.audit._polars import pl
from stemlore.errors import WriteError

__all__ = ["MARKER", "Files"]

MARKER = "run.json"
"""The file that stands last: where it is, the tables it names are whole and of one run."""
_FORMS = (".parquet", ".csv")

_GROUP = 200_000
"""Rows that are written at once, and stand in memory a second time, as Arrow, meanwhile."""


class Files:
    """Files of one directory that take their names together.

    They take them one by one; :data:`MARKER` goes before the first does and
    comes after the last has, so that a directory without it is told not to be whole.

    Parameters
    ----------
    directory : Path
        Where they are to stand.
    form : {'parquet', 'csv'}
        What they are.
    beside : bool
        Whether they stand beside those that the marker names already, as of the same run.
    """

    def __init__(self, directory: Path, form: str = "parquet", *, beside: bool = False) -> None:
        self.directory = directory
        self._form = form
        self._beside = beside
        self._told: dict[str, Any] = {}
        self._rows: dict[str, int] = {}
        self._mark = f".part-{os.getpid()}-{secrets.token_hex(4)}"
        self._writers: dict[str, Any] = {}
        self._schemas: dict[str, Any] = {}
        self._held: dict[str, list[pl.DataFrame]] = {}

    def __enter__(self) -> Self:
        try:
            self.directory.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise self._failed(error) from error
        return self

    def describe(self, **facts: Any) -> None:
        """Say what the marker tells beside the names and rows of the tables."""
        self._told |= facts

    def add(self, name: str, frame: pl.DataFrame) -> None:
        """Add rows to a table; the first call makes it, with or without rows.

        They are held until there are enough for a group of rows, so that many small adds make few groups.
        """
        if name not in self._writers:
            self._open(name, frame.head(0))
        held = self._held.setdefault(name, [])
        self._rows[name] = self._rows.get(name, 0) + frame.height
        if frame.height:
            held.append(frame)
        if sum(each.height for each in held) >= _GROUP:
            self._flush(name)

    def _open(self, name: str, empty: pl.DataFrame) -> None:
        schema = self._arrow(empty).schema
        try:
            self._writers[name] = (
                pa_csv.CSVWriter(self._part(name), schema)
                if self._form == "csv"
                else pa_parquet.ParquetWriter(self._part(name), schema, compression="zstd")
            )
        except (OSError, pa.ArrowException) as error:
            raise self._failed(error) from error
        self._schemas[name] = schema

    def _flush(self, name: str) -> None:
        """Write what is held, in groups, so that no more than one stands in memory a second time."""
        held = self._held.pop(name, [])
        if not held:
            return
        whole = held[0] if len(held) == 1 else pl.concat(held)
        pieces = -(-whole.height // _GROUP)
        try:
            for piece in whole.iter_slices(-(-whole.height // pieces)):
                self._writers[name].write_table(self._arrow(piece).cast(self._schemas[name]))
        except (OSError, pa.ArrowException) as error:
            raise self._failed(error) from error

    def _arrow(self, frame: pl.DataFrame) -> pa.Table:
        if self._form == "csv":  # which has no lists
            lists = [name for name, dtype in frame.schema.items() if dtype == pl.List]
            frame = frame.with_columns(pl.col(name).list.join("; ") for name in lists)
        return frame.to_arrow()

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                for name in self._writers:
                    self._flush(name)
                self._finish()
        except (OSError, pa.ArrowException) as failure:
            raise self._failed(failure) from failure
        finally:
            for writer in self._writers.values():
                with suppress(OSError, pa.ArrowException):  # it failed already, and is taken away
                    writer.close()
            for part in self.directory.glob(f".*{self._mark}"):  # one that could not be opened is there too
                part.unlink(missing_ok=True)

    def _finish(self) -> None:
        for name, writer in self._writers.items():
            writer.close()
            _settle(self._part(name))
        before = self._standing()
        told = before if self._beside else {}
        tables = {f"{name}.{self._form}": rows for name, rows in self._rows.items()}
        told = {**told, **self._told, "tables": {**told.get("tables", {}), **tables}}
        part = self._part(MARKER)
        try:
            part.write_text(json.dumps(told, indent=1), "utf-8")
            _settle(part)
            marker = self.directory / MARKER
            marker.unlink(missing_ok=True)
            _settle(self.directory)
            for name in self._writers:
                self._part(name).replace(self.directory / f"{name}.{self._form}")
            for name in before.get("tables", {}):
                if (
                    name not in told["tables"] and Path(name).name == name
                ):  # of an earlier run, in another form
                    (self.directory / name).unlink(missing_ok=True)
            _settle(self.directory)
            part.replace(marker)
        finally:
            part.unlink(missing_ok=True)

    def _standing(self) -> dict[str, Any]:
        """Return what the marker of an earlier run says; nothing where there is none that can be read."""
        try:
            told = json.loads((self.directory / MARKER).read_text("utf-8"))
        except (OSError, ValueError):
            return {}
        whole = isinstance(told, dict) and isinstance(told.get("tables"), dict)
        return told if whole and all(name.endswith(_FORMS) for name in told["tables"]) else {}

    def _part(self, name: str) -> Path:
        return self.directory / f".{name}{self._mark}"

    def _failed(self, error: Exception) -> WriteError:
        why = (
            error.strerror if isinstance(error, OSError) and error.strerror else " ".join(str(error).split())
        )
        return WriteError(
            f"results cannot be written to {self.directory}: {why}",
            advice="make room or choose another directory; no half file was left",
        )


def _settle(path: Path) -> None:
    """Have what was written stand on disk: a name must not outlive its contents in a power cut."""
    if path.is_dir():
        if os.name != "posix":  # no directory is opened there
            return
        number = os.open(path, os.O_RDONLY)
    else:
        number = os.open(path, os.O_RDWR)
    try:
        os.fsync(number)
    finally:
        os.close(number)
