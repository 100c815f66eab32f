"""A million wheels against twenty rules, beside Polars by hand and other checkers; run it for a table.

``python tests/benchmarks/fleet.py [--markdown] [--rows 1000000] [--rounds 7]``

All ways run in one process in alternating rounds, their answers asserted equal
first. Budgets are told, never enforced: a busy machine is no fault.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path

import attrs
import polars as pl

sys.path.insert(0, str(Path(__file__).parent))

import fleet_by_hand  # noqa: E402
import fleet_peers  # noqa: E402
from fleet_rules import book_of_twenty, wheels  # noqa: E402
from timing import Row, compared, markdown, plain, side_by_side  # noqa: E402

from stemlore.audit import audit_fleet, counts, outcomes  # noqa: E402

__all__ = ["bulk", "failure_cases", "main"]

_OUTCOMES = ("pass", "fail", "unknown", "not_applicable")


def _counted(frame: pl.DataFrame) -> dict[str, tuple[int, ...]]:
    return {name: tuple(told) for name, *told in counts(frame, book_of_twenty(), contiguous=True).iter_rows()}


def _findings(frame: pl.DataFrame, *words: str) -> pl.DataFrame:
    return audit_fleet(frame, book_of_twenty()).findings_of(*words).collect()


def _of(findings: pl.DataFrame, outcome: str, names: Mapping[str, object]) -> dict[str, int]:
    found = dict(findings.filter(pl.col("outcome") == outcome).group_by("rule").len().iter_rows())
    return {name: found.get(name, 0) for name in names}


def bulk(rows: int = 1_000_000, rounds: int = 7) -> list[Row]:
    """Return the rows of outcomes, counts and findings, beside hand and peers."""
    frame, book = wheels(rows), book_of_twenty()
    arrow = frame.to_arrow()
    dataframely_fails = fleet_peers.dataframely_fails()

    ours = outcomes(frame, book, contiguous=True).collect()
    assert ours.equals(fleet_by_hand.outcomes_by_hand(frame).collect())
    counted = _counted(frame)
    assert counted == fleet_by_hand.counts_by_hand(frame)
    fails = {name: told[1] for name, told in counted.items()}
    assert sum(fail > 0 for fail in fails.values()) >= 19
    assert dataframely_fails(frame) == fails
    assert fleet_peers.pointblank_fails(frame) == fails
    assert fleet_by_hand.duckdb_fails(arrow) == fails
    assert fleet_peers.pandera_failing(frame) == {name for name, fail in fails.items() if fail}
    findings = _findings(frame, "fail", "unknown")
    assert _of(findings, "fail", fails) == fails
    assert _of(findings, "unknown", fails) == {name: told[2] for name, told in counted.items()}
    summary = audit_fleet(frame, book).summary
    assert {row[0]: row[1:] for row in summary.select("rule", *_OUTCOMES).iter_rows()} == counted
    del ours, findings, summary

    hand = "Polars by hand, outcomes"
    times = side_by_side(
        {
            hand: lambda: fleet_by_hand.outcomes_by_hand(frame).collect(),
            "Polars by hand, counts": lambda: fleet_by_hand.counts_by_hand(frame),
            "outcomes": lambda: outcomes(frame, book, contiguous=True).collect(),
            "counts": lambda: counts(frame, book, contiguous=True),
            "table of findings, failing and unknown": lambda: _findings(frame, "fail", "unknown"),
            "summary and needs of an audit": lambda: audit_fleet(frame, book).summary,
            "dataframely": lambda: dataframely_fails(frame),
            "pointblank": lambda: fleet_peers.pointblank_fails(frame),
            "DuckDB by hand": lambda: fleet_by_hand.duckdb_fails(arrow),
            "pandera, one case a rule": lambda: fleet_peers.pandera_failing(frame),
        },
        rounds=rounds,
    )
    return [
        Row(hand, times[hand]),
        Row("Polars by hand, counts", times["Polars by hand, counts"]),
        *(Row(peer, times[peer]) for peer in times if peer in _PEERS),
        compared("outcomes", times, hand, most=1.15),
        compared("counts", times, hand, most=1.3),
        compared("counts", times, "Polars by hand, counts"),
        compared("table of findings, failing and unknown", times, hand, most=2.5),
        compared("summary and needs of an audit", times, hand),
        *(compared("counts", times, peer, most=most) for peer, most in _PEERS.items()),
    ]


_PEERS = {
    "dataframely": 1 / 1.5,
    "pointblank": 1 / 2.5,
    "DuckDB by hand": 1 / 3,
    "pandera, one case a rule": 1 / 4,
}


def failure_cases(rows: int = 200_000, rounds: int = 3) -> list[Row]:
    """Return the rows of every failing finding, beside pandera with all its failure cases."""
    frame = wheels(rows)
    fails = {name: told[1] for name, told in _counted(frame).items()}
    assert fleet_peers.pandera_cases(frame) == fails
    assert _of(_findings(frame, "fail"), "fail", fails) == fails
    peer, ours = f"pandera, all failure cases of {rows:,} wheels", f"failing findings of {rows:,} wheels"
    times = side_by_side(
        {peer: lambda: fleet_peers.pandera_cases(frame), ours: lambda: _findings(frame, "fail")},
        rounds=rounds,
    )
    return [
        Row(peer, times[peer]),
        attrs.evolve(compared(ours, times, peer, most=1 / 100), against="pandera"),
    ]


def main(given: list[str]) -> None:
    """Print the table."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--markdown", action="store_true")
    asked.add_argument("--rows", type=int, default=1_000_000)
    asked.add_argument("--rounds", type=int, default=7)
    told = asked.parse_args(given)
    rows = [*bulk(told.rows, told.rounds), *failure_cases(min(told.rows, 200_000))]
    print((markdown if told.markdown else plain)(rows))


if __name__ == "__main__":
    main(sys.argv[1:])
