"""The benchmarks of one job, run by hand: what they compare is equal, and the table is whole.

No test here fails on time.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("zen")
pytest.importorskip("rule_engine")
sys.path.insert(0, str(Path(__file__).parent))

import one_car  # noqa: E402
from timing import Row, markdown, plain  # noqa: E402


@pytest.mark.parametrize(
    ("part", "rounds"),
    [(one_car.verdicts, 5), (one_car.reading_text, 5), (one_car.importing, 3), (one_car.opening, 3)],
    ids=lambda value: getattr(value, "__name__", None),
)
def test_answers_are_equal_and_the_rows_are_told(part: object, rounds: int) -> None:
    rows: list[Row] = part(rounds)  # type: ignore[operator]
    print("\n" + plain(rows))
    assert all(row.seconds > 0 for row in rows)
    assert any(row.most is not None for row in rows)
    assert all(row.ratio is not None for row in rows if row.most is not None)


def test_a_budget_is_met_or_said_not_to_be() -> None:
    rows = [
        Row("ours", 2e-6, "theirs", 0.1, 0.125),
        Row("ours, worse", 4e-6, "theirs", 0.2, 0.125),
        Row("theirs", 2e-5),
    ]
    assert [row.verdict for row in rows] == ["met", "NOT met", ""]
    assert "| ours | 2.0 | theirs | 1/10.0 | 1/8.0 met |" in markdown(rows).splitlines()


def test_the_pack_is_of_sixty_rules_of_four_shapes() -> None:
    rules = peers_rules()
    assert len(rules) == 60
    assert {type(each.check).__name__ for each in rules} == {"Compare", "Within", "OneOf"}
    assert sum(each.when is not None for each in rules) > 20


def peers_rules() -> list[Any]:
    from car import book_of_sixty
    from peers import rules_in_order

    return list(rules_in_order(book_of_sixty()))
