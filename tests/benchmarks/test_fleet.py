"""The benchmarks in bulk, run by hand on a small fleet: what they compare is equal, and the table is whole.

No test here fails on time.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

for peer in ("dataframely", "duckdb", "pandera.polars", "pointblank"):
    pytest.importorskip(peer)
sys.path.insert(0, str(Path(__file__).parent))

import fleet  # noqa: E402
import fleet_by_hand  # noqa: E402
import fleet_memory  # noqa: E402
import fleet_peers  # noqa: E402
import polars as pl  # noqa: E402
from fleet_rules import AXLE_RULES, book_of_twenty, wheels  # noqa: E402
from timing import plain  # noqa: E402


@pytest.mark.parametrize("part", [fleet.bulk, fleet.failure_cases], ids=["bulk", "failure cases"])
def test_answers_are_equal_and_the_rows_are_told(part: object) -> None:
    rows = part(20_000, 1)  # type: ignore[operator]
    print("\n" + plain(rows))
    assert all(row.seconds > 0 for row in rows)
    assert any(row.most is not None for row in rows)
    assert all(row.ratio is not None for row in rows if row.most is not None)


def test_the_book_is_of_twenty_rules_two_of_them_of_an_axle() -> None:
    kinds = {name: each.rule.subject for name, each in book_of_twenty().rules.items()}
    assert len(kinds) == 20
    assert {name for name, kind in kinds.items() if kind == "axle"} == set(AXLE_RULES)


def test_by_hand_knows_pass_fail_unknown_and_not_applicable() -> None:
    depths = [1.6, 1.5, None, float("nan"), 1.5, 1.6, 1.6, 1.6]
    frame = wheels(8).with_columns(
        pl.Series("tyre_tread_depth_main_grooves_mm", depths),
        pl.Series("vehicle_category", ["M1"] * 4 + ["N3"] * 4),
        pl.lit(1900.0).alias("vehicle_gross_mass_kg"),
        pl.Series(
            "tyre_construction", ["radial", "radial", None, "radial", "radial", "diagonal", None, None]
        ),
    )
    told = fleet_by_hand.outcomes_by_hand(frame).collect()
    assert told["xa.tyre.min_depth"].to_list() == [0, 1, 2, 2, 3, 3, 3, 3]
    assert told["xa.axle.construction"].to_list() == [0, None, 2, None, 1, None, 2, None]
    fails = fleet_by_hand.duckdb_fails(frame.to_arrow())
    assert (fails["xa.tyre.min_depth"], fails["xa.axle.construction"]) == (1, 1)
    assert fleet_peers.pointblank_fails(frame) == fails
    assert fleet_peers.dataframely_fails()(frame) == fails


@pytest.mark.parametrize("apart", [False, True], ids=["together", "apart"])
def test_an_audit_in_a_process_of_its_own_tells_its_peak_and_counts_all(tmp_path: Path, apart: bool) -> None:
    path = tmp_path / "fleet.parquet"
    fleet_memory.make_fleet(path, 4_000, "twenty", vehicles=500, apart=apart)
    made = pl.read_parquet(path)
    assert made.height == 4_000
    assert made["vehicle_id"].n_unique() == 1_000
    told = fleet_memory.audit_apart(path, "write", "twenty", tmp_path / "out")
    assert told["rows"] == 4_000
    assert told["mib"] > 20
    assert told["told"][0] == sum(told["told"][1:]) == 18 * 4_000 + 2 * 2_000
    assert pl.read_parquet(tmp_path / "out" / "wide.parquet").height == 4_000
