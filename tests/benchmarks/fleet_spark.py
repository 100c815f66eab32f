"""A million wheels on a local Spark session, beside a function that gives its batches back.

``python tests/benchmarks/fleet_spark.py [--markdown] [--rows 1000000] [--rounds 3]``

Both read the same Parquet files, take the same columns through Arrow and write
to Spark's sink that keeps nothing; findings are asserted equal to the local
run first. Two tasks at a time, one Polars thread each.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import polars as pl

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "audit")]

from fleet_rules import book_of_twenty, wheels  # noqa: E402
from spark_session import local_session  # noqa: E402
from timing import Row, compared, markdown, plain  # noqa: E402

from stemlore.audit import audit_fleet  # noqa: E402
from stemlore.audit.spark import FrameAudit, audit_frame  # noqa: E402

__all__ = ["main", "on_spark"]

_BY = ("row", "position", "rule")
_SETTINGS = {"spark.sql.shuffle.partitions": "4", "spark.driver.memory": "3g"}
_FILES = 4


def _same(frame: Any) -> Any:
    def identity(batches: Iterator[Any]) -> Iterator[Any]:  # travels whole, as the module does not
        yield from batches

    return frame.mapInArrow(identity, frame.schema)


def _done(frame: Any) -> None:
    frame.write.format("noop").mode("overwrite").save()


def _equal(run: FrameAudit, frame: pl.DataFrame, folder: Path) -> None:
    """Assert that failing and unknown findings and the summary are those of the local run."""
    local = audit_fleet(frame.drop("number"), book_of_twenty())
    run.findings_of("fail", "unknown").write.parquet(str(folder))
    found = pl.read_parquet(folder / "*.parquet").sort(_BY)
    assert found.height > 0
    assert found.equals(local.findings_of("fail", "unknown").collect().sort(_BY))
    summary = pl.DataFrame(pl.from_arrow(run.summary.toArrow()))
    assert summary.equals(local.summary)


def _medians(ways: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Return the median seconds of each way; each has its turn in each round."""
    taken: dict[str, list[float]] = {name: [] for name in ways}
    ways[next(iter(ways))]()
    for number in range(rounds):
        for name in list(ways) if number % 2 == 0 else reversed(list(ways)):
            start = perf_counter()
            ways[name]()
            taken[name].append(perf_counter() - start)
            print(f"{name}: {taken[name][-1]:.2f} s", file=sys.stderr)
    return {name: median(times) for name, times in taken.items()}


def on_spark(rows: int = 1_000_000, rounds: int = 3) -> list[Row]:
    """Return the rows of an audit on Spark, beside the same columns given back."""
    frame = wheels(rows).with_row_index("number", offset=1).with_columns(pl.col("number").cast(pl.Int64))
    with tempfile.TemporaryDirectory() as folder, local_session(_SETTINGS) as spark:
        path = Path(folder) / "wheels"
        path.mkdir()
        each = -(-frame.height // _FILES // 4) * 4  # whole vehicles, which have four wheels each
        for at in range(_FILES):
            frame[at * each : (at + 1) * each].write_parquet(path / f"{at}.parquet")
        read = spark.read.parquet(str(path))
        book = book_of_twenty()
        apart = audit_frame(read, book, row="number")
        stand = audit_frame(read, book, row="number", together=True)
        _equal(apart, frame, Path(folder) / "apart")
        _equal(stand, frame, Path(folder) / "stand")
        given, shuffled = stand._arranged(stand._reader), apart._arranged(apart._reader)
        plainly, again = "identity", "identity, vehicles brought together"
        ours = {
            "failing findings": (stand.findings_of("fail"), plainly),
            "failing and unknown findings": (stand.findings_of("fail", "unknown"), plainly),
            "outcomes wide": (stand.wide, plainly),
            "summary": (stand.summary, plainly),
            "failing findings, vehicles brought together": (apart.findings_of("fail"), again),
        }
        ways = {plainly: lambda: _done(_same(given)), again: lambda: _done(_same(shuffled))}
        ways |= {name: (lambda made=made: _done(made)) for name, (made, _) in ours.items()}  # type: ignore[misc]
        ways["reading alone"] = lambda: _done(given)
        times = _medians(ways, rounds)
    return [
        Row("reading alone", times["reading alone"]),
        Row(plainly, times[plainly]),
        Row(again, times[again]),
        *(compared(name, times, against, most=1.3) for name, (_, against) in ours.items()),
    ]


def main(given: list[str]) -> None:
    """Print the table."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--markdown", action="store_true")
    asked.add_argument("--rows", type=int, default=1_000_000)
    asked.add_argument("--rounds", type=int, default=3)
    told = asked.parse_args(given)
    print((markdown if told.markdown else plain)(on_spark(told.rows, told.rounds)))


if __name__ == "__main__":
    main(sys.argv[1:])
