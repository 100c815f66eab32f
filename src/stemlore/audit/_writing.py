"""Tables written so that a file under its own name is always whole."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import pyarrow as pa  # type: ignore[import-untyped]
import pyarrow.parquet as pa_parquet  # type: ignore[import-untyped]

from stemlore.audit._polars import pl
from stemlore.errors import WriteError

__all__ = ["Files"]


class Files:
    """Parquet files of one directory that take their names together.

    Parameters
    ----------
    directory : Path
        Where they are to stand.
    """

    def __init__(self, directory: Path) -> None:
        self.directory = directory
        self._mark = f".part-{os.getpid()}-{secrets.token_hex(4)}"
        self._writers: dict[str, Any] = {}

    def __enter__(self) -> Self:
        try:
            self.directory.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise self._failed(error) from error
        return self

    def add(self, name: str, frame: pl.DataFrame) -> None:
        """Add rows to a table; the first call makes it, with or without rows."""
        table = frame.to_arrow()
        try:
            if name not in self._writers:
                self._writers[name] = pa_parquet.ParquetWriter(
                    self._part(name), table.schema, compression="zstd"
                )
            if table.num_rows:
                self._writers[name].write_table(table.cast(self._writers[name].schema))
        except (OSError, pa.ArrowException) as error:
            raise self._failed(error) from error

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                self._finish()
        except (OSError, pa.ArrowException) as failure:
            raise self._failed(failure) from failure
        finally:
            for name, writer in self._writers.items():
                with suppress(OSError, pa.ArrowException):  # it failed already, and is taken away
                    writer.close()
                self._part(name).unlink(missing_ok=True)

    def _finish(self) -> None:
        for name, writer in self._writers.items():
            writer.close()
            with self._part(name).open("rb+") as file:
                os.fsync(file.fileno())  # a name must not outlive its contents in a power cut
        for name in self._writers:
            self._part(name).replace(self.directory / f"{name}.parquet")

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
