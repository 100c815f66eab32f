"""Memory and time of auditing millions of wheels from Parquet; run it by hand.

``python tests/benchmarks/fleet_memory.py``: ``--millions 5,10``, ``--book twenty``, ``--what summary,write``
unless told otherwise, and with ``--rows-apart`` where rows of a vehicle are not to stand together.

The book is the twenty rules of the benchmarks, or a place, such as DE, with all
its rules. The fleet is made of one smaller fleet, laid end to end under new
vehicle numbers and written in row groups of about a million rows. Each audit runs in a
process of its own, and the peak is what the system says of that process (Linux).
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

__all__ = ["audit_apart", "make_fleet"]

DAY = "2026-11-25"
_HERE = Path(__file__).parent
_CHILD = """
import json, resource, sys, time
from pathlib import Path
path, name, day, what, out, folder = sys.argv[1:]
if name == "twenty":
    sys.path.insert(0, folder)
    from fleet_rules import book_of_twenty
    book = book_of_twenty()
else:
    from stemlore.rules import rulebook
    book = rulebook(name, on=day)
from stemlore.audit import audit_fleet
start = time.perf_counter()
run = audit_fleet(Path(path), book)
if what == "summary":
    summary = run.summary
else:
    run.write(Path(out))
    summary = run.summary
seconds = time.perf_counter() - start
used = resource.getrusage(resource.RUSAGE_SELF)
peak = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
told = summary.select("subjects", "pass", "fail", "unknown", "not_applicable").sum().row(0)
made = {"seconds": seconds, "cpu": used.ru_utime + used.ru_stime, "mib": peak / 1024}
print(json.dumps({**made, "rows": run.rows, "rules": len(summary), "told": told}))
"""


def make_fleet(path: Path, rows: int, book: str, *, vehicles: int = 25_000, apart: bool = False) -> None:
    """Write a fleet of so many wheels for a book; ``apart`` writes first all left wheels, then the others."""
    import polars as pl
    import pyarrow.parquet as pa_parquet

    if book == "twenty":
        from fleet_rules import wheels

        base = wheels(vehicles * 4)
    else:
        from stemlore.testing.fleet import synthetic_fleet

        base = synthetic_fleet(vehicles, seed=5).wheels
    writer = None
    sides = [pl.col("side") == "left", pl.col("side") != "left"] if apart else [pl.lit(True)]
    for side in sides:
        part, tile, left = base.filter(side), 0, rows // len(sides)
        held: list[pl.DataFrame] = []
        while left:
            held.append(part.head(left).with_columns(pl.col("vehicle_id") + tile * vehicles))
            tile, left = tile + 1, left - held[-1].height
            if sum(each.height for each in held) >= 1_000_000 or not left:
                table = pl.concat(held).to_arrow()
                writer = writer or pa_parquet.ParquetWriter(path, table.schema, compression="zstd")
                writer.write_table(table)
                held = []
    assert writer is not None
    writer.close()


def audit_apart(path: Path, what: str, book: str, out: Path) -> dict[str, Any]:
    """Return seconds by the clock and of the processor, the peak in MiB and the counts of an audit apart."""
    given = [sys.executable, "-c", _CHILD, str(path), book, DAY, what, str(out), str(_HERE)]
    done = subprocess.run(given, check=True, capture_output=True, text=True, env=os.environ)
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def main(given: list[str]) -> None:
    """Make the fleets, audit each, and print a line as each is done."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--millions", default="5,10")
    asked.add_argument("--book", default="twenty")
    asked.add_argument("--what", default="summary,write")
    asked.add_argument("--rows-apart", action="store_true")
    told = asked.parse_args(given)
    with tempfile.TemporaryDirectory(prefix="fleet-") as folder:
        for millions in told.millions.split(","):
            path = Path(folder) / f"fleet{millions}.parquet"
            rows = round(float(millions) * 1e6)
            make_fleet(path, rows, told.book, apart=told.rows_apart)
            for what in told.what.split(","):
                one = audit_apart(path, what, told.book, Path(folder) / "out")
                assert one["rows"] == rows, one
                subjects, *outcomes = one["told"]
                assert subjects == sum(outcomes), one
                print(
                    f"{what:8} {millions:>4} M wheels, {one['rules']} rules of {told.book}: "
                    f"{one['mib']:,.0f} MiB peak, {one['seconds']:,.0f} s, "
                    f"{one['cpu'] / rows * 1e6:.1f} µs of processor a wheel",
                    flush=True,
                )
            path.unlink()


if __name__ == "__main__":
    main(sys.argv[1:])
