"""The benchmark of one plan, run by hand: what is planned is whole, and the table is told.

No test here fails on time.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import one_plan  # noqa: E402
from timing import plain  # noqa: E402


def test_the_rows_are_told() -> None:
    rows = one_plan.planning(rounds=3)
    print("\n" + plain(rows))
    assert all(row.seconds > 0 for row in rows)
    assert [row.most for row in rows if row.most is not None] == [60]
    assert all(row.verdict in ("met", "NOT met") for row in rows if row.most is not None)


def test_no_two_parts_of_the_catalogue_are_alike() -> None:
    items = one_plan.catalogue()
    assert len(items) == len({item.code for item in items}) == len({item.valve for item in items}) == 500
