"""Rows by vehicle: batches of the size that is asked for, and rows brought together by way of the disk."""

from __future__ import annotations

import polars as pl
import pytest

from stemlore.audit import _sources as sources


def scattered(vehicles: int, wheels: int = 4) -> pl.DataFrame:
    ids = [f"v{number}" for _ in range(wheels) for number in range(vehicles)]
    return pl.DataFrame({"vehicle_id": [*ids, None, None], "depth": [float(n) for n in range(len(ids) + 2)]})


@pytest.mark.parametrize(
    ("batch", "files", "pending"), [(10, 200, 37), (10, 3, 37), (1000, 3, 37), (10, 1, 1)]
)
def test_rows_brought_together_are_all_there_and_no_vehicle_is_apart(
    monkeypatch: pytest.MonkeyPatch, batch: int, files: int, pending: int
) -> None:
    monkeypatch.setattr(sources, "BATCH", batch)
    monkeypatch.setattr(sources, "_FILES", files)
    monkeypatch.setattr(sources, "_PENDING", pending)
    given = scattered(50)
    source = sources.open_source(given)
    together, rows = sources.stands_together(source, "vehicle_id")
    assert (together, rows) == (False, given.height)
    batches = list(sources.gathered(source, "vehicle_id", rows))
    seen: set[str] = set()
    for each in batches:
        ids = set(each["vehicle_id"].drop_nulls())
        assert not ids & seen
        seen |= ids
        assert each[sources.ROW].is_sorted()
    whole = pl.concat(batches).sort(sources.ROW)
    assert whole[sources.ROW].to_list() == list(range(1, given.height + 1))
    assert whole.drop(sources.ROW).equals(given)
    assert (len(batches) == 1) == (batch == 1000)


@pytest.mark.parametrize("most", [None, 7, 25, 1000])
def test_batches_cut_no_vehicle_and_are_as_large_as_asked_for(
    monkeypatch: pytest.MonkeyPatch, most: int | None
) -> None:
    monkeypatch.setattr(sources, "BATCH", 10)
    given = pl.DataFrame({"vehicle_id": [number for number in range(30) for _ in range(4)]})
    batches = list(sources.at_vehicle_bounds(sources.open_source(given), "vehicle_id", most))
    assert pl.concat(batches).drop(sources.ROW).equals(given)
    assert all(each.height % 4 == 0 for each in batches)
    asked = most or 10
    assert all(asked - 4 < each.height for each in batches[:-1])
    assert max(each.height for each in batches) < asked + 10 + 4  # what is read at once, and a vehicle begun


def test_a_book_of_few_rules_takes_more_rows_at_once() -> None:
    assert sources.rows_at_once(80) == sources.BATCH
    assert sources.rows_at_once(20) == 4 * sources.BATCH
    assert sources.rows_at_once(160) == sources.BATCH // 2
    assert sources.rows_at_once(0) == sources.rows_at_once(1) == 5 * sources.BATCH
