"""Rows brought together by rulebook on disk, so that each book judges them in few large batches."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pyarrow.parquet as pa_parquet  # type: ignore[import-untyped]

from stemlore.audit._books import LOT
from stemlore.audit._polars import pl
from stemlore.audit._sources import no_room

__all__ = ["by_lot"]

Pairs = Iterator[tuple[pl.DataFrame, pl.DataFrame]]


def by_lot(pairs: Pairs, most: int, renumbered: Callable[[pl.DataFrame], pl.DataFrame]) -> Pairs:
    """Yield batches of one lot each, and before them what is wrong with the rows.

    Parameters
    ----------
    pairs : iterator
        Batches that cut no vehicle in two, with what is wrong with them.
    most : int
        About how many rows a batch has.
    renumbered : callable
        Gives vehicles new numbers, as those of several batches come together.

    Raises
    ------
    WriteError
        If there is no room for them on disk.
    """
    with tempfile.TemporaryDirectory(prefix="stemlore-") as folder:
        writers: dict[int, Any] = {}
        paths: dict[int, Path] = {}
        with no_room("rows of one rulebook cannot be brought together"):
            try:
                for rows, faults in pairs:
                    if faults.height:
                        yield rows.clear(), faults
                    for (lot,), part in rows.partition_by(LOT, as_dict=True).items():
                        table = part.to_arrow()
                        if lot not in writers:
                            paths[lot] = Path(folder) / f"{lot}.parquet"
                            writers[lot] = pa_parquet.ParquetWriter(
                                paths[lot], table.schema, compression="zstd"
                            )
                        writers[lot].write_table(table)
            finally:
                for writer in writers.values():
                    writer.close()
        nothing = None
        for path in paths.values():
            with pa_parquet.ParquetFile(path, pre_buffer=False) as file:
                kept: list[pl.DataFrame] = []
                for group in range(file.num_row_groups):  # each is whole vehicles of one batch
                    frame = pl.DataFrame(pl.from_arrow(file.read_row_group(group)))
                    kept.append(frame)
                    if sum(each.height for each in kept) >= most or group == file.num_row_groups - 1:
                        whole = renumbered(pl.concat(kept))
                        nothing = nothing if nothing is not None else whole.clear()
                        yield whole, _NO_FAULTS
                        kept = []


_NO_FAULTS = pl.DataFrame()
